"""The stop limit of a powered check that its designer gave none: what the parts between its probes are rated for."""

import math
from dataclasses import dataclass, replace

from builds.guides.circuit.specs import specs_or_none
from checks.band import Band
from checks.circuit.netlist.parts import PartSpec
from checks.circuit.ratings.bounds import node_at, rated_volts

WINDING_REACH = 1.4  # times a winding's rated volts: more than regulation and high mains give, less than a wrong tap


@dataclass(frozen=True)
class RatedStop:
    """A size, in SI, past which part `ref` is beyond what it is made for."""

    size: float
    ref: str


def rated_stops(guide) -> dict[int, RatedStop]:
    """{id of a check: its limit} for the powered checks of a guide without a stop limit of their own."""
    if "rated_stops" not in guide.memo:
        specs = specs_or_none(guide)
        stops = {
            check.pk: _limit(check, specs)
            for stage in guide.stages
            if stage.is_powered
            for check in stage.checks.all()
            if not (check.stop_above or check.stop_below)
        }
        guide.memo["rated_stops"] = {pk: limit for pk, limit in stops.items() if limit}
    return guide.memo["rated_stops"]


def with_rated_stop(band: Band | None, limit: RatedStop | None) -> Band | None:
    """The band with a part's rating as its stop limit, on the side it reads; as it is where it reaches past that."""
    if band is None or limit is None or band.is_open or is_past(band, limit):
        return band
    if max(_edges(band), default=0.0) <= 0 and min(_edges(band), default=0.0) < 0:
        return replace(band, stop_below=-limit.size)
    return replace(band, stop_above=limit.size)


def is_past(band: Band, limit: RatedStop) -> bool:
    """Does a band let in what the part is not made for?"""
    return any(abs(edge) >= limit.size for edge in _edges(band))


def _edges(band: Band) -> list[float]:
    return [edge for edge in (band.low, band.high, band.expected) if edge is not None]


def _limit(check, specs: list[PartSpec]) -> RatedStop | None:
    """The least of the ratings that hold between the probes."""
    ways = {"dc volts": _dc_limits, "ac volts": _ac_limits, "current": _current_limits}
    limits = list(ways[check.measure](check, specs)) if check.measure in ways else []
    return min(limits, key=lambda limit: limit.size, default=None)


def _dc_limits(check, specs):
    if rated := rated_volts(specs, check.red, check.black):
        yield RatedStop(*rated)
    for part in _resistors_between(check, specs):
        yield RatedStop(math.sqrt(part.power * part.value), part.ref)


def _ac_limits(check, specs):
    ends = _ends(check, specs)
    for part in specs:
        for winding in part.windings:
            outer = {winding.nodes[0], winding.nodes[-1]}
            if not winding.volts:
                continue
            if ends == outer:
                yield RatedStop(WINDING_REACH * winding.volts * (len(winding.nodes) - 1), part.ref)
            elif len(winding.nodes) == 3 and winding.nodes[1] in ends and ends & outer:
                yield RatedStop(WINDING_REACH * winding.volts, part.ref)


def _current_limits(check, specs):
    for part in specs:
        if part.ref == check.through and part.power and part.value:
            yield RatedStop(math.sqrt(part.power / part.value), part.ref)


def _resistors_between(check, specs):
    ends = _ends(check, specs)
    for part in specs:
        if part.kind == "resistor" and part.power and part.value and {*part.joins.values()} == ends:
            yield part


def _ends(check, specs) -> set[str]:
    by_ref = {part.ref: part for part in specs}
    return {node_at(by_ref, check.red), node_at(by_ref, check.black)}
