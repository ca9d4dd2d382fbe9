"""The stop limits of a powered check that its designer gave none: what the parts between its probes are rated for.

A point that carries only signals, and whose parts state no rating, stops at what may be touched.
"""

from dataclasses import replace

from builds.guides.circuit.specs import specs_or_none
from checks.band import Band
from checks.circuit import Probe, RatedLimit, StopLimits, stop_limits_from_ratings
from checks.circuit.ratings.stop_limits import LimitOf
from checks.safety import TOUCH_AC_RMS, TOUCH_DC

TOUCH = {"dc volts": TOUCH_DC, "ac volts": TOUCH_AC_RMS}
SIGNAL = 20.0  # V: a point whose band lies within this on either side carries signals; well below the touch limits


def rated_stops(guide) -> dict[int, StopLimits]:
    """{id of a check: its limits from ratings} for the powered checks of a guide."""
    if "rated_stops" not in guide.memo:
        specs = specs_or_none(guide)
        guide.memo["rated_stops"] = {
            check.pk: _limits(check, [spec for spec in specs if spec.ref not in stage.not_fitted])
            for stage in guide.stages
            if stage.is_powered
            for check in stage.checks.all()
        }
    return guide.memo["rated_stops"]


def limits_at(guide, check) -> StopLimits:
    """What the parts at a powered check are rated for, whether or not its designer gives stop limits."""
    return rated_stops(guide).get(check.pk) or StopLimits()


def _limits(check, specs) -> StopLimits:
    red, black = check.red, check.black
    if check.measure == "current":  # read across its resistor, whatever the points are called
        red, black = ends_across(specs, check.through) or (red, black)
    return stop_limits_from_ratings(specs, Probe(red, black or "chassis", check.measure))


def ends_across(specs, ref: str) -> tuple[str, str] | None:
    """The ends of a resistor, the chassis last: a positive current flows towards it."""
    part = next((spec for spec in specs if spec.ref == ref), None)
    ends = sorted(part.joins.values(), key=lambda node: node == "chassis") if part else []
    return tuple(ends) if len(ends) == 2 else None


def ratings_for(band: Band | None, limits: StopLimits | None) -> tuple[RatedLimit, ...]:
    """The ratings of what the points of a band's check reach."""
    if band is None or limits is None or band.is_open:
        return ()
    return tuple(limit for limit in (limits.above, limits.below) if limit)


def stops_for(band: Band | None, measure: str, limits: StopLimits | None) -> tuple[RatedLimit, ...]:
    """Those that hold for a band: the ratings, and at a point that carries only signals nothing past what may be
    touched: a grid's leak stands hundreds of volts, and a grid that has them is no less live. A bias supply may lie
    below the touch limit, but never above it."""
    if band is None or band.is_open or limits is None:
        return ()
    rated, edges = ratings_for(band, limits), _edges(band)
    if measure not in TOUCH or not edges or max(edges) > SIGNAL or min(edges) < -TOUCH[measure]:
        return _on_the_bands_side(band, rated)
    signs = (1, -1) if measure == "dc volts" and min(edges) >= -SIGNAL else (1,)
    touch = [RatedLimit(sign * TOUCH[measure], sign, "", LimitOf.TOUCH) for sign in signs]
    nearest = (min((r for r in (*rated, *touch) if r.sign == sign), key=_distance, default=None) for sign in (1, -1))
    return tuple(limit for limit in nearest if limit)


def _distance(limit: RatedLimit) -> float:
    return abs(limit.value)


def _on_the_bands_side(band: Band, rated: tuple[RatedLimit, ...]) -> tuple[RatedLimit, ...]:
    """Without the limit across zero from the band: the nearer one holds whichever way round the probes are."""
    edges = _edges(band)
    if len(rated) < 2 or not edges:
        return rated
    above, below = rated
    if min(edges) >= 0 and max(edges) < above.value <= -below.value:
        return (above,)
    is_negative = band.high is not None and band.high < 0
    return (below,) if is_negative and min(edges) > below.value >= -above.value else rated


def with_rated_stops(band: Band | None, measure: str, limits: StopLimits | None) -> Band | None:
    """The band with its parts' ratings as stop limits; without those that it reaches past itself."""
    for limit in stops_for(band, measure, limits):
        if band is not None and not is_past(band, limit):
            above = limit.sign > 0
            band = replace(band, stop_above=limit.value) if above else replace(band, stop_below=limit.value)
    return band


def is_past(band: Band, limit: RatedLimit) -> bool:
    """Does a band let in what the part is not made for?"""
    return any(limit.sign * (edge - limit.value) >= 0 for edge in _edges(band))


def _edges(band: Band) -> list[float]:
    return [edge for edge in (band.low, band.high, band.expected) if edge is not None]
