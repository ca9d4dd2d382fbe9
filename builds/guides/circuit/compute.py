"""All figures of a guide from its circuit. Called by a worker; nothing here asks the database."""

from dataclasses import asdict, replace

from builds.guides.circuit.content import can_compute
from builds.guides.circuit.responses import compute_responses
from builds.guides.circuit.unreadable_parts import checks_affected
from builds.ui.problem_rows import NOT_CALCULATED, problem_row
from checks.circuit import (
    HOPELESS,
    as_probed,
    assumed_figures,
    assumed_tolerances,
    circuit_errors,
    component_stresses,
    inrush_currents,
    list_unrated,
    part_from_mapping,
    predict,
    predict_scatter,
    read_condition,
    stated_signal,
)
from checks.circuit.netlist.remark import RemarkCode, remark
from checks.errors import ChecksError

SAMPLES = 10_000
LINE_SAMPLES = 5  # one in so many builds, for how readings scatter at any line: only shown, never a band


def compute(content: dict, report=lambda done, total, step="", **params: None, samples: int = SAMPLES) -> dict:
    """{"checks": {"stage/check": figure}, "stresses": [...], "problems": [...]} of `content` (see content.py).

    What is wrong with the circuit is told in "problems"; checks that cannot be computed carry their reason.

    Bands ("low" to "high") hold at a known line, and so does the worst case: the bench brings them to the builder's
    line and adds what is not known of it (the plug-in meter's 1 %, or the supply's permitted range where nobody
    measured). With the line in the band too it would be counted twice. Beside it "any_line" has the scatter at any line
    the supply may have; the stresses of good builds are computed there.
    """
    parts, problems = _parts(content["parts"])
    figures: dict = {}
    stages = content["stages"]
    named = frozenset(p[end] for stage in stages for p in stage["checks"] for end in ("red", "black"))
    wrong = circuit_errors(parts, named=named) if parts and not problems else []
    hopeless = bool(problems) or any(error.code in HOPELESS for error in wrong)
    problems += [problem_row(error) for error in wrong]
    skipped = {"reason": {"code": NOT_CALCULATED, "params": {"because": problems[0]}}} if problems else {}
    for number, stage in enumerate(stages):
        report(number, len(stages) + 1, "stage", number=number + 1, count=len(stages))
        if hopeless and stage["power"] == "on":  # a figure of another circuit than the kit's would be worse than none
            figures |= {_name(stage, p): skipped for p in stage["checks"] if can_compute(p)}
        else:
            figures |= _stage(parts, stage, content["mains"], samples, bool(problems))
    figures |= dict.fromkeys(checks_affected(content, parts), skipped)
    report(len(stages), len(stages) + 1, "stress")
    stresses, why_not = ([], None) if hopeless else _stresses(parts, stages, content["mains"])
    report(len(stages) + 1, len(stages) + 1)
    return {
        "checks": figures,
        "stresses": stresses,
        "no_stresses": why_not,
        "responses": [] if hopeless else compute_responses(parts, stages, content["mains"]),
        "inrush": [] if hopeless else _inrush(parts, stages, content["mains"]),
        "unrated": list_unrated(parts),
        "assumed": [asdict(row) for row in assumed_tolerances(parts)],
        "assumed_figures": [asdict(row) for row in assumed_figures(parts)],
        "problems": problems,
        "samples": samples,
    }


def _parts(mappings) -> tuple[list, list[dict]]:
    parts, problems = [], []
    for mapping in mappings:
        try:
            parts.append(part_from_mapping(mapping))
        except ChecksError as error:
            problems.append(problem_row(error))
    return parts, problems


def _stage(parts, stage, mains, samples, broken) -> dict:
    """Figures of one stage's checks. With a broken circuit only what can still be solved is said."""
    probes = [p for p in stage["checks"] if can_compute(p)]
    if not probes:
        return {}
    try:
        condition = read_condition(stage, mains)
        return _by_signal(parts, condition, stage, probes, samples)
    except ChecksError as error:
        if len(probes) == 1 or broken:
            return {_name(stage, p): {"reason": problem_row(error)} for p in probes}
    figures: dict = {}
    for probe in probes:  # one wrong probe must not silence the others
        try:
            figures |= _by_signal(parts, condition, stage, [probe], samples)
        except ChecksError as error:
            figures[_name(stage, probe)] = {"reason": problem_row(error)}
    return figures


def _name(stage, probe) -> str:
    return f"{stage['key']}/{probe['key']}"


def _by_signal(parts, condition, stage, probes, samples) -> dict:
    """Figures of probes under one condition, those under the same signal together."""
    groups: dict = {}
    for probe in probes:
        stated = stated_signal(probe.get("signal"))
        groups.setdefault(stated and stated.signal, []).append((probe, stated))
    figures: dict = {}
    for signal, rows in groups.items():
        asked_probes = [_asked(probe, stated) for probe, stated in rows]
        under = replace(condition, signal=signal)
        figures |= _together(parts, under, stage, [probe for probe, _ in rows], asked_probes, samples)
    return figures


def _asked(probe, stated) -> tuple:
    return (probe["red"], probe["black"], probe["measure"], probe["through"] or "", *as_probed(stated))


def _together(parts, condition, stage, probes, asked_probes, samples) -> dict:
    rows = zip(
        probes,
        predict(parts, condition, asked_probes),
        predict_scatter(parts, condition, asked_probes, samples=samples),
        _any_line(parts, condition, asked_probes, samples),
        strict=True,
    )
    return {_name(stage, probe): _figure(nominal, scatter, line) for probe, nominal, scatter, line in rows}


def _any_line(parts, condition, asked_probes, samples) -> list:
    """[low, high] of each reading with the line anywhere in its permitted range; None where the line does not
    matter."""
    if condition.power == "off":
        return [None] * len(asked_probes)
    wide = condition.over_permitted_lines()
    spread = predict_scatter(parts, wide, asked_probes, samples=max(500, samples // LINE_SAMPLES))
    return [None if scatter.nominal is None else [scatter.low, scatter.high] for scatter in spread]


def _figure(nominal, scatter, any_line) -> dict:
    if scatter.nominal is None:
        return {"reason": (scatter.reason or nominal.reason).as_dict(), "notes": _notes(nominal)}
    return {
        "any_line": any_line,
        "value": scatter.nominal,
        "unit": nominal.unit,
        "low": scatter.low,
        "high": scatter.high,
        "worst_low": scatter.worst_low,
        "worst_high": scatter.worst_high,
        "exponent": round(nominal.mains_exponent, 3),
        "source_ohms": nominal.source_ohms,
        "settle": [[s.ref, s.seconds] for s in nominal.settle],
        "notes": _notes(nominal),
        "drivers": [asdict(driver) for driver in scatter.drivers if driver.share >= 0.005],
    }


def _notes(nominal) -> list[dict]:
    return [note.as_dict() for note in nominal.notes]


def _inrush(parts, stages, mains) -> list[dict]:
    """What thermistors leave of the current at switch-on, at full mains."""
    powered = [s for s in stages if s["power"] == "on" and not s["supply"]]
    try:
        return [asdict(row) for row in inrush_currents(parts, read_condition(powered[0], mains))] if powered else []
    except ChecksError:
        return []


def _stresses(parts, stages, mains) -> tuple[list[dict], dict | None]:
    """What every part bears in the powered stage with the fewest parts left out (the finished kit, as a rule), or why
    not."""
    powered = [s for s in stages if s["power"] == "on" and not s["supply"]]
    if not powered:
        return [], remark(RemarkCode.NO_FULL_POWER).as_dict()
    stage = min(powered, key=lambda s: len(s["not_fitted"]))
    try:
        return [asdict(stress) for stress in component_stresses(parts, read_condition(stage, mains))], None
    except ChecksError as error:
        return [], problem_row(error)
