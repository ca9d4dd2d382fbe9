"""The reading that would best separate what may be wrong: the greatest expected drop in entropy."""
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from checks.circuit.probes import UNITS
from checks.faults.predict import Place, Prepared
from checks.faults.rank import Ranking
from checks.faults.space import FLOOR, SMALLEST
from checks.quantity import format_quantity

BINS = 60
NEARLY = 0.8  # an unpowered reading is preferred that does this well beside the best powered one
LEAST = 0.02  # bits that make a reading worth taking
KEEP = 24  # faults that are looked at; the others hardly count
METER = 0.01  # of a reading, what a meter adds


@dataclass(frozen=True)
class Suggestion:
    """Where to measure, what it is worth in bits, and what its values would point to: [(words of the value, words of the fault)]."""

    place: Place
    bits: float
    points_to: tuple[tuple[str, str], ...]


def next_reading(prepared: Prepared, ranking: Ranking, taken, allowed=None) -> Suggestion | None:
    """The best place not in `taken` (names); `allowed(place)` says which may be read now. None when none is worth it."""
    p, rows = _candidates(ranking)
    places = [n for n, place in enumerate(prepared.places) if place.name not in taken and (allowed is None or allowed(place))]
    if len(rows) < 2 or not places:
        return None
    bits = {n: _gain(prepared, n, p, rows) for n in places}
    best = max(places, key=lambda n: bits[n])
    safe = [n for n in places if prepared.places[n].power == "off"]
    if prepared.places[best].power == "on" and safe:
        safest = max(safe, key=lambda n: bits[n])
        best = safest if bits[safest] >= NEARLY * bits[best] else best
    if bits[best] < LEAST:
        return None
    return Suggestion(prepared.places[best], bits[best], _points(prepared, best, p, rows))


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


def _points(prepared: Prepared, place: int, p, rows) -> tuple[tuple[str, str], ...]:
    """What would be read if the likeliest were so: "below 200 Ω" first, in words, at most four."""
    unit = UNITS[prepared.places[place].probe.measure]
    mean, sd = _spread(prepared, place, rows)
    best = [k for k in np.argsort(-p)[:6] if not np.isnan(mean[k])]
    found: list[tuple[float, float, list[str]]] = []
    for k in sorted(best, key=lambda k: mean[k]):
        low, high = (np.sinh(mean[k] + s * 2 * sd[k]) * prepared.units[place] for s in (-1, 1))
        words = "nothing wrong here" if rows[k] == 0 else prepared.faults[rows[k] - 1].words
        if found and low < found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high), [*found[-1][2], words])
        else:
            found.append((low, high, [words]))
    return tuple((_range(low, high, n, len(found), unit), " or ".join(dict.fromkeys(words)))
                 for n, (low, high, words) in enumerate(found))


def _range(low: float, high: float, n: int, count: int, unit: str) -> str:
    tiny = SMALLEST[unit]
    if count == 1:
        return f"{format_quantity(low, unit)} to {format_quantity(high, unit)}"
    if n == 0:
        return f"below {format_quantity(max(high, 2 * tiny), unit, 2)}"
    if n == count - 1:
        return f"above {format_quantity(low, unit, 2)}"
    return f"{format_quantity(low, unit, 2)} to {format_quantity(high, unit, 2)}"
