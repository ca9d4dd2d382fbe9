"""The whole set of checks for a guide, with what the circuit says of each; and what of it the guide has already."""

import math
from dataclasses import replace

from django.utils.translation import gettext as _

from builds.guides.proposals import candidates
from builds.guides.proposals.candidates import Candidate, Kit
from builds.guides.proposals.proposal import Proposal, Set
from builds.guides.proposals.rated_stop import rated_parts, rated_stop
from builds.guides.proposals.signals import signal_proposals
from builds.guides.proposals.stages import complete_stages
from builds.guides.wiring.ends import ends_of
from checks.circuit import condition_of, part_from_mapping, predict, predict_scatter
from checks.circuit.netlist.remark import Remark
from checks.errors import ChecksError

SAMPLES = 400  # enough to show a band; the guide's own is computed from 10,000 when it is issued
SLOW = 4.0  # s, from which a builder is told to wait for a reading
OHMS_LEAST = 0.3  # Ω; less is the leads' own resistance


def propose(tables: dict, with_signals: bool = False) -> Set:
    """From the tables of a draft. Raises nothing: what stops the circuit is in `error`."""
    parts, mains = tables["part"], tables["kit"].get("mains", {"volts": 230, "hertz": 50})
    stages, places, added = complete_stages(tables["stage"], parts)
    kit = Kit(parts)
    specs, error = readable_specs(parts)
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
    if with_signals and not error:
        try:
            found += signal_proposals(specs, stages, added, places, mains, kit)
        except ChecksError as problem:
            error = problem
    return Set(tuple(_marked(found, stages)), tuple(stages), places, tuple(added), tuple(unread), error)


def readable_specs(parts: list[dict]) -> tuple[list, ChecksError | None]:
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
        made = _proposal(stage, candidate, reading, spread, rated_parts(specs, stage, candidate.measure), taken)
        taken.add(made.row["key"])
        found.append(made)
    return found, unread


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
    found = rated_stop(specs, candidate, made.low, made.high, made.unit)
    if found is None or found.is_past:
        return replace(made, stop_of=found.ref if found else "", is_past=bool(found))
    return replace(made, row=made.row | {found.key: found.text}, stop_of=found.ref)


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
    there = {(stage["key"], *_measures(check)) for stage in stages for check in stage.get("check", [])}
    return [replace(p, is_there=(p.stage, *_measures(p.row)) in there) for p in found]


def _measures(check: dict) -> tuple:
    signal = check.get("signal") or {}
    under = tuple(signal.get(key, "") for key in ("into", "frequency", "of"))
    return check["measure"], check["red"], check.get("black", "chassis"), under
