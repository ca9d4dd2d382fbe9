"""Programmes drawn from benches and not from distributions of half-bands: kits with rails that sag together, skewed
parts, meters whose gain is wrong for all that their owner reads, valves of two makes, sockets of three mains, a builder
who sets the range wrong, retakes, and checks that only some builders reached. Shares no code with checks/, nor with
drawn_checks.py and programmes.py. bench_findings.py tries the findings over them.
"""

from dataclasses import dataclass

import numpy as np

CHECKS, RAILS = 120, 5
KINDS = ("figure off", "band too tight", "part batch", "single builds", "step unclear")
FITS = "fits"
SILENT = (FITS, "not enough")
SKEW = 6.0  # shape of the gamma distribution that parts scatter by: an excess of 0.8 to one side
GAINS = {"hand-held": 0.012, "basic": 0.02, "bench": 0.003}  # one standard deviation of a meter's gain
SLIP = 0.02  # of first readings: a digit, a wrong point, a probe that has slid
RANGE_WRONG = 0.06  # of the first readings of the builder who sets ranges wrong
SEEN = 0.8  # of readings that miss are taken again
HALF_LOGGED = 0.15  # of checks that half of the builds skip
FULL_SCALE = 3.0  # half-bands above the upper limit, beyond which an overloaded range shows no number


@dataclass(frozen=True)
class Bench:
    batch: str
    make: str
    meter: str
    mains: str
    gain: float
    rails: np.ndarray
    sets_ranges_wrong: bool

    @property
    def labels(self) -> dict[str, str]:
        return {"batch:R1": self.batch, "make:V1": self.make, "meter:": self.meter, "mains:": self.mains}


@dataclass(frozen=True)
class Place:
    """A check as the guide has it, what it is, and the attempts of every build that read it (None: over range)."""

    figure: float
    half: float
    kind: str
    attempts: dict[int, tuple[float | None, ...]]
    snags: int


def draw_benches(rng, builds: int) -> list[Bench]:
    makes = [("first", "second")[int(rng.random() < 0.4)] for _ in range(builds)]
    makes[0], makes[-1] = "first", "second"
    odd = int(rng.integers(builds))
    cut = int(rng.integers(1, builds))  # a new reel begins with this kit
    rows = []
    for n in range(builds):
        meter = str(rng.choice(list(GAINS), p=[0.6, 0.25, 0.15]))
        mains = str(rng.choice(["230", "240", "115"], p=[0.6, 0.25, 0.15]))
        rails = 0.008 * rng.standard_normal(RAILS) + 0.006 * rng.standard_normal()
        rows.append(Bench("AB"[n >= cut], makes[n], meter, mains, GAINS[meter] * rng.normal(), rails, n == odd))
    return rows


def draw_places(rng, benches: list[Bench], faulty: float, checks: int = CHECKS) -> list[Place]:
    kinds = [str(rng.choice(KINDS)) if rng.random() < faulty else FITS for _ in range(checks)]
    return [_place(rng, kind, benches) for kind in kinds]


def _place(rng, kind: str, benches: list[Bench]) -> Place:
    true = float(np.exp(rng.uniform(np.log(1.2), np.log(400))))
    rail, on_rail = int(rng.integers(RAILS)), rng.random() < 0.6
    parts = float(rng.choice([0.01, 0.02, 0.03, 0.05]))  # how widely its parts scatter, of the figure
    builds = len(benches)
    skewed = rng.choice([-1, 1]) * (rng.gamma(SKEW, size=builds) - SKEW) / np.sqrt(SKEW)
    ratio = 1 + parts * skewed + np.array([b.gain + (b.rails[rail] if on_rail else 0) for b in benches])
    spread = np.sqrt(parts**2 + 0.012**2 + on_rail * 0.01**2)
    wide = rng.uniform(0.75, 1.4) if kind == "band too tight" else min(0.48, 0.3 * np.exp(0.25 * rng.normal()))
    half = spread / wide  # of the figure
    figure = true * (1 + 0.08 * half * rng.normal())
    if kind == "figure off":
        figure = true * (1 + rng.choice([-1, 1]) * half * (0.8 + rng.exponential(1.2)))
    elif kind == "part batch":
        ratio += _parted(rng, benches) * rng.choice([-1, 1]) * half * (1.1 + rng.gamma(2.0, 0.4))
    wrong = np.zeros(builds, dtype=bool)
    if kind == "single builds":
        wrong[rng.integers(builds)] = True
        ratio[wrong] = 1 + rng.choice([-1, 1]) * half * (1.8 + rng.exponential(4.0))
    read = np.ones(builds, dtype=bool)
    if rng.random() < HALF_LOGGED:
        read = (rng.random(builds) < 0.5) | wrong
    lost = rng.random() * 0.4 + 0.3 if kind == "step unclear" else 0.0
    attempts = {n: _attempts(rng, figure, half, true * ratio[n], benches[n], lost) for n in range(builds) if read[n]}
    return Place(figure, half * abs(figure), kind, attempts, int(rng.poisson(0.04 + 1.2 * (lost > 0) * builds / 8)))


def _parted(rng, benches):
    """The builds that have the part that is apart: of a reel, or of a make of valve; never a build alone of many."""
    ways = [[b.batch == "B" for b in benches], [b.make == "second" for b in benches]]
    ways = [w for w in ways if min(sum(w), len(w) - sum(w)) >= min(2, len(w) // 2)] or ways[:1]
    return np.array(ways[int(rng.integers(len(ways)))], dtype=float)


def _attempts(rng, figure, half, value, bench, lost) -> tuple[float | None, ...]:
    """A first reading may be of something else; what misses is mostly taken again, as it should be."""
    shown = lambda: value * (1 + 0.0015 * rng.normal())  # noqa: E731
    first: float | None = shown()
    if rng.random() < lost:
        first = value * rng.choice([0.5, 2.0, 1 / 3, 1.6])
    elif bench.sets_ranges_wrong and rng.random() < RANGE_WRONG:
        first = None if rng.random() < 0.5 else value / 1000
    elif rng.random() < SLIP:
        first = value * rng.choice([10.0, 0.1, 1.1, 0.9])
    over = figure * (1 + half * (1 + FULL_SCALE))
    is_out = first is None or abs(first - figure) > half * abs(figure)
    if is_out and rng.random() < SEEN:
        return (first, shown())
    if is_out and (first is None or abs(first - value) > 0.05 * abs(value)):
        return (first, shown()) if rng.random() < 0.9 else (first,)
    return (first if first is None or first < over or rng.random() < 0.8 else None,)


def truth(benches, place: Place) -> str:
    """A build whose wrong reading was never taken again is a single build that is wrong, whatever the rest are."""
    left = sum(
        len(a) == 1 and (a[0] is None or abs(a[0] - place.figure) > 6 * place.half) for a in place.attempts.values()
    )
    return "single builds" if place.kind == FITS and left else place.kind
