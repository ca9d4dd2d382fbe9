"""What is wrong with a guide as a circuit, each with the line of its part or check, and whether it stops an import."""

from collections import defaultdict
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.guides.circuit.content import can_compute
from builds.guides.circuit.specs import build_mapping
from builds.guides.control_settings import settings_rules
from builds.guides.wiring.ends import is_unwired
from builds.ui.messages.circuit import heater_warning, remark_sentence
from builds.ui.messages.parts_list import circuit_message
from checks.circuit import (
    HOPELESS,
    devices_misused,
    heaters_off_rating,
    part_from_mapping,
    parts_list_errors,
    parts_list_warnings,
    read_condition,
    solving_errors,
)
from checks.circuit.assemble.network import build_network
from checks.circuit.prediction.probes import as_probe, why_unpredicted
from checks.errors import ChecksError

NAMED = 12  # parts named in a problem
MANY = 4  # checks named one by one in a problem


@dataclass(frozen=True)
class CircuitProblem:
    """One problem of a circuit; `refuses` when a check that is left to the model cannot do with it, `holds` when it is
    issued with a written reason alone. One that `may_stay` was perhaps issued so: its file is taken as a draft again,
    and the draft says it."""

    line: int
    message: str
    refuses: bool = True
    check: str = ""  # "stage/check" where it is about one
    holds: bool = False
    may_stay: bool = False


@dataclass(frozen=True)
class GuideRows:
    """A guide's rows as the circuit needs them: parts and checks with their lines (0 where none is known)."""

    parts: list
    part_lines: list
    stages: list  # with their "check" rows
    check_lines: list  # of all stages' checks in order
    points: tuple = ()
    mains: dict | None = None

    @property
    def checks(self):
        """(stage, check, line) of every check, in order."""
        rows = [(stage, check) for stage in self.stages for check in stage.get("check", [])]
        return [(stage, check, line) for (stage, check), line in zip(rows, self.check_lines, strict=True)]

    @property
    def named(self) -> frozenset:
        """Nodes that points and checks name."""
        return frozenset(
            [*self.points, *(c.get(end, "chassis") for _s, c, _l in self.checks for end in ("red", "black"))]
        )


def left_to_model(check: dict) -> bool:
    return str(check.get("expected", "")).strip().lower() == "model"


def find_circuit_problems(guide: GuideRows) -> list[CircuitProblem]:
    """Everything wrong. Parts that cannot be read come first; only a list without such is looked at as a circuit."""
    parts, wrong, unwired = [], [], []
    for mapping, line in zip(guide.parts, guide.part_lines, strict=True):
        try:
            parts.append(part_from_mapping(mapping, line or None))
        except ChecksError as error:
            if is_unwired(mapping):
                unwired.append((mapping["ref"], line))
            else:
                wrong.append(_problem(error, line))
    if unwired:
        wrong.append(_unwired(unwired))
    if wrong:
        return wrong
    at = {part.ref: part.line or 0 for part in parts}
    errors = parts_list_errors(parts, guide.named)
    problems = [_problem(error, _line(error, at)) for error in errors]
    problems += [_problem(error, _line(error, at), False) for error in parts_list_warnings(parts)]
    codes = {error.code for error in errors}
    if codes.isdisjoint(HOPELESS | {"isolated-pieces"}):
        problems += _stopped(guide, parts, at)
        problems += _heaters(guide, parts, at)
        problems += _misused(guide, parts, at)
    problems += _lost_controls(guide, parts)
    return problems + list(_probes(guide, parts, codes))


def _unwired(unwired: list[tuple[str, int]]) -> CircuitProblem:
    """Parts that nothing is joined to, as one problem: a list from a spreadsheet may have fifty of them."""
    refs = [ref for ref, _line in unwired]
    shown = ", ".join(refs[:NAMED]) + (" …" if len(refs) > NAMED else "")
    sentence = ngettext(
        "%(refs)s is not wired yet. Join its ends, or delete it from the list.",
        "%(refs)s are not wired yet. Join their ends, or delete them from the list.",
        len(refs),
    )
    return CircuitProblem(unwired[0][1], sentence % {"refs": shown})


def _problem(error: ChecksError, line: int, refuses: bool = True, more: str = "") -> CircuitProblem:
    message = " ".join(filter(None, (circuit_message(error), more)))
    return CircuitProblem(line, message, refuses, may_stay=error.code == "loose-end")


def _line(error: ChecksError, at: dict) -> int:
    return at.get(error.params.get("ref"), 0)


def _lost_controls(guide: GuideRows, parts) -> list[CircuitProblem]:
    """Settings of controls that are gone or were renamed since: the figures are computed without them."""
    kinds = {part.ref: part.kind for part in parts}
    return [
        CircuitProblem(
            0, _("Stage %(stage)s: %(key)s %(problem)s") % {"stage": stage["key"], "key": key, "problem": message}
        )
        for stage in guide.stages
        for key, message in settings_rules(stage.get("settings") or {}, kinds)
    ]


def _heaters(guide: GuideRows, parts, at: dict) -> list[CircuitProblem]:
    """Heaters more than a tenth off their rating, at full mains, in the powered stage with the fewest parts left out
    (whatever that stage itself is supplied through: the kit is there for the mains)."""
    return [
        CircuitProblem(at.get(h.ref, 0), heater_warning(h.ref, h.volts, h.rated), refuses=False, holds=h.is_far)
        for h in _at_full_mains(heaters_off_rating, guide, parts)
    ]


def _misused(guide: GuideRows, parts, at: dict) -> list[CircuitProblem]:
    """Regulators that do not regulate and semiconductors the wrong way round, in that same stage."""
    return [
        CircuitProblem(at.get(r.params["ref"], 0), remark_sentence(r.as_dict()), refuses=False, holds=True)
        for r in _at_full_mains(devices_misused, guide, parts)
    ]


def _at_full_mains(judge, guide: GuideRows, parts) -> list:
    """What `judge` (parts, condition) names in the powered stage with the fewest parts left out, at full mains."""
    powered = [s for s in guide.stages if s.get("power") == "on"]
    if not powered:
        return []
    stage = min(powered, key=lambda s: (len(s.get("not_fitted") or ()), bool(s.get("supply"))))
    try:
        return judge(parts, read_condition({**stage, "supply": {}}, guide.mains))
    except ChecksError:
        return []  # named already, with what it stops


def _stopped(guide: GuideRows, parts, at: dict) -> list[CircuitProblem]:
    """What the solver cannot do, with the checks it stops: it stops an import only where a check is left to the
    model."""
    stops: dict[str, list[str]] = defaultdict(list)
    order: dict[str, ChecksError] = {}
    for stage in guide.stages:
        checks = [
            c["key"] for c in stage.get("check", []) if can_compute({"black": "chassis", **c}) and left_to_model(c)
        ]
        try:
            errors = solving_errors(parts, read_condition(stage, guide.mains))
        except ChecksError as error:
            errors = [error]
        for stopping in errors:
            order.setdefault(str(stopping), stopping)
            stops[str(stopping)] += [f"{stage['key']}, {key}" for key in checks]
    return [_problem(error, _line(error, at), bool(stops[text]), _stops(stops[text])) for text, error in order.items()]


def _stops(checks: list[str]) -> str:
    if not checks:
        return ""
    named, more = "; ".join(checks[:MANY]), len(checks) - MANY
    if more <= 0:
        return _("These checks take their figures from the circuit model, which has none: %(checks)s.") % {
            "checks": named
        }
    return ngettext(
        "These checks take their figures from the circuit model, which has none: %(checks)s and %(more)s more.",
        "These checks take their figures from the circuit model, which has none: %(checks)s and %(more)s more.",
        more,
    ) % {"checks": named, "more": more}


def _probes(guide: GuideRows, parts, codes: set):
    """Checks at a node or pin that the circuit has not, and those of the model that cannot be read there."""
    nodes = {"chassis"} | {n for p in parts for n in p.nodes} | {f"{p.ref}.{pin}" for p in parts for pin in p.pins}
    nets: dict = {}
    for stage, check, line in guide.checks:
        if not can_compute({"black": "chassis", **check}):
            continue
        model = left_to_model(check)
        wrong = _unknown_place(check, nodes if model else nodes | {*guide.points})
        if not wrong and model and not codes:
            if stage["key"] not in nets:
                nets[stage["key"]] = _network(parts, stage, guide.mains)
            wrong = _unread(check, nets[stage["key"]])
        if wrong:
            names = {"stage": stage["key"], "check": check["key"], "problem": wrong}
            sentence = _("Stage %(stage)s, check %(check)s: %(problem)s") % names
            yield CircuitProblem(line, sentence, model, f"{stage['key']}/{check['key']}")


def _unknown_place(check, nodes) -> str:
    for end in ("red", "black"):
        place = check.get(end) or "chassis"
        if place not in nodes:
            return _("%(probe)s is “%(place)s”. That is not a node of a part or a pin of a valve here.") % {
                "probe": end,
                "place": place,
            }
    return ""


def _network(parts, stage, mains):
    try:
        return build_network(parts, read_condition(stage, mains))
    except ChecksError:
        return None  # named already, with what it stops


def _unread(check, net) -> str:
    """Why the model cannot read a check at all; what only solving tells is left to the computation."""
    reason = (
        why_unpredicted(as_probe((check["red"], check.get("black") or "chassis", check["measure"])), net)
        if net
        else None
    )
    if not reason:
        return ""
    return _("It takes its figure from the circuit model, which has none. %(reason)s") % {
        "reason": remark_sentence(reason.as_dict())
    }


def list_rows(guide, mains: dict | None = None) -> GuideRows:
    """A revision's rows, which know no lines."""
    stages = [
        {
            "key": s.key,
            "power": s.power,
            "not_fitted": s.not_fitted,
            "supply": s.supply,
            "settings": s.settings,
            "check": [
                {name: getattr(c, name) for name in ("key", "measure", "red", "black", "expected")}
                for c in s.checks.all()
            ],
        }
        for s in guide.stages
    ]
    return GuideRows(
        [build_mapping(part) for part in guide.parts.values()],
        [0] * len(guide.parts),
        stages,
        [0] * sum(len(s["check"]) for s in stages),
        tuple(guide.probes.points),
        mains,
    )


def list_problems(guide, mains: dict | None = None) -> list[CircuitProblem]:
    """The problems of a guide's rows."""
    return find_circuit_problems(list_rows(guide, mains))
