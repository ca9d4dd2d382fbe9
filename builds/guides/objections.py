"""What stands against issuing a draft, as codes: what blocks it, what needs a written reason, what is only shown."""

import math
from dataclasses import asdict, dataclass, field
from enum import StrEnum

from builds.guides.circuit.component_stress import over_limits
from builds.guides.circuit.fault_dictionary import key_for, load_fault_dictionary
from builds.guides.circuit.problems import list_problems
from builds.guides.circuit.specs import build_mapping
from builds.guides.circuit.stored import attach, saved_figures
from builds.guides.dangers import figures_without_meter, list_dangers
from builds.guides.figures import band_for, designers_band, find_rated_limits, is_model, load_factor
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.control_positions import position_warnings
from builds.guides.guide_file.walk import Walker
from builds.guides.guide_file.write import as_tables
from builds.guides.guide_texts import stale_translations
from builds.guides.mains_side import MainsSide
from builds.guides.rated_stops import is_past, stops_for
from builds.guides.row_labels import format_figures_and_stops
from checks.circuit.netlist.terminals import VALVES
from checks.circuit.ratings.stop_limits import LimitOf
from checks.diagnosis import coverage
from checks.errors import ChecksError
from checks.measures import FLOWING
from checks.quantity import parse_quantity
from checks.serials import natural

CONTRADICTS = 0.05  # of the circuit's figure, from which a guide's own figure contradicts it


class Level(StrEnum):
    BLOCKS = "blocks"  # no reason is good enough
    SERIOUS = "serious"  # issued only with a written reason
    SHOWN = "shown"


@dataclass(frozen=True)
class Objection:
    """One thing against issuing; `row` names what it is about ("check", id), for a link."""

    code: str
    level: Level
    params: dict = field(default_factory=dict)
    row: tuple[str, int] | None = None

    def as_dict(self) -> dict:
        return {name: value for name, value in asdict(self).items() if name != "row"}


def objections_to(revision, guide=None) -> list[Objection]:
    """Everything against issuing a draft (in `guide`, if at hand), the gravest first. Computes nothing that takes
    long."""
    guide = guide or load_guide(revision)
    figures = saved_figures(revision, guide)
    attach(revision, [*_checks(guide)], figures.detail["checks"] if figures else {})
    objections = [
        *_rules(revision, guide),
        *_gates(guide),
        *_hands(guide),
        *_stops(guide),
        *_hint_loops(guide),
        *_corrections_left_out(revision, guide),
        *(Objection(code, Level.SERIOUS, params, row) for code, params, row in list_dangers(revision, guide)),
        *(circuit := [*_circuit(revision, guide, figures)]),
        *_unjoined(guide, {objection.row for objection in circuit}),
        *_positions(guide),
        *(Objection(code, Level.SHOWN, params, row) for code, params, row in figures_without_meter(guide)),
        *_stale_translations(revision, guide),
        *_missed_faults(revision, guide),
    ]
    order = list(Level)
    return sorted(objections, key=lambda objection: order.index(objection.level))


def _checks(guide):
    return (check for stage in guide.stages for check in stage.checks.all())


def _rules(revision, guide):
    """What an import of the same guide would refuse."""
    rows = _rows(guide)
    for problem in Walker(as_tables(revision, guide), frozenset(guide.pictures)).problems():
        params = {"where": problem.label, "message": problem.message}
        level = Level.BLOCKS if problem.is_danger else Level.SERIOUS
        yield Objection("rule", level, params, rows.get(problem.place.row))


def _rows(guide) -> dict:
    """("stage.check", 4) as the walker counts -> ("check", id)."""
    lists = {
        "part": guide.parts.values(),
        "point": guide.probes.points.values(),
        "stage": guide.stages,
        "stage.step": [step for stage in guide.stages for step in stage.steps.all()],
        "stage.check": [*_checks(guide)],
    }
    return {(name, n): (name.rpartition(".")[2], row.pk) for name, rows in lists.items() for n, row in enumerate(rows)}


def _gates(guide):
    """Before each powered stage there must be a gate, after the powered stage before it."""
    has_gate = False
    for stage in guide.stages:
        row = ("stage", stage.pk)
        if stage.is_powered:
            if not has_gate:
                yield Objection("no-gate", Level.SERIOUS, {"stage": stage.title}, row)
            has_gate = False
        needed = [check for check in stage.checks.all() if not check.optional]
        if stage.gate and not needed:
            yield Objection("empty-gate", Level.SERIOUS, {"stage": stage.title}, row)
        has_gate = has_gate or bool(stage.gate and needed)


def _hands(guide):
    """Once a stage has had the power on, a step that fits parts puts hands in, and must be marked so."""
    had_power = False
    for stage in guide.stages:
        had_power = had_power or stage.is_powered
        for step in stage.steps.all():
            if had_power and step.parts and not step.hands_in:
                params = {"stage": stage.title, "step": step.position, "parts": ", ".join(step.parts)}
                yield Objection("unmarked-hands-in", Level.SERIOUS, params, ("step", step.pk))


def _stops(guide):
    for check in _checks(guide):
        row, params = ("check", check.pk), {"check": check.title}
        if not check.stage.is_powered or check.measure not in FLOWING:
            continue
        rated, band = find_rated_limits(check), band_for(check)
        if check.stop_above or (check.stop_below and not (rated and rated.above)):
            if band and not check.stop_above and not _stops_upwards(band):
                yield Objection("no-upper-stop", Level.SERIOUS, params, row)
            continue
        limits = stops_for(band, check.measure, rated)
        if not limits:
            yield _without_stop(rated if band is None else None, params, row)
        for limit in limits:
            if band and is_past(band, limit):
                more = {"ref": limit.ref, "limit": limit.value, "unit": check.unit}
                yield Objection("band-past-rating", Level.SERIOUS, params | more, row)
        if limits and limits[0].of is LimitOf.TOUCH and not (rated and rated.above):
            yield Objection("touch-stop", Level.SHOWN, params | {"limit": limits[0].value}, row)


def _stops_upwards(band) -> bool:
    """Does anything stop a reading that rises without end? A lower limit does so of a negative supply, and of a point
    about zero, where it holds with the probes swapped."""
    return band.stop_above is not None or band.is_swapped_stop_below(math.inf)


def _corrections_left_out(revision, guide):
    """A check that says again what an erratum corrected in the revision before: readings would be judged by figures
    that were found wrong."""
    before = revision.cloned_from
    if before is None or before.corrected_at is None:
        return
    corrected = {c.key: c for c in load_guide(before).checks.values() if c.correction is not None}
    for check in _checks(guide):
        own = corrected.get(check.key)
        if own and all(getattr(check, name) == text for name, text in own.as_issued.items()):
            params = {"check": check.title, "figures": format_figures_and_stops(own.correction.figures)}
            yield Objection("correction-left-out", Level.SERIOUS, params, ("check", check.pk))


def _without_stop(rated, params: dict, row) -> Objection:
    """Of a check that nothing stops: without any figure no reading is taken, so a part's rating stops nobody."""
    limit = rated and (rated.above or rated.below)
    if limit:
        return Objection("stop-unused", Level.SERIOUS, params | {"ref": limit.ref}, row)
    return Objection("no-stop", Level.SERIOUS, params, row)


def _hint_loops(guide):
    """Hints that lead a builder round in a circle, each circle once."""
    onward = {check.key: [h["next"] for h in check.hints if h.get("next")] for check in _checks(guide)}
    titles = {check.key: check.title for check in _checks(guide)}
    seen = set()
    for start in onward:
        path = _circle(start, onward)
        if path and frozenset(path) not in seen:
            seen.add(frozenset(path))
            yield Objection("hint-loop", Level.SERIOUS, {"checks": [titles[key] for key in path]})


def _circle(start: str, onward: dict) -> list[str]:
    """The keys of the shortest circle through a check; empty where there is none."""
    paths, visited = [[start]], set()
    while paths:
        path = paths.pop(0)
        for target in onward.get(path[-1], []):
            if target == start:
                return path
            if target in onward and target not in visited:
                visited.add(target)
                paths.append([*path, target])
    return []


def _circuit(revision, guide, figures):
    if not any(part.detail.get("joins") or part.detail.get("winding") for part in guide.parts.values()):
        return
    mains = {"volts": revision.mains_volts, "hertz": revision.mains_hertz}
    named = {f"{check.stage.key}/{check.key}": ("check", check.pk) for check in _checks(guide)}
    for problem in list_problems(guide, mains):
        level = Level.SERIOUS if problem.refuses or problem.holds else Level.SHOWN
        yield Objection("circuit", level, {"message": problem.message}, named.get(problem.check))
    if figures is None:
        yield Objection("not-computed", Level.SERIOUS)
        return
    for stress in over_limits(figures.detail["stresses"]):
        yield Objection("over-limit", Level.SERIOUS, {name: stress[name] for name in ("ref", "what", "at")})
    for check in _checks(guide):
        yield from _contradicted(check)


def _unjoined(guide, named_already: set):
    """Checks at a pin of a wired valve that nothing is joined to: it reads nothing, or what a meter picks up."""
    wired = {ref: part for ref, part in guide.parts.items() if part.detail.get("joins") and part.detail.get("base")}
    pins = MainsSide.of([build_mapping(part) for part in wired.values()]).pins
    for check in _checks(guide):
        for place in (check.red, check.black):
            if place.partition(".")[0] in wired and place not in pins and ("check", check.pk) not in named_already:
                level = Level.SERIOUS if check.stage.is_powered else Level.SHOWN
                yield Objection("unjoined", level, {"check": check.title, "place": place}, ("check", check.pk))


def _contradicted(check):
    """A guide's own figure, or its own band, that the circuit's figure is far from."""
    model = getattr(check, "model_figure", None)
    if not model or is_model(check):
        return
    params = {"check": check.title, "model": model["value"], "unit": check.unit}
    own = _own_figure(check)
    if own is not None and model["value"] and abs(own - model["value"]) >= CONTRADICTS * abs(model["value"]):
        share = abs(own - model["value"]) / abs(model["value"])
        yield Objection("contradicted", Level.SERIOUS, params | {"own": own, "share": share}, ("check", check.pk))
    elif (band := _own_band(check)) and not band.contains(model["value"]):
        yield Objection("outside-band", Level.SERIOUS, params, ("check", check.pk))


def _own_figure(check) -> float | None:
    try:
        value = parse_quantity(check.expected, check.unit).value if check.expected else None
    except ChecksError:
        return None  # "open", or told by the rules
    return None if value is None else value * load_factor(check)


def _own_band(check):
    try:
        return designers_band(check)
    except ChecksError:
        return None


def _stale_translations(revision, guide):
    for language, count in stale_translations(revision, guide).items():
        yield Objection("stale-translation", Level.SHOWN, {"language": language, "count": count})


def _positions(guide):
    stages = [
        {
            "key": stage.key,
            "settings": stage.settings,
            "order": [item.key for item in stage.items],
            "step": [{"key": step.key, "text": step.text} for step in stage.steps.all()],
            "check": [{"key": c.key, "title": c.title, "note": c.note} for c in stage.checks.all()],
        }
        for stage in guide.stages
    ]
    parts = [{"ref": part.ref, "kind": part.kind, "note": part.note} for part in guide.parts.values()]
    titles = {(check.stage.key, check.key): check for check in _checks(guide)}
    for stage, key, message in position_warnings(stages, parts):
        check = titles[stage, key]
        params = {"where": check.title, "message": message}
        yield Objection("positions", Level.SHOWN, params, ("check", check.pk))


def _missed_faults(revision, guide):
    """Faults that no check shows, where what each fault reads has been prepared."""
    if not any(part.kind in VALVES or part.detail.get("winding") for part in guide.parts.values()):
        return
    prepared = load_fault_dictionary(revision, key_for(revision, guide))
    if prepared is None:
        return
    bands = {f"{check.stage.key}/{check.key}": band_for(check) for check in _checks(guide)}
    missed = coverage(prepared, {name: band for name, band in bands.items() if band}).missed
    if missed:
        refs = sorted({ref for fault in missed for ref in fault.refs}, key=natural)
        yield Objection("missed-faults", Level.SHOWN, {"count": len(missed), "refs": refs})
