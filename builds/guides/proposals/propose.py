"""The whole set of checks for a guide, with what the circuit says of each; and what of it the guide has already."""

import math
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from builds.guides.proposals import candidates
from builds.guides.proposals.candidates import RAIL_VOLTS, RESERVOIR, Candidate, Kit
from builds.guides.proposals.stages import Places, complete_stages
from builds.guides.wiring.ends import ends_of
from checks.circuit import Probe, condition_of, part_from_mapping, predict, predict_scatter, stop_limits_from_ratings
from checks.circuit.netlist.remark import Remark
from checks.circuit.netlist.wires import CHASSIS
from checks.circuit.ratings.stop_limits import LimitOf, RatedLimit
from checks.errors import ChecksError
from checks.quantity import format_quantity

SAMPLES = 400  # enough to show a band; the guide's own is computed from 10,000 when it is issued
SLOW = 4.0  # s, from which a builder is told to wait for a reading
GRID_STOP = 10.0  # V: a grid so far above its leak's foot has a leaking capacitor before it (common practice)
ROOM = 1.02  # of the highest good reading, below which a rating is no stop limit but an objection
NOTHING = 0.05  # V; a reading so near zero is zero (common practice: offsets)
OHMS_LEAST = 0.3  # Ω; less is the leads' own resistance


@dataclass(frozen=True)
class Proposal:
    """A check as the guide file has it (`row`), with the nominal reading and its band in SI, or why there is none."""

    stage: str
    row: dict
    value: float
    low: float
    high: float
    unit: str
    stop_of: str = ""  # the part whose rating sets the stop limit
    is_past: bool = False  # do good readings come up to the rating?
    is_there: bool = False
    rank: int | None = None
    shows: int = 0  # faults that no check ranked before it shows

    @property
    def name(self) -> str:
        return f"{self.stage}/{self.row['key']}"

    @property
    def stop(self) -> str:
        return self.row.get("stop_above") or self.row.get("stop_below", "")

    @property
    def note(self) -> str:
        return self.row.get("note", "")


@dataclass(frozen=True)
class Set:
    """All proposals, the stages they need that the guide lacks, and readings that the circuit cannot give."""

    proposals: tuple[Proposal, ...]
    stages: tuple[dict, ...]
    places: Places
    added: tuple[dict, ...]
    unread: tuple[tuple[str, Remark], ...]
    error: ChecksError | None = None


def propose(tables: dict) -> Set:
    """From the tables of a draft. Raises nothing: what stops the circuit is in `error`."""
    parts, mains = tables["part"], tables["kit"].get("mains", {"volts": 230, "hertz": 50})
    stages, places, added = complete_stages(tables["stage"], parts)
    kit = Kit(parts)
    specs, error = _specs(parts)
    by_key = {stage["key"]: stage for stage in stages}
    found: list[Proposal] = []
    unread: list[tuple[str, Remark]] = []
    wanted = {places.cold: candidates.cold(kit)}
    wanted[places.no_valves] = candidates.no_valves(kit) if places.no_valves != places.full else []
    wanted[places.full] = candidates.full(kit)
    for key, asked in wanted.items():
        try:
            made, without = _of_stage(specs, by_key[key], mains, asked)
        except ChecksError as problem:
            error = error or problem
            continue
        found += made
        unread += without
    return Set(tuple(_marked(found, stages)), tuple(stages), places, tuple(added), tuple(unread), error)


def _specs(parts: list[dict]) -> tuple[list, ChecksError | None]:
    """The parts that the circuit can be computed from, and what is wrong with the first that is wired and cannot."""
    specs, error = [], None
    for row in parts:
        try:
            specs.append(part_from_mapping(row))
        except ChecksError as problem:
            error = error or (problem if any(end.point for end in ends_of(row)) else None)
    return specs, error


def _of_stage(specs, stage: dict, mains: dict, asked: list[Candidate]):
    condition = condition_of(stage, mains)
    probes = [candidate.probe for candidate in asked]
    if not probes:
        return [], []
    nominal = predict(specs, condition, probes)
    scatter = predict_scatter(specs, condition, probes, samples=SAMPLES)
    found, unread, taken = [], [], {row["key"] for row in (*stage.get("step", []), *stage.get("check", []))}
    for candidate, reading, spread in zip(asked, nominal, scatter, strict=True):
        if spread.nominal is None or reading.value is None:
            why = spread.reason or reading.reason
            if why is not None:
                unread.append((title_of(candidate), why))
            continue
        if reading.unit == "Ω" and spread.nominal < OHMS_LEAST:
            continue
        made = _proposal(stage, candidate, reading, spread, _rated(specs, stage, candidate), taken)
        taken.add(made.row["key"])
        found.append(made)
    return found, unread


def _rated(specs, stage: dict, candidate: Candidate) -> list:
    """The parts whose ratings hold: those fitted, and for heater volts every valve that the sockets are wired for."""
    away = set() if candidate.measure == "ac volts" else {*(stage.get("not_fitted") or ())}
    return [spec for spec in specs if spec.ref not in away]


def _proposal(stage, candidate: Candidate, reading, spread, specs, taken) -> Proposal:
    row = {
        "key": _key(candidate, stage, taken),
        "title": title_of(candidate),
        "measure": candidate.measure,
        "red": candidate.red,
        "expected": "model",
        "figure_from": "model",
    }
    if candidate.black != "chassis":
        row["black"] = candidate.black
    if candidate.through:
        row["through"] = candidate.through
    if note := _note(reading):
        row["note"] = note
    made = Proposal(stage["key"], row, spread.nominal, spread.low, spread.high, reading.unit)
    return _with_stop(made, candidate, specs) if stage.get("power") == "on" else made


def _with_stop(made: Proposal, candidate: Candidate, specs) -> Proposal:
    """The nearest rating above (or below, for a negative reading). For a grid the usual sign of a leaking capacitor;
    else, on the supply, what its capacitors stand."""
    limits = stop_limits_from_ratings(specs, Probe(*candidate.probe[:3], candidate.through))
    is_negative = made.high < NOTHING and made.low < -NOTHING
    limit = limits.below if is_negative else limits.above
    is_grid = candidate.electrode.split()[-1:] == ["grid"]
    if limit is None and is_grid and not is_negative and made.high < GRID_STOP / ROOM:
        return replace(made, row=made.row | {"stop_above": format_quantity(GRID_STOP, "V", 2)})
    if limit is None and candidate.measure == "dc volts" and not is_negative and (stands := _supply_stands(specs)):
        limit = RatedLimit(stands[0], 1, stands[1], LimitOf.CAPACITOR_VOLTS)
    if limit is None:
        return made
    edge = made.low if is_negative else made.high
    if abs(edge) * ROOM >= abs(limit.value):
        return replace(made, stop_of=limit.ref, is_past=True)
    key = "stop_below" if is_negative else "stop_above"
    return replace(made, row=made.row | {key: _rounded(limit.value, made.unit)}, stop_of=limit.ref)


def _supply_stands(specs) -> tuple[float, str] | None:
    """The least rating of the supply's capacitors, and whose it is."""
    held = [
        (spec.volts, spec.ref)
        for spec in specs
        if spec.kind in ("electrolytic", "capacitor")
        and CHASSIS in spec.joins.values()
        and (spec.volts or 0) >= RAIL_VOLTS
        and (spec.value or 0) >= RESERVOIR
    ]
    return min(held, default=None)


def _rounded(value: float, unit: str) -> str:
    """Three figures towards zero: never past the rating."""
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    return format_quantity(math.trunc(value / step + math.copysign(1e-9, value)) * step, unit)


def _note(reading) -> str:
    slow = [settling for settling in reading.settle if SLOW <= settling.seconds < math.inf]
    if not slow:
        return ""
    seconds = max(settling.seconds for settling in slow)
    names = ", ".join(dict.fromkeys(settling.ref for settling in slow))
    return _("Wait about %(seconds)d s: the reading climbs as capacitors charge (%(refs)s).") % {
        "seconds": 5 * math.ceil(seconds / 5),
        "refs": names,
    }


def title_of(candidate: Candidate) -> str:
    pin = candidate.red.rpartition(".")[2]
    at = {"of": candidate.of, "pin": pin, "electrode": candidate.electrode, "through": candidate.through}
    sentences = {
        "rail-ohms": _("%(of)s to chassis"),
        "pin-ohms": _("%(of)s pin %(pin)s, %(electrode)s, to chassis"),
        "heater-ohms": _("Heater wiring at %(of)s"),
        "heater-volts": _("Heaters at %(of)s"),
        "rail-volts": _("B+ at %(of)s"),
        "pin-volts": _("%(of)s pin %(pin)s, %(electrode)s"),
        "current": _("Current through %(through)s"),
    }
    return sentences[candidate.what] % at


def _key(candidate: Candidate, stage: dict, taken) -> str:
    place = candidate.red if candidate.what != "current" else candidate.through
    kind = {"heater-ohms": "heater", "heater-volts": "heater", "current": "current"}.get(candidate.what, "")
    if candidate.what.startswith("heater"):
        place = candidate.of
    plain = "".join(c if c.isalnum() else "-" for c in f"{kind} {place}".strip().lower()).strip("-")[:50]
    names = (plain, *(f"{plain}-{n}" for n in range(2, 99)))
    return next(name for name in names if name not in taken)


def _marked(found: list[Proposal], stages) -> list[Proposal]:
    """Those that measure what a check of the same stage measures already are marked so."""
    there = {
        (stage["key"], check["measure"], check["red"], check.get("black", "chassis"))
        for stage in stages
        for check in stage.get("check", [])
    }
    return [
        replace(p, is_there=(p.stage, p.row["measure"], p.row["red"], p.row.get("black", "chassis")) in there)
        for p in found
    ]
