"""The whole set of checks for a guide, with what the circuit says of each; and what of it the guide has already."""

import math
from dataclasses import replace

from django.utils.translation import gettext as _

from builds.guides.plain_letters import as_key
from builds.guides.proposals import candidates
from builds.guides.proposals.candidates import Candidate, Kit
from builds.guides.proposals.proposal import Proposal, Set
from builds.guides.proposals.rated_stop import rated_parts, rated_stop
from builds.guides.proposals.signals import signal_proposals
from builds.guides.proposals.stages import complete_stages
from builds.guides.proposals.unmodelled import earth_bond, is_open_supply, no_short
from builds.guides.wiring.ends import list_ends
from checks.circuit import part_from_mapping, predict, predict_scatter, read_condition
from checks.circuit.netlist.remark import Remark
from checks.errors import ChecksError

SAMPLES = 400  # enough to show a band; the guide's own is computed from 10,000 when it is issued
SLOW = 4.0  # s, from which a builder is told to wait for a reading
OHMS_LEAST = 0.3  # Ω; less is the leads' own resistance
HEATER_LEAST = 0.5  # V
DEAD_BELOW = 0.5  # V
POWER_AMPS = 10e-3  # cathode current from which a valve is one of power (common practice)
B_PLUS_LEAST = 60.0  # V: a supply below it is named for what it is


def propose(tables: dict, with_signals: bool = False) -> Set:
    """From the tables of a draft. Raises nothing: what stops the circuit is in `error`."""
    parts, mains = tables["part"], tables["kit"].get("mains", {"volts": 230, "hertz": 50})
    stages, places, added = complete_stages(tables["stage"], parts)
    kit = Kit(parts)
    specs, error = readable_specs(parts)
    by_key = {stage["key"]: stage for stage in stages}
    proposals: list[Proposal] = []
    unread: list[tuple[str, Remark]] = []
    by_stage = {places.cold: candidates.cold_candidates(kit)}
    by_stage[places.no_valves] = candidates.candidates_without_valves(kit) if places.no_valves != places.full else []
    by_stage[places.full] = candidates.candidates_with_valves(kit)
    for key, asked_here in by_stage.items() if error is None else ():  # without a part it is another circuit
        try:
            made, without = _of_stage(specs, by_key[key], mains, asked_here)
        except ChecksError as problem:
            error = error or problem
            continue
        proposals += made
        unread += without
    if with_signals and not error:
        try:
            proposals += signal_proposals(specs, stages, added, places, mains, kit)
        except ChecksError as problem:
            error = problem
    return Set(tuple(_marked(proposals, stages)), tuple(stages), places, tuple(added), tuple(unread), error)


def readable_specs(parts: list[dict]) -> tuple[list, ChecksError | None]:
    """The parts that the circuit can be computed from, and what is wrong with the first that is wired and cannot."""
    specs, error = [], None
    for row in parts:
        try:
            specs.append(part_from_mapping(row))
        except ChecksError as problem:
            error = error or (problem if any(end.point for end in list_ends(row)) else None)
    return specs, error


def _of_stage(specs, stage: dict, mains: dict, measurements: list[Candidate]):
    condition = read_condition(stage, mains)
    taken = {row["key"] for row in (*stage.get("step", []), *stage.get("check", []))}
    proposals = [earth_bond(stage["key"], _row(stage, c, taken)) for c in measurements if c.what == "earth-bond"]
    measurements = [c for c in measurements if c.what != "earth-bond"]
    probes = [candidate.probe for candidate in measurements]
    if not probes:
        return proposals, []
    nominal = predict(specs, condition, probes)
    scatter = predict_scatter(specs, condition, probes, samples=SAMPLES)
    unread: list = []
    for candidate, reading, spread in zip(measurements, nominal, scatter, strict=True):
        if made := _made(specs, stage, candidate, reading, spread, {*taken, *(p.row["key"] for p in proposals)}):
            proposals.append(made)
        elif candidate.what != "heater-volts" and (why := spread.reason or reading.reason):
            unread.append((make_title(candidate), why))
    return _power_first(proposals), unread


def _made(specs, stage: dict, candidate: Candidate, reading, spread, taken) -> Proposal | None:
    """The proposal, where there is something to read."""
    if spread.nominal is None or reading.value is None:
        is_open = is_open_supply(candidate, spread.reason or reading.reason)
        return no_short(stage["key"], _row(stage, candidate, taken)) if is_open else None
    if reading.unit == "Ω" and spread.nominal < OHMS_LEAST:
        return None
    if candidate.what == "heater-volts" and abs(spread.nominal) < HEATER_LEAST:  # fed by the other kind of current
        return None
    if stage.get("not_fitted") and candidate.measure == "dc volts" and abs(spread.nominal) < DEAD_BELOW:
        return None  # without its rectifier valve the supply is dead, and a check of nothing passes whatever is wrong
    rated = rated_parts(specs, stage, "ac volts" if candidate.what == "heater-volts" else candidate.measure)
    return _proposal(stage, candidate, reading, spread, rated, taken)


def _power_first(proposals: list[Proposal]) -> list[Proposal]:
    """Heaters and rails, then the currents that hurt a power valve within a minute, then all else as listed."""
    rails = [p for p in proposals if not p.row["red"][:1].isupper() or p.row["key"].startswith("heater")]
    power = [p for p in proposals if p.row["measure"] == "current" and abs(p.value) >= POWER_AMPS]
    return [*rails, *power, *(p for p in proposals if p not in rails and p not in power)]


def _proposal(stage, candidate: Candidate, reading, spread, specs, taken) -> Proposal:
    row = _row(stage, candidate, taken, reading.value)
    if note := _note(reading):
        row["note"] = note
    made = Proposal(stage["key"], row, spread.nominal, spread.low, spread.high, reading.unit)
    return _with_stop(made, candidate, specs) if stage.get("power") == "on" else made


def _row(stage: dict, candidate: Candidate, taken, value: float = 0.0) -> dict:
    row = {
        "key": _key(candidate, stage, taken),
        "title": make_title(candidate, value),
        "measure": candidate.measure,
        "red": candidate.red,
        "expected": "model",
        "figure_from": "model",
    }
    if candidate.black != "chassis":
        row["black"] = candidate.black
    if candidate.through:
        row["through"] = candidate.through
    return row


def _with_stop(made: Proposal, candidate: Candidate, specs) -> Proposal:
    if candidate.what == "heater-volts":  # a heater stands as many volts of either kind of current
        candidate = replace(candidate, measure="ac volts")
    rated = rated_stop(specs, candidate, made.low, made.high, made.unit)
    if rated is None or rated.is_past:
        return replace(made, stop_of=rated.ref if rated else "", is_past=bool(rated))
    return replace(made, row=made.row | {rated.key: rated.text}, stop_of=rated.ref)


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


def make_title(candidate: Candidate, value: float = math.inf) -> str:
    """`value` tells a B+ rail from a bias or a heater supply."""
    pin = candidate.red.rpartition(".")[2]
    at = {"of": candidate.of, "pin": pin, "electrode": candidate.electrode, "through": candidate.through}
    sentences = {
        "rail-ohms": _("%(of)s to chassis"),
        "pin-ohms": _("%(of)s pin %(pin)s, %(electrode)s, to chassis"),
        "heater-ohms": _("Heater wiring at %(of)s"),
        "heater-volts": _("Heaters at %(of)s"),
        "earth-bond": _("Mains earth to chassis"),
        "rail-volts": _("B+ at %(of)s"),
        "bias-volts": _("Negative supply at %(of)s"),
        "low-volts": _("Supply at %(of)s"),
        "pin-volts": _("%(of)s pin %(pin)s, %(electrode)s"),
        "current": _("Current through %(through)s"),
    }
    what = candidate.what
    if what == "rail-volts" and value < B_PLUS_LEAST:
        what = "bias-volts" if value < 0 else "low-volts"
    return sentences[what] % at


def _key(candidate: Candidate, stage: dict, taken) -> str:
    if candidate.what == "earth-bond":
        return next(name for name in ("earth-bond", *(f"earth-bond-{n}" for n in range(2, 99))) if name not in taken)
    place = candidate.red if candidate.what != "current" else candidate.through
    kind = {"heater-ohms": "heater", "heater-volts": "heater", "current": "current"}.get(candidate.what, "")
    if candidate.what.startswith("heater"):
        place = candidate.of
    plain = as_key(f"{kind} {place}") or candidate.what
    names = (plain, *(f"{plain}-{n}" for n in range(2, 99)))
    return next(name for name in names if name not in taken)


def _marked(proposals: list[Proposal], stages) -> list[Proposal]:
    """Those that measure what a check of the same stage measures already are marked so."""
    there = {(stage["key"], *_measures(check)) for stage in stages for check in stage.get("check", [])}
    return [replace(p, is_there=(p.stage, *_measures(p.row)) in there) for p in proposals]


def _measures(check: dict) -> tuple:
    signal = check.get("signal") or {}
    under = tuple(signal.get(key, "") for key in ("into", "frequency", "of"))
    return check["measure"], check["red"], check.get("black", "chassis"), under
