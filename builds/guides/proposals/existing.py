"""Expected values, bands and stop limits proposed for the checks that a guide has already."""

import math
from dataclasses import dataclass, field, replace

from builds.guides.circuit.content import can_compute
from builds.guides.circuit.take_figure import round_outward
from builds.guides.editor.edits import row_version
from builds.guides.figures import FIGURES, model_limits, read_band
from builds.guides.proposals.candidates import Candidate
from builds.guides.proposals.propose import SAMPLES, readable_specs
from builds.guides.proposals.rated_stop import ROOM, rated_parts, rated_stop
from builds.guides.rated_stops import ends_across, is_past, stops_for, with_rated_stops
from builds.guides.wiring.ends import list_ends
from checks.band import Band
from checks.circuit import Probe, predict, predict_scatter, read_condition, stop_limits_from_ratings
from checks.errors import ChecksError
from checks.measures import FLOWING, UNITS
from checks.quantity import format_quantity, parse_quantity

FIGURE, STOP = "figure", "stop"
MEASURES = (*FLOWING, "resistance")
OWN = ("band", "low", "high", "at_least", "at_most")
SAME = 0.1  # of the circuit's band, by which an edge may lie elsewhere before another band is proposed


@dataclass(frozen=True)
class Change:
    """`then` are the keys that would change, "" where one goes. `now` and `model` are in SI. What is `barred` by a stop
    limit or a rating (its text, and the part's reference if it is one's) is shown, and cannot be ticked."""

    stage: str
    row: dict
    what: str
    now: Band | None
    model: dict
    unit: str
    then: dict = field(default_factory=dict)
    loosens: bool = False  # would it let readings pass, or go on, that it does not now?
    is_sure: bool = False  # ticked beforehand
    barred: str = ""
    barred_by: str = ""
    stop_of: str = ""

    @property
    def name(self) -> str:
        return f"{self.stage}/{self.row['key']}/{self.what}"

    @property
    def token(self) -> str:
        """Its name with a hash of what stands now, what would, and what good builds read: what was looked at is what is
        applied."""
        good = [f"{self.model[end]:.3g}" for end in ("value", "low", "high")]
        return f"{self.name}/{row_version({'now': self.row, 'then': self.then, 'good': good})}"

    @property
    def after(self) -> dict:
        return {k: v for k, v in (self.row | self.then).items() if v != ""}


def propose_changes(tables: dict) -> tuple[Change, ...]:
    """From the tables of a draft; nothing where the circuit is not whole."""
    specs, error = readable_specs(tables["part"])
    mains = tables["kit"].get("mains", {"volts": 230, "hertz": 50})
    if error:
        return ()
    grids = _grids(tables["part"])
    changes: list[Change] = []
    for stage in tables["stage"]:
        rows = [row for row in stage.get("check", []) if _is_asked(row)]
        for row, model in zip(rows, _models(specs, stage, mains, rows), strict=True):
            if model and model["unit"] == UNITS[row["measure"]]:
                changes += _of_check(specs, stage, row, model, grids)
    return tuple(changes)


def _is_asked(row: dict) -> bool:
    probe = {"black": "chassis"} | row
    return row["measure"] in MEASURES and not row.get("signal") and can_compute(probe)


def _grids(parts: list[dict]) -> set[str]:
    """Pins and points of grids."""
    ends = [end for row in parts for end in list_ends(row) if end.terminal.rpartition(".")[2] == "grid" and end.point]
    return {name for end in ends for name in (end.address, end.point)}


def _models(specs, stage: dict, mains: dict, rows: list[dict]) -> list[dict | None]:
    """The circuit's figure for each check. One wrong probe does not silence the others."""
    probes = [(row["red"], row.get("black") or "chassis", row["measure"], row.get("through") or None) for row in rows]
    if not probes:
        return []
    try:
        condition = read_condition(stage, mains)
        nominal = predict(specs, condition, probes)
        scatter = predict_scatter(specs, condition, probes, samples=SAMPLES)
    except ChecksError:
        return [None] if len(rows) == 1 else [_models(specs, stage, mains, [row])[0] for row in rows]
    return [_model(reading, spread) for reading, spread in zip(nominal, scatter, strict=True)]


def _model(reading, spread) -> dict | None:
    if spread.nominal is None:
        return None
    return {"value": spread.nominal, "low": spread.low, "high": spread.high, "unit": reading.unit}


def _of_check(specs, stage: dict, row: dict, model: dict, grids: set[str]):
    is_live = stage.get("power") == "on"
    try:
        own = read_band(UNITS[row["measure"]], row.get("expected", ""), _figures(row), model)
    except ChecksError:  # its own figures contradict each other: the guide's page says so
        return
    if own is not None and own.is_open:
        return
    fitted = rated_parts(specs, stage, row["measure"])
    limits = stop_limits_from_ratings(fitted, _probe(specs, row)) if is_live and not _has_stop(row) else None
    start = Change(stage["key"], row, FIGURE, with_rated_stops(own, row["measure"], limits), model, model["unit"])
    yield from _figure(start, limits)
    if is_live:
        yield from _stop(replace(start, what=STOP), fitted, _probe(specs, row), {row["red"]} & grids)


def _figures(row: dict) -> dict[str, str]:
    return {name: row.get(name, "") for name in FIGURES}


def _has_stop(row: dict) -> bool:
    return bool(row.get("stop_above") or row.get("stop_below"))


def _probe(specs, row: dict) -> Probe:
    red, black = row["red"], row.get("black") or "chassis"
    if row["measure"] == "current":
        red, black = ends_across(specs, row.get("through", "")) or (red, black)
    return Probe(red, black, row["measure"])


def _figure(start: Change, limits):
    """The circuit's figure and band, where the check's own are others. What the prototype read stays expected."""
    row, unit, now = start.row, start.unit, start.now
    is_left = row.get("expected", "").strip().lower() == "model"
    if is_left and not any(row.get(name) for name in OWN):
        return
    then, low, high = _prototypes(row, start.model, unit) if not is_left and _is_prototypes(row) else _models_own(start)
    width = high - low
    if now is not None and _near(now.low, low, width) and _near(now.high, high, width):
        return
    loosens = now is not None and (_is_wider(now.low, low, -1, width) or _is_wider(now.high, high, 1, width))
    change = replace(start, then=then, loosens=loosens, is_sure=now is None)
    yield replace(change, **_bar(row, limits, Band(low, high), unit))


def _is_prototypes(row: dict) -> bool:
    return row.get("figure_from") == "prototype" and bool(row.get("expected"))


def _models_own(start: Change) -> tuple[dict, float, float]:
    then = {"expected": "model", "figure_from": "model"} | {name: "" for name in OWN if start.row.get(name)}
    return then, *model_limits(start.model, start.unit)


def _prototypes(row: dict, model: dict, unit: str) -> tuple[dict, float, float]:
    """The model's band, widened to hold what the prototype read, rounded outward to three figures."""
    read = parse_quantity(row["expected"], unit).value
    ends = (*model_limits(model, unit), *([] if read is None else [read]))
    low, high = round_outward(min(ends), math.floor), round_outward(max(ends), math.ceil)
    then = {name: "" for name in OWN if row.get(name)}
    return then | {"low": format_quantity(low, unit), "high": format_quantity(high, unit)}, low, high


def _near(now: float | None, then: float, width: float) -> bool:
    return now is not None and abs(now - then) <= SAME * width


def _is_wider(now: float | None, then: float, sign: int, width: float) -> bool:
    return now is not None and sign * (then - now) > 1e-3 * width


def _bar(row: dict, limits, band: Band, unit: str) -> dict:
    """What stands against a band: it would go past the check's stop limit, or its parts' ratings."""
    for key, sign, edge in (("stop_above", 1, band.high), ("stop_below", -1, band.low)):
        stop = parse_quantity(row[key], unit).value if row.get(key) else None
        if stop is not None and edge is not None and sign * (edge * _room(edge, sign) - stop) >= 0:
            return {"barred": row[key]}
    for limit in stops_for(band, row["measure"], limits):
        if limit.ref and is_past(band, limit):
            return {"barred": format_quantity(limit.value, unit), "barred_by": limit.ref}
    return {}


def _room(edge: float, sign: int) -> float:
    return ROOM if sign * edge > 0 else 1.0


def _stop(start: Change, fitted, probe: Probe, grid: set[str]):
    """A rating as the stop limit: where the check has none, a laxer one, or one that stops good builds."""
    row, now = start.row, start.now
    ends = [start.model["low"], start.model["high"]]
    ends += [edge for edge in (now.low, now.high) if edge is not None] if now else []
    candidate = Candidate("", row["measure"], probe.red, probe.black, electrode="grid" if grid else "")
    rated = rated_stop(fitted, candidate, min(ends), max(ends), start.unit)
    if rated is None:
        return
    stated = getattr(now, rated.key) if now else None
    sign = -1 if rated.key == "stop_below" else 1
    excess = math.inf if stated is None else sign * (stated - rated.value)
    change = replace(start, stop_of=rated.ref, then={rated.key: rated.text})
    if rated.is_past:
        if excess > 0:
            yield replace(change, then={}, barred=rated.text, barred_by=rated.ref)
    elif excess > 1e-3 * abs(rated.value):
        yield replace(change, is_sure=stated is None)  # a laxer limit may be meant for cold valves
    elif stated is not None and excess < 0 and _stops_good_builds(stated, sign, start.model):
        yield replace(change, loosens=True)


def _stops_good_builds(stated: float, sign: int, model: dict) -> bool:
    edge = model["low"] if sign < 0 else model["high"]
    return sign * edge * _room(edge, sign) >= sign * stated
