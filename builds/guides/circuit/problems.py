"""What is wrong with a guide as a circuit, each with the line of its part or check, and whether it holds an import
up."""

import re
from collections import defaultdict
from dataclasses import dataclass

from builds.guides.circuit.content import can_compute
from builds.guides.circuit.specs import mapping_of
from builds.guides.control_settings import settings_rules
from checks.circuit import condition_of, part_from_mapping, parts_list_errors, parts_list_warnings, solving_errors
from checks.circuit.assemble.network import network_of
from checks.circuit.prediction.probes import probe_of, why_not
from checks.errors import ChecksError

MANY = 4  # checks named one by one in a trouble


@dataclass(frozen=True)
class Told:
    """One trouble of a circuit; `refuses` when a check that is left to the model cannot do with it."""

    line: int
    words: str
    refuses: bool = True


@dataclass(frozen=True)
class Written:
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


def circuit_troubles(guide: Written) -> list[Told]:
    """Everything wrong. Parts that cannot be read come first; only a list without such is looked at as a circuit."""
    parts, wrong = [], []
    for mapping, line in zip(guide.parts, guide.part_lines, strict=True):
        try:
            parts.append(part_from_mapping(mapping, line or None))
        except ChecksError as error:
            wrong.append(Told(line, str(error)))
    if wrong:
        return wrong
    at = {part.ref: part.line or 0 for part in parts}
    slipped = parts_list_errors(parts, guide.named)
    found = [Told(_line(error, at), str(error)) for error in slipped]
    found += [Told(_line(error, at), str(error), False) for error in parts_list_warnings(parts)]
    if not any(error.code in ("shorted", "live", "island") for error in slipped):
        found += _stopped(guide, parts, at)
    found += _lost_controls(guide, parts)
    return found + list(_probes(guide, parts, {e.code for e in slipped}))


def _line(error, at: dict) -> int:
    return at.get(re.split(r"[ :]", str(error))[0], 0)


def _lost_controls(guide: Written, parts) -> list[Told]:
    """Settings of controls that are gone or were renamed since: the figures are computed without them."""
    kinds = {part.ref: part.kind for part in parts}
    return [
        Told(0, f"Stage {stage['key']}: {key} {message}")
        for stage in guide.stages
        for key, message in settings_rules(stage.get("settings") or {}, kinds)
    ]


def _stopped(guide: Written, parts, at: dict) -> list[Told]:
    """What the solver cannot do, with the checks it stops: it holds up an import only where a check is left to the
    model."""
    stops, order = defaultdict(list), {}
    for stage in guide.stages:
        checks = [
            c["key"] for c in stage.get("check", []) if can_compute({"black": "chassis", **c}) and left_to_model(c)
        ]
        try:
            errors = solving_errors(parts, condition_of(stage, guide.mains))
        except ChecksError as error:
            errors = [error]
        for error in errors:
            order.setdefault(str(error), error)
            stops[str(error)] += [f"{stage['key']}, {key}" for key in checks]
    return [Told(_line(error, at), words + _stops(stops[words]), bool(stops[words])) for words, error in order.items()]


def _stops(checks: list[str]) -> str:
    if not checks:
        return ""
    more = f" and {len(checks) - MANY} more" if len(checks) > MANY else ""
    return f" That stops the checks left to the model: {'; '.join(checks[:MANY])}{more}."


def _probes(guide: Written, parts, slipped: set):
    """Checks at a node or pin that the circuit has not, and those of the model that cannot be read there."""
    nodes = {"chassis"} | {n for p in parts for n in p.nodes} | {f"{p.ref}.{pin}" for p in parts for pin in p.pins}
    nets = {}
    for stage, check, line in guide.checks:
        if not can_compute({"black": "chassis", **check}):
            continue
        model = left_to_model(check)
        wrong = _nowhere(check, nodes if model else nodes | {*guide.points})
        if not wrong and model and not slipped:
            if stage["key"] not in nets:
                nets[stage["key"]] = _network(parts, stage, guide.mains)
            wrong = _unread(check, nets[stage["key"]])
        if wrong:
            yield Told(line, f"Stage {stage['key']}, check {check['key']}: {wrong}", model)


def _nowhere(check, nodes) -> str:
    ends = ((end, check.get(end) or "chassis") for end in ("red", "black"))
    return next(
        (
            f"{end} is “{place}”, which is no node of a part and no pin of a valve here."
            for end, place in ends
            if place not in nodes
        ),
        "",
    )


def _network(parts, stage, mains):
    try:
        return network_of(parts, condition_of(stage, mains))
    except ChecksError:
        return None  # told already, with what it stops


def _unread(check, net) -> str:
    """Why the model cannot read a check at all; what only solving tells is left to the computation."""
    reason = why_not(probe_of((check["red"], check.get("black") or "chassis", check["measure"])), net) if net else ""
    return f"it is left to the circuit model, which cannot read it: {reason}." if reason else ""


def written(guide, mains: dict | None = None) -> Written:
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
    return Written(
        [mapping_of(part) for part in guide.parts.values()],
        [0] * len(guide.parts),
        stages,
        [0] * sum(len(s["check"]) for s in stages),
        tuple(guide.probes.points),
        mains,
    )


def troubles_of(guide, mains: dict | None = None) -> list[Told]:
    """The same of a guide's rows."""
    return circuit_troubles(written(guide, mains))
