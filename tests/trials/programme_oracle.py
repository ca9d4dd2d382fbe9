"""The best that can be made of a programme of tests/trials/programmes.py: every kind's probability from the very
densities that drew it, with each build's own part of its deviations and the programme's share of findings known.

python -m tests.trials.programme_oracle --seed N [--programmes 10] prints how often it is right, and how often the
review's findings are, on the same programmes.
"""
# ruff: noqa: T201

import argparse

import numpy as np
from scipy.special import logsumexp
from scipy.stats import t as student

from tests.trials import programmes as p

SPREADS = np.linspace(*p.SPREAD, 7)
MIDDLES = np.linspace(-p.OFF_CENTRE, p.OFF_CENTRE, 5)
SCALE = np.sqrt((p.TAILS - 2) / p.TAILS) * np.sqrt(1 - p.OWN)
OTHER_READING = 0.15  # from which a retake is of something else than the first attempt


def probabilities(programme: p.Programme, share: float, own) -> list[dict[str, float]]:
    """Of each check's kinds. `own`: standard normal, each build's own part."""
    return [_of_check(rows, programme.labels, share, own) for rows in programme.deviations]


def _of_check(rows, labels, share, own) -> dict[str, float]:
    """Whoever misreads a step reads something else by two half-bands and more, and nobody else does."""
    if any(abs(row[0] - row[-1]) > OTHER_READING for row in rows):
        return dict.fromkeys((p.CLEAN, *p.FINDINGS), 0.0) | {p.MISREAD: 1.0}
    z = np.array([row[-1] for row in rows])
    at, one = _density(z, own), np.ones(len(z))
    logs = {
        p.CLEAN: at(0 * one[None], SPREADS) + np.log(max(1e-12, 1 - share)),
        p.FIGURE_OFF: at(_sizes(0.6, 1.6)[:, None] * one, SPREADS),
        p.TOO_TIGHT: at(0 * one[None], np.linspace(0.7, 1.3, 13)),
        p.PART_BATCH: at(_parted(labels), SPREADS),
        p.BAD_BUILD: at((_sizes(1.6, 7.0, 40)[:, None, None] * np.eye(len(z))).reshape(-1, len(z)), SPREADS),
    }
    for kind in logs.keys() - {p.CLEAN}:
        logs[kind] += np.log(max(1e-12, share) / len(p.FINDINGS))
    whole = logsumexp(list(logs.values()))
    return {p.MISREAD: 0.0} | {kind: float(np.exp(log - whole)) for kind, log in logs.items()}


def _sizes(low, high, parts=16):
    up = low + (np.arange(parts) + 0.5) / parts * (high - low)
    return np.concatenate((up, -up))


def _parted(labels):
    """Rows by which builds are moved: of every group of a label that some builds have and some have not."""
    rows = []
    for name, weight in (("batch", 7), ("make", 3)):
        groups = np.array([row[name] for row in labels])
        if len(set(groups)) == 1:
            continue
        for group in sorted(set(groups)):
            repeats = weight * 6 // len(set(groups))
            rows += [size * (groups == group) for size in _sizes(0.9, 2.2, 8)] * repeats
    return np.array(rows, dtype=float)


def _density(z, own):
    def at(moved, spreads):
        """Log density where any row of `moved` is as likely as another."""
        moved, weights = np.unique(moved, axis=0, return_counts=True)
        rest = z - moved
        logs = []
        for sign in (-1, 1):
            for spread in spreads:
                x = rest[None] - MIDDLES[:, None, None] - sign * spread * np.sqrt(p.OWN) * own
                scale = spread * SCALE
                logs.append((student.logpdf(x / scale, p.TAILS) - np.log(scale)).sum(axis=2))
        logs = np.array(logs)  # (signs and spreads, middles, rows)
        return logsumexp(logs, b=weights) - np.log(weights.sum() * logs.shape[0] * logs.shape[1])

    return at


def drawn(rng, builds: int):
    """(programme, its share of findings, each build's own part), as draw_programme draws them."""
    state = rng.bit_generator.state
    programme = p.draw_programme(rng, builds)
    after = rng.bit_generator.state
    rng.bit_generator.state = state
    share = float(rng.uniform(0, p.MOST_FINDINGS))
    labels = p._labels(rng, builds)
    kinds = [str(rng.choice(p.FINDINGS)) if rng.random() < share else p.CLEAN for _ in range(p.CHECKS)]
    for n, kind in enumerate(kinds):
        p._known(rng, n, kind, labels)
    own = rng.standard_normal(builds)
    rng.bit_generator.state = after
    return programme, share, own


def main():
    from tests.trials.diagnosis import open_site
    from tests.trials.findings import SAME, kinds_found
    from tests.trials.reliability import report

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--programmes", type=int, default=10)
    asked = parser.parse_args()
    open_site()
    rng = np.random.default_rng(asked.seed)
    for builds in (3, 5, 8, 12):
        rows = []
        for _ in range(asked.programmes):
            programme, share, own = drawn(rng, builds)
            best = report([{SAME[k]: v for k, v in each.items()} for each in probabilities(programme, share, own)])
            rows += zip([SAME[c.kind] for c in programme.checks], kinds_found(programme), best, strict=True)
        account(builds, asked.programmes, rows)


def account(builds: int, programmes: int, rows) -> None:
    """Of (true kind, ours, the best judge's)."""
    from tests.trials.findings import SILENT

    faulty = [row for row in rows if row[0] != "fits"]
    for name in ("all", *sorted({row[0] for row in faulty})):
        of = [row for row in faulty if name in ("all", row[0])]
        ours, best = (np.mean([row[0] == row[i] for row in of]) for i in (1, 2))
        print(f"{builds} builds, {name}, {len(of)}: right {ours:.2f}, best possible {best:.2f}")
    false = [sum(row[0] == "fits" and row[i] not in SILENT for row in rows) / programmes for i in (1, 2)]
    print(f"   false findings a programme {false[0]:.2f}, of the best judge {false[1]:.2f}", flush=True)


if __name__ == "__main__":
    main()
