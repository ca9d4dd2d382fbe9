"""The best that can be made of a programme of tests/trials/lots.py: the probability that each kind may be said of a
check, from the very densities that drew it, with every builder's meter and supply known and the share of findings.

python -m tests.trials.lots_oracle --seed N [--programmes 8] prints how often it is right, and how often the review's
findings are, on the same programmes.
"""
# ruff: noqa: T201

import argparse
from itertools import combinations

import numpy as np
from scipy.special import gammaln, logsumexp

from tests.trials import lots

MIDDLES, STEPS = np.linspace(-0.25, 0.25, 11), np.linspace(-1.0, 1.0, 25)  # of good checks; of a shift about its builds
NARROW = np.minimum(lots.MOST_SPREAD, np.exp(np.log(0.24) + 0.5 * np.linspace(-2.4, 2.4, 13)))  # spreads of good checks
WIDE = np.linspace(0.7, 1.3, 13)
SLIPS = (2.0, 9.0, 40.0)


def _normal(x):
    return -0.5 * (np.log(2 * np.pi) + x**2)


def _sorted_out(x):
    """The best parts went to another list: half a normal distribution on either side, but for the middle."""
    past = (1.28 * np.abs(x) - 0.55) / 0.9
    return np.where(past >= 0, np.log(1.28 / 0.9) + _normal(past), -np.inf)


DENSITIES = {
    "normal": _normal,
    "flat": lambda x: np.where(np.abs(x) <= 1.7, -np.log(3.4), -np.inf),
    "peaked": lambda x: -np.sqrt(2) * np.abs(x) - 0.5 * np.log(2),
    "sorted out": _sorted_out,
}


def drawn(rng, builds: int, **how):
    """(programme, each quantity's gain by build), as lots.draw draws them."""
    state = rng.bit_generator.state
    programme = lots.draw(rng, builds, **how)
    after = rng.bit_generator.state
    rng.bit_generator.state = state
    lots._labels(rng, builds)
    gains = {q: sd * rng.standard_normal(builds) for q, sd in lots.GAINS.items()}
    gains["volts"] = gains["volts"] + lots.SUPPLY * rng.standard_normal(builds)
    rng.bit_generator.state = after
    return programme, gains


def judge(programme: lots.Programme, gains, faulty: float = 0.12) -> list[tuple[str, float]]:
    """Of every check the kind that may most likely be said, and how likely; `faulty`: the share of findings."""
    return [_judge(check, programme.labels, gains, faulty) for check in programme.checks]


def _judge(check, labels, gains, faulty) -> tuple[str, float]:
    builds = np.array(sorted(check.d), dtype=int)
    z = np.array([check.d[b] for b in builds]) - gains[check.quantity][builds] * check.figure / check.half
    logs = [(true, log + np.log(share)) for true, log, share in _explanations(check, z, builds, labels, faulty)]
    whole = logsumexp([log for _, log in logs])
    kinds = (lots.FITS, *lots.FAULTS)
    said = {kind: float(sum(np.exp(log - whole) for true, log in logs if kind in true)) for kind in kinds}
    return max(said.items(), key=lambda row: row[1])


def _explanations(check, z, builds, labels, faulty):
    """(what may be said, log likelihood, share) of all that can have happened."""
    each, still = faulty / len(lots.FAULTS), np.zeros((1, len(z)))
    good, none = _moved(z, still, np.zeros(1), NARROW), _rework(check, len(z), unclear=False)
    yield {lots.FITS}, good + none, 1 - faulty
    yield {lots.UNCLEAR}, good + _rework(check, len(z), unclear=True), each
    yield {lots.TIGHT}, _moved(z, still, np.zeros(1), WIDE) + none, each
    yield {lots.OFF}, _shifted(z, np.ones(len(z)), _off) + none, each
    yield {lots.SINGLES}, _slipped(z) + none, 1 - faulty
    ones, twos = np.eye(len(z)), [np.isin(np.arange(len(z)), pair) for pair in combinations(range(len(z)), 2)]
    pairs = 0.25 if len(labels["batch:R3"]) >= 8 else 0.0
    yield {lots.SINGLES}, logsumexp([_shifted(z, one, _astray) for one in ones]) - np.log(len(z)) + none, each
    if pairs:
        yield {lots.SINGLES}, logsumexp([_shifted(z, t, _astray) for t in twos]) - np.log(len(twos)) + none, each / 3
    for name, weight in (("batch:R3", 0.7), ("make:V2", 0.3)):
        of = labels[name]
        for group in sorted(set(of.values())):
            parted = np.array([of[b] == group for b in builds], dtype=float)
            share = each * weight * sum(of[b] == group for b in of) / len(of)
            yield lots._said_of_lot(int(parted.sum()), len(z)), _shifted(z, parted, _apart) + none, share


def _rework(check, n: int, *, unclear: bool) -> float:
    mean = (0.9 if unclear else 0.03) * n / 8
    rates = np.linspace(0.3, 0.7, 9) if unclear else np.array([0.02])
    right = len(check.came_right)
    missed = right * np.log(rates) + (n - right) * np.log1p(-rates)
    return logsumexp(missed) - np.log(len(rates)) + check.snags * np.log(mean) - mean - gammaln(check.snags + 1)


def _moved(z, rows, weights, spreads) -> float:
    """Log density of deviations where builds are moved by one of the rows, each with a log weight."""
    x = z - rows[:, None, :] - MIDDLES[:, None]
    logs = []
    for name, share in zip(lots.SHAPES, lots.SHAPE_SHARES, strict=True):
        scaled = x[:, :, None, :] / spreads[:, None]
        at = DENSITIES[name](scaled).sum(axis=3) - len(z) * np.log(spreads)
        at = at + weights[:, None, None] + _middle()[:, None] + _share(spreads)
        logs.append(logsumexp(at) + np.log(share))
    return float(logsumexp(logs))


def _middle():
    logs = -0.5 * (MIDDLES / 0.1) ** 2
    return logs - logsumexp(logs)


def _share(spreads):
    logs = -0.5 * np.linspace(-2.4, 2.4, len(NARROW)) ** 2 if spreads is NARROW else np.zeros(len(spreads))
    return logs - logsumexp(logs)


def _shifted(z, which, density) -> float:
    """`which` builds (0 or 1 each) are moved together, by what is integrated over about where they lie."""
    if not which.any():
        return _moved(z, np.zeros((1, len(z))), np.zeros(1), NARROW)
    by = float(np.median(z[which > 0])) + STEPS
    weights = density(by) + np.log(STEPS[1] - STEPS[0])
    usable = np.isfinite(weights)
    return _moved(z, by[usable, None] * which, weights[usable], NARROW) if usable.any() else -np.inf


def _within(x, low, high):
    return np.where((np.abs(x) >= low) & (np.abs(x) <= high), -np.log(2 * (high - low)), -np.inf)


def _off(by):
    return np.logaddexp(_within(by, 0.8, 3.0) + np.log(0.85), _within(by, 5, 60) + np.log(0.15))


def _apart(by):
    return _within(by, 1.0, 3.0)


def _astray(by):
    past = np.maximum(np.abs(by) - 1.3, 1e-9)
    logs = -0.5 * ((np.log(past) - 0.7) / 0.8) ** 2 - np.log(past * 0.8 * np.sqrt(2 * np.pi)) - np.log(2)
    return np.where(np.abs(by) > 1.3, logs, -np.inf)


def _slipped(z) -> float:
    rows = np.concatenate([sign * size * np.eye(len(z)) for sign in (-1, 1) for size in SLIPS])
    rows = rows[(np.abs((rows * z).sum(axis=1)) > 0) & (np.abs(z[np.abs(rows).argmax(axis=1)]) > 1)]
    if not len(rows):
        return -np.inf
    return _moved(z, rows, np.full(len(rows), np.log(lots.LEFT_IN / 6)), NARROW)


def parse_arguments(doc: str):
    parser = argparse.ArgumentParser(description=doc.splitlines()[0])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--programmes", type=int, default=8)
    return parser.parse_args()


def main():
    from tests.trials.diagnosis import open_site

    asked = parse_arguments(__doc__)
    open_site()
    for builds in (3, 5, 8):
        rng, rows = np.random.default_rng((asked.seed, builds)), []
        for _ in range(asked.programmes):
            programme, gains = drawn(rng, builds)
            ours = lots.kinds_found(programme)
            best = [kind for kind, _ in judge(programme, gains)]
            rows += zip((c.true for c in programme.checks), ours, best, strict=True)
        account(builds, rows)


def account(builds: int, rows) -> None:
    """Of (what is true, ours, the best judge's)."""
    faulty = [row for row in rows if row[0] != {lots.FITS}]
    for name in ("all", *lots.FAULTS):
        of = [row for row in faulty if name == "all" or name in row[0]]
        if of:
            ours, best = (np.mean([row[i] in row[0] for row in of]) for i in (1, 2))
            print(f"{builds} builds, {name}, {len(of)}: right {ours:.2f}, best possible {best:.2f}")
    clean = [row for row in rows if row[0] == {lots.FITS}]
    false = [120 * np.mean([row[i] not in lots.SILENT for row in clean]) for i in (1, 2)]
    print(f"   false of 120: {false[0]:.2f}, of the best judge {false[1]:.2f}", flush=True)


if __name__ == "__main__":
    main()
