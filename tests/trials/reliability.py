"""Findings on drawn programmes against the best possible: python -m tests.trials.reliability [--programmes 6]

For each number of builds and each spread of good builds: the share of faulty checks given the right finding, of each
kind and of all, ours / the best possible; false findings a programme of 120 checks; and the share of what is reported
that is false, which is said to be at most FALSE_DISCOVERY_RATE.
"""
# ruff: noqa: T201

import argparse
from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from checks.statistics.evidence import Evidence, Label
from checks.statistics.findings import FALSE_DISCOVERY_RATE, MOST_DOUBT, find_many
from tests.trials import drawn_checks as dc
from tests.trials import oracle

SILENT = ("fits", "not enough")


@dataclass
class Tally:
    """(true kind, kind found) -> checks."""

    programmes: int = 0
    counts: Counter = field(default_factory=Counter)

    def right(self, *kinds: str) -> float:
        """Share of the checks of these kinds that were given them."""
        return sum(self.counts[k, k] for k in kinds) / max(1, sum(n for (k, _), n in self.counts.items() if k in kinds))

    @property
    def false(self) -> int:
        return sum(n for (true, result), n in self.counts.items() if true == dc.FITS and result not in SILENT)

    @property
    def reported(self) -> int:
        return sum(n for (_, result), n in self.counts.items() if result not in SILENT)


def evidence_of(programme: dc.DrawnProgramme) -> list[Evidence]:
    labels = tuple(Label(name, tuple(map(str, groups))) for name, groups in programme.labels.items())
    return [Evidence(tuple(c.d.tolist()), dc.METER, c.came_right, c.snags, labels=labels) for c in programme.checks]


def found_by_us(programme) -> list[str]:
    return [finding.kind for finding in find_many(evidence_of(programme))]


def found_at_best(programme) -> list[str]:
    """The likeliest kind of the best possible judge, reported by the same rule as ours."""
    return report(oracle.probabilities(programme))


def report(each: list[dict[str, float]]) -> list[str]:
    """What is reported of checks whose kinds are so likely."""
    results = [max(p, key=lambda kind: p[kind]) for p in each]
    claims = sorted((p[dc.FITS], i) for i, p in enumerate(each) if results[i] != dc.FITS)
    doubts = np.array([doubt for doubt, _ in claims])
    held = (np.cumsum(doubts) / np.arange(1, len(claims) + 1) <= FALSE_DISCOVERY_RATE) & (doubts <= MOST_DOUBT)
    for (_, i), is_held in zip(claims, held, strict=True):
        results[i] = results[i] if is_held else "not enough"
    return results


def tally(judge, programmes) -> Tally:
    result = Tally()
    for programme in programmes:
        result.programmes += 1
        result.counts.update(zip((c.kind for c in programme.checks), judge(programme), strict=True))
    return result


def drawn(seed: int, programmes: int, n: int, spread: float, faulty: float) -> list[dc.DrawnProgramme]:
    rng = np.random.default_rng((seed, n))
    return [dc.draw(rng, n, spread, faulty=faulty) for _ in range(programmes)]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--programmes", type=int, default=6)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--faulty", type=float, default=dc.FAULTY)
    asked = parser.parse_args()
    for n in dc.SIZES:
        for spread in dc.SPREADS:
            programmes = drawn(asked.seed, asked.programmes, n, spread, asked.faulty)
            ours, best = tally(found_by_us, programmes), tally(found_at_best, programmes)
            kinds = ", ".join(f"{kind} {ours.right(kind):.2f}/{best.right(kind):.2f}" for kind in dc.FAULTS)
            print(
                f"{n:2d} builds, spread {spread:.2f}: {kinds}; all {ours.right(*dc.FAULTS):.2f}/"
                f"{best.right(*dc.FAULTS):.2f}; false {ours.false / asked.programmes:.2f}/"
                f"{best.false / asked.programmes:.2f} a programme, {ours.false / max(1, ours.reported):.3f} of "
                f"{ours.reported} reported",
                flush=True,
            )


if __name__ == "__main__":
    main()
