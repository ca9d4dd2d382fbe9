"""The best that can be made of a programme of tests/trials/workrooms.py: the probability that each kind may be said of
a check, from the very densities that drew it, with every builder's meter, mains and room known and the share of
findings. Only how wide the band is drawn is not made use of, which would tell a band too tight at once.

python -m tests.trials.workrooms_oracle --seed N [--programmes 8] prints how often it is right, and how often the
review's findings are, on the same programmes.
"""
# ruff: noqa: T201

import numpy as np
from scipy.special import logsumexp

from tests.trials import workrooms

FITTING, TIGHT = np.linspace(3.0, 4.5, 7), np.array([0.9])  # half of the band in units of the parts' skew
STEPS = np.linspace(-0.8, 0.8, 33)  # half-bands of a shift about where the builds lie
SLIPPED = (0.1, 10.0, 0.91, 1.18)
KINDS = ("fits", *workrooms.FAULTS)


def drawn(rng, builds: int, **how):
    """(labels, checks, each quantity's possible ratios by build with their shares), as workrooms.draw draws them."""
    state = rng.bit_generator.state
    labels, checks = workrooms.draw(rng, builds, **how)
    after = rng.bit_generator.state
    rng.bit_generator.state = state
    meters = rng.integers(0, 2, builds)
    mains = np.exp(np.abs(rng.normal(0, 0.012, builds)))
    warm = 1 + 0.004 * rng.integers(0, 6, builds)
    rng.bit_generator.state = after
    volts, ohms = (np.array([workrooms.METERS[m][q] for m in meters]) for q in workrooms.NOMINALS)
    return labels, checks, {"dc volts": [(volts * mains, 1.0)], "resistance": [(ohms, 0.7), (ohms * warm, 0.3)]}


def judge(labels, checks, ratios, faulty: float = 0.12) -> list[tuple[str, float]]:
    """Of every check the kind that may most likely be said, and how likely; `faulty`: the share of findings."""
    reels = np.array([row["batch:R9"] for row in labels])
    return [_judge(check, reels, ratios[check[0]], faulty) for check in checks]


def _judge(check, reels, ratios, faulty) -> tuple[str, float]:
    _, _, figure, half, values = check
    logs = []
    for ratio, share in ratios:
        z = (values - figure) / half - (ratio - 1) * figure / half
        logs += [(true, log + np.log(share)) for true, log in _explanations(z, values, figure, half, reels, faulty)]
    whole = logsumexp([log for _, log in logs])
    said = {kind: float(sum(np.exp(log - whole) for true, log in logs if kind in true)) for kind in KINDS}
    return max(said.items(), key=lambda row: row[1])


def _explanations(z, values, figure, half, reels, faulty):
    """(what may be said, log likelihood with its share)."""
    each, n = np.log(faulty / len(workrooms.FAULTS)), len(z)
    yield {"fits"}, _moved(z, np.zeros((1, n)), np.zeros(1), FITTING) + np.log(1 - faulty)
    yield {"band too tight"}, _moved(z, np.zeros((1, n)), np.zeros(1), TIGHT) + each
    yield {"figure off"}, _shifted(z, np.ones(n), 1.3, 4) + each
    ones = [_shifted(z, one, 2.5, 12) for one in np.eye(n)]
    yield {"single builds"}, logsumexp(ones) - np.log(n) + each
    for i in range(n):
        for factor in SLIPPED:
            rest = z.copy()
            rest[i] += (values[i] / factor - values[i]) / half
            if abs(values[i] - figure) > half:
                log = _moved(rest, np.zeros((1, n)), np.zeros(1), FITTING) - np.log(factor)
                yield {"single builds"}, log + np.log((1 - faulty) * workrooms.SLIPS / len(SLIPPED))
    for reel in sorted(set(reels)):
        parted = reels == reel
        true = {"figure off"} if parted.all() else {"part batch"}
        true |= {"single builds"} if min(parted.sum(), n - parted.sum()) == 1 else set()
        yield true, _shifted(z, parted.astype(float), 1.3, 2.5) + each + np.log(parted.mean())


def _moved(z, rows, weights, ratios) -> float:
    """Log density of deviations where builds are moved by one of the rows, each with a log weight: a lognormal part
    that leans to one side or the other."""
    logs = []
    for sign in (-1, 1):
        part = 1.13 + sign * ratios[:, None, None] * (z - rows)
        normal = 2 * np.log(np.maximum(part, 1e-9))
        density = -0.5 * normal**2 - 0.5 * np.log(2 * np.pi) + np.log(2) - normal / 2
        density = np.where(part > 0, density, -np.inf).sum(axis=2) + len(z) * np.log(ratios)[:, None]
        logs.append(logsumexp(density + weights) - np.log(len(ratios)) - np.log(2))
    return float(logsumexp(logs))


def _shifted(z, which, low, high) -> float:
    """`which` builds (0 or 1 each) are moved together by `low` to `high` half-bands, to either side."""
    by = float(np.median(z[which > 0])) + STEPS
    by = by[(np.abs(by) >= low) & (np.abs(by) <= high)]
    if not len(by):
        return -np.inf
    weights = np.full(len(by), np.log(STEPS[1] - STEPS[0]) - np.log(2 * (high - low)))
    return _moved(z, by[:, None] * which, weights, FITTING)


def main():
    from tests.trials.diagnosis import open_site
    from tests.trials.lots_oracle import account, parse_arguments

    asked = parse_arguments(__doc__)
    open_site()
    for builds in (3, 5, 8):
        rng, rows = np.random.default_rng((asked.seed, builds)), []
        for _ in range(asked.programmes):
            labels, checks, ratios = drawn(rng, builds, faulty=0.12)
            ours = workrooms.kinds_found(labels, checks)
            best = [kind for kind, _ in judge(labels, checks, ratios)]
            rows += zip((true for _, true, *_ in checks), ours, best, strict=True)
        account(builds, rows)


if __name__ == "__main__":
    main()
