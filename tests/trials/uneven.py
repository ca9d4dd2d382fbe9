"""A second bench, by other code than the first, and its own kit: python -m tests.trials.uneven --seed N [--to FILE]

It shares the parts, the faults and the builder with the first, and none of its laws and solutions.
"""

# ruff: noqa: T201
import argparse
import math
from collections import Counter
from pathlib import Path

import numpy as np

from tests.trials import bench, draw
from tests.trials.beyond import beyond
from tests.trials.circuit import OPEN, load
from tests.trials.faults import unlisted
from tests.trials.figures import figure
from tests.trials.network import NoSolution
from tests.trials.uneven_solver import GROUND, Solver

KIT = "gallery-five"
KEPT = Path(__file__).parent / "data" / "builds-gallery.json"


class UnevenBench(bench.Bench):
    """The first bench's questions, answered by this solver."""

    def ohms(self, n, red, black, test_volts=0.4):
        key = ("off", self.fitted(n))
        if key not in self.solved:
            self.solved[key] = Solver(self.circuit, self.fitted(n), self.guide["stage"][n].get("settings"))
        s = self.solved[key]
        if any(name != GROUND and name not in s.names for name in (red, black)):
            return math.inf if red != black else 0.0
        row, behind = s.row(red, black), 1e3
        if not row.any():
            return 0.0
        for _ in range(5):  # a meter looks for the range that fits
            kept, s.g = s.g, s.g + np.outer(row, row) / behind
            v, _whole = s.at_rest(row * test_volts / behind)
            s.g = kept
            across = float(v[0] @ row)
            amps = (test_volts - across) / behind
            found = across / amps if amps > 1e-13 else math.inf
            if found < 3 * behind or behind > 5e6:
                break
            behind *= 10
        return found

    def condition(self, n):
        key = ("on", self.fitted(n))
        if key not in self.solved:
            for _ in range(3):
                s = Solver(self.circuit, self.fitted(n), self.guide["stage"][n].get("settings"), 1.0, self.line)
                wave = s.steady()
                blown = [ref for ref in self.fitted(n) if self._overdone(s, wave, ref)]
                for ref in blown:
                    self.circuit.parts[ref].is_["ohms"] = OPEN
                if not blown:
                    break
            self.solved[key] = s, wave
        return self.solved[key]

    def _overdone(self, s, wave, ref):
        part = self.circuit.parts[ref]
        if part.kind != "fuse" or part.is_["ohms"] > 1e3:
            return False
        amps = wave @ s.row(part.at["0"], part.at["1"]) / part.is_["ohms"]
        return float(np.sqrt(np.mean(amps**2))) > 2.0 * figure(part.row["value"])

    def volts(self, n, red, black, measure, load):
        s, wave = self.condition(n)
        row = s.row(red, black)
        if measure == "ac volts":
            across = wave @ row
            return float(np.sqrt(np.mean((across - across.mean()) ** 2)))
        free = float(wave.mean(axis=0) @ row)
        return free if not load or abs(free) < 1e-6 else self._through_meter(s, wave, row, free, load)

    @staticmethod
    def _through_meter(s, wave, row, free, load):
        """The meter's load moves the mean by what the circuit's own slopes at that mean let it."""
        matrix = s.g.copy()
        for a, b, _henries, ohms in s.chokes:
            s.stamp(matrix, s.row(a, b), 1 / ohms)
        for a, b, _farads in s.filled:
            s.stamp(matrix, s.row(a, b), 1e-2)  # what a supply holds hardly feels a meter
        mean = wave.mean(axis=0)[None]
        fed = mean @ matrix
        for law, rows in s.alike:
            fed = fed + np.einsum("sdk,dkn->sn", law(np.einsum("dkn,sn->sdk", rows, mean))[0], rows)
        v, _whole = s.balance(mean, matrix + np.outer(row, row) / load, fed)
        return float(v[0] @ row)


def orders(rng):
    """(kind of build, what chooses its faults, whether there is a slip): a round of single faults; some that no list
    has, and good kits."""
    singles = list(draw.orders(rng))[: sum(draw.QUOTAS.values())]
    beyond_list = [("unlisted", lambda c, made=made: [made(c, rng)], False) for made in (unlisted, beyond)]
    return [*singles, *beyond_list * 5, *[("healthy", lambda _c: [], False)] * 10]


def build(seed: int, number: int, given_up: Counter) -> dict:
    """One build, whatever was drawn before it."""
    guide, rng = load(KIT), np.random.default_rng([seed, number])
    while True:
        kind, choose, slip = orders(rng)[number]
        try:
            return {"kind": kind, **draw.draw_build(KIT, guide, rng, seed, choose, slip, UnevenBench)}
        except (NoSolution, np.linalg.LinAlgError):
            given_up[kind] += 1


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--to", type=Path, default=KEPT)
    asked, given_up = parser.parse_args(), Counter()
    drawn = [build(asked.seed, n, given_up) for n in range(len(orders(None)))]
    draw.write(drawn, asked.seed, asked.to)
    print(f"{len(drawn)} builds in {asked.to}; not settled and drawn again: {dict(given_up) or 'none'}")


if __name__ == "__main__":
    main()
