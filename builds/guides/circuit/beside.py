"""A guide's own figures beside the circuit model's, in words."""
from dataclasses import dataclass

from builds.guides.circuit.stored import attach
from checks.errors import ChecksError
from checks.quantity import format_quantity, parse_quantity

WORTH_SAYING = 0.05  # of the model's figure, from which a difference is remarked on


@dataclass(frozen=True)
class Beside:
    """One check: its model figure (or None and why), what the guide says, and where they part."""

    check: object
    model: dict | None
    reason: str
    guide: float | None
    prototype: float | None

    @property
    def apart(self) -> list[str]:
        """"prototype 285 V, model 301 V: 5 %" for each of the guide's figures that differs enough."""
        if not self.model:
            return []
        pairs = (("guide", self.guide), ("prototype", self.prototype))
        said = [difference(name, value, self.model["value"], self.check.unit) for name, value in pairs if value is not None]
        return [words for words in said if words]

    @property
    def outside(self) -> bool:
        """Does the guide's own figure lie outside what good builds read?"""
        return bool(self.model and self.guide is not None and not self.model["low"] <= self.guide <= self.model["high"])


def difference(name: str, value: float, model: float, unit: str) -> str:
    """Words when two figures differ by more than a twentieth; empty otherwise."""
    if not model or abs(value - model) < WORTH_SAYING * abs(model):
        return ""
    share = 100 * abs(value - model) / abs(model)
    return f"{name} {format_quantity(value, unit)}, model {format_quantity(model, unit)}: {share:.0f} %"


def beside(revision, guide, detail: dict) -> list[tuple]:
    """[(stage, [Beside])] of every check the circuit has something to say about."""
    found = []
    for stage in guide.stages:
        rows = [_row(stage, check, detail["checks"].get(f"{stage.key}/{check.key}")) for check in stage.checks.all()]
        rows = [row for row in rows if row]
        if rows:
            found.append((stage, rows))
    return found


def of_check(check, detail: dict | None) -> Beside | None:
    """The same of one check."""
    return _row(check.stage, check, (detail or {"checks": {}})["checks"].get(f"{check.stage.key}/{check.key}"))


def _row(stage, check, figure) -> Beside | None:
    if figure is None:
        return None
    has = "value" in figure
    return Beside(check, figure if has else None, figure.get("reason", ""), _figure(check.expected, check.unit),
                  _figure(check.prototype, check.unit))


def _figure(text: str, unit: str) -> float | None:
    try:
        return parse_quantity(text, unit).value if text.strip() and text.strip().lower() != "model" else None
    except ChecksError:
        return None


def attach_all(revision, guide) -> None:
    """Give every check of a guide its model figure at once."""
    attach(revision, [check for stage in guide.stages for check in stage.checks.all()])


def over_limits(stresses: list[dict]) -> list[dict]:
    """Each part's worst stress of each kind that is over its limit, in the parts list's order."""
    worst = {}
    for stress in stresses:
        key = (stress["ref"], stress["what"])
        if stress["over"] and (key not in worst or stress["value"] > worst[key]["value"]):
            worst[key] = stress
    return list(worst.values())
