"""The reading that would best separate what may be wrong: the greatest expected drop in entropy."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from checks.circuit.prediction.probes import UNITS
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.fault import Fault
from checks.diagnosis.place import Place
from checks.diagnosis.ranking import Ranking
from checks.diagnosis.reading_scale import FLOOR, SMALLEST
from checks.finite import finite_figures

BINS = 60
NEARLY = 0.8  # an unpowered reading is preferred that does this well beside the best powered one
LEAST = 0.04  # bits that make a reading worth taking
KEEP = 24  # faults that are looked at; the others hardly count
MOST_FAULTS, ROWS, EACH = 12, 4, 3  # faults whose readings are told, in so many rows, each naming so many
ANYTHING = 1.0  # standard deviation on the scale, from which a fault may read anything and no range is told of it
METER = 0.01  # of a reading, what a meter adds


@dataclass(frozen=True)
class Pointer:
    """A range of values (None: no end on that side) and what a reading in it would point to: a healthy kit, or faults,
    the likeliest first, of which `more` are not named."""

    low: float | None
    high: float | None
    unit: str
    faults: tuple[Fault, ...] = ()
    healthy: bool = False
    more: bool = False


@finite_figures
@dataclass(frozen=True)
class Suggestion:
    """Where to measure, what it is worth in bits, and what its values would point to."""

    place: Place
    bits: float
    points_to: tuple[Pointer, ...]


def next_reading(prepared: Prepared, ranking: Ranking, taken, allowed=None) -> Suggestion | None:
    """The best place not in `taken` (names); `allowed(place)` says which may be read now. None when none is worth
    it."""
    p, rows = _candidates(ranking)
    places = [
        n
        for n, place in enumerate(prepared.places)
        if place.name not in taken and (place.check or place.power == "off") and (allowed is None or allowed(place))
    ]
    if len(rows) < 2 or not places:
        return None
    bits = {n: _gain(prepared, n, p, rows) for n in places}
    worth = {n: b * (NEARLY if prepared.places[n].power == "on" else 1.0) for n, b in bits.items()}
    for n in sorted((n for n in places if bits[n] >= LEAST), key=lambda n: -worth[n]):
        points = _points(prepared, n, p, rows)
        if len(points) > 1:  # a reading that tells nobody anything is not asked for
            return Suggestion(prepared.places[n], bits[n], points)
    return None


def _candidates(ranking: Ranking):
    """(probabilities, rows of `mean`) of the healthy kit and the likeliest faults."""
    order = np.argsort(-ranking.each)[:KEEP]
    p = np.concatenate(([ranking.healthy], ranking.each[order]))
    keep = p > 1e-4
    return p[keep] / p[keep].sum(), np.concatenate(([0], order + 1))[keep]


def _spread(prepared: Prepared, place: int, rows):
    mean = prepared.mean[rows, place]
    return mean, np.sqrt(prepared.cov[rows, place, place] + METER**2 + FLOOR)


def _gain(prepared: Prepared, place: int, p, rows) -> float:
    """Expected bits: entropy of the faults before, less that after, over a histogram of what may be read."""
    mean, sd = _spread(prepared, place, rows)
    known = ~np.isnan(mean)
    if not known.all():
        mean, sd = np.where(known, mean, 0.0), np.where(known, sd, 20.0)
    edges = np.linspace((mean - 4 * sd).min(), (mean + 4 * sd).max(), BINS + 1)
    # Narrow predictions need narrow bins: put edges round every fault's own as well.
    edges = np.unique(np.concatenate((edges, (mean[:, None] + sd[:, None] * np.array([-2.0, -0.7, 0.7, 2.0])).ravel())))
    share = np.diff(ndtr((edges[None, :] - mean[:, None]) / sd[:, None]), axis=1)
    joint = p[:, None] * share
    total = joint.sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        after = -np.nansum(np.where(joint > 0, joint * np.log2(joint / total), 0.0))
        before = -np.nansum(np.where(p > 0, p * np.log2(p), 0.0))
    return float(max(0.0, before - after))


def _points(prepared: Prepared, place: int, p, rows) -> tuple[Pointer, ...]:
    """What would be read if the likeliest were so, from low to high, in at most ROWS ranges."""
    answers = _rows(prepared, place, p, rows)
    unit = UNITS[prepared.places[place].probe.measure]
    heaviest = sorted(sorted(answers, key=lambda row: -row.weight)[:ROWS], key=lambda row: row.low)
    return tuple(_pointer(prepared, row, row is answers[0], row is answers[-1], unit) for row in heaviest)


@dataclass
class _Row:
    """A range that some faults would put the reading into: [(probability, row of `mean`)]."""

    low: float
    high: float
    faults: list

    @property
    def weight(self) -> float:
        return sum(p for p, _ in self.faults)


def _rows(prepared: Prepared, place: int, p, rows) -> list[_Row]:
    """The likeliest faults by what they would read; ranges that overlap are one."""
    mean, sd = _spread(prepared, place, rows)
    best = [k for k in np.argsort(-p)[:MOST_FAULTS] if not np.isnan(mean[k]) and sd[k] < ANYTHING]
    answers: list[_Row] = []
    for k in sorted(best, key=lambda k: mean[k]):
        low, high = (float(np.sinh(mean[k] + side * sd[k]) * prepared.units[place]) for side in (-2, 2))
        if answers and low < answers[-1].high:
            answers[-1].high = max(answers[-1].high, high)
            answers[-1].faults.append((p[k], rows[k]))
        else:
            answers.append(_Row(low, high, [(p[k], rows[k])]))
    return answers


def _pointer(prepared: Prepared, row: _Row, first: bool, last: bool, unit: str) -> Pointer:
    order = list(dict.fromkeys(r for _p, r in sorted(row.faults, key=lambda fault: -fault[0])))
    low = None if first else row.low
    high = max(row.high, 2 * SMALLEST[unit]) if first else None if last else row.high
    if 0 in order:
        return Pointer(low, high, unit, healthy=True)
    faults = tuple(prepared.faults[r - 1] for r in order)
    return Pointer(low, high, unit, faults[:EACH], more=len(faults) > EACH)
