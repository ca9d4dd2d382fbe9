"""A guide's own figures beside the circuit model's, in words."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.guides.figures import designers_band, is_model, load_factor
from builds.guides.models import Check
from builds.ui.formatting import format_figure
from builds.ui.messages.circuit import remark_sentence
from checks.band import Band
from checks.errors import ChecksError
from checks.quantity import format_typed, parse_quantity

WORTH_SHOWING = 0.05  # of the model's figure, from which a difference is remarked on
EDGE = 0.02  # of the model's figure, by which a band may cut into good builds unremarked


@dataclass(frozen=True)
class ModelComparison:
    """One check: its model figure (or None and why), what the guide says, and where they part."""

    check: Check
    model: dict | None
    reason: str
    guide: float | None
    prototype: float | None
    band: Band | None = None  # the guide's own

    @property
    def guide_text(self) -> str:
        """What the guide itself expects, short: a figure, or the limit where it has only that."""
        check, unit = self.check, self.check.unit
        if check.is_left_to_model:
            return _("model")
        if check.expected:
            return as_written(check.expected, unit)
        if check.at_least or check.at_most:
            return f"≥ {as_written(check.at_least, unit)}" if check.at_least else f"≤ {as_written(check.at_most, unit)}"
        ends = {"low": as_written(check.low, unit), "high": as_written(check.high, unit)}
        return _("%(low)s to %(high)s") % ends if check.low else "–"

    @property
    def good_text(self) -> str:
        return self._span("low", "high")

    @property
    def worst_text(self) -> str:
        return self._span("worst_low", "worst_high")

    def _span(self, low: str, high: str) -> str:
        """ "109 Ω to 131 Ω", or the one figure where nothing scatters."""
        figures = self.model or {}
        ends = [format_figure(figures[end], self.check.unit) for end in (low, high)]
        return ends[0] if ends[0] == ends[1] else _("%(low)s to %(high)s") % {"low": ends[0], "high": ends[1]}

    @property
    def apart(self) -> list[str]:
        """ "prototype 285 V, model 301 V: 5 %" for each of the guide's figures that differs enough."""
        if not self.model:
            return []
        pairs = ((_("guide"), self.guide), (_("prototype"), self.prototype))
        gaps = [
            difference(name, value, self.model["value"], self.check.unit) for name, value in pairs if value is not None
        ]
        return [sentence for sentence in gaps if sentence]

    @property
    def cuts(self) -> list[str]:
        """Where the guide's own band leaves out good builds, in words."""
        if not self.model or not self.band:
            return []
        edge, unit = EDGE * abs(self.model["value"]), self.check.unit
        low, high, sentences = self.band.low, self.band.high, []
        if low is not None and self.model["low"] < low - edge:
            ends = {"read": format_figure(self.model["low"], unit), "band": format_figure(low, unit)}
            sentences.append(_("good builds read down to %(read)s, the band begins at %(band)s") % ends)
        if high is not None and self.model["high"] > high + edge:
            ends = {"read": format_figure(self.model["high"], unit), "band": format_figure(high, unit)}
            sentences.append(_("good builds read up to %(read)s, the band ends at %(band)s") % ends)
        return sentences

    @property
    def differs(self) -> bool:
        """Does the guide's own figure or band disagree with the circuit?"""
        return bool(self.outside or self.apart or self.cuts)

    @property
    def outside(self) -> bool:
        """Does the guide's own figure lie outside what good builds read?"""
        return bool(self.model and self.guide is not None and not self.model["low"] <= self.guide <= self.model["high"])


def as_written(text: str, unit: str) -> str:
    """What a guide says, with its own digits but as the circuit's figures are written: "1k5" is "1.5 kΩ"."""
    try:
        return format_typed(parse_quantity(text, unit)).replace("-", "−")
    except ChecksError:
        return text


def difference(name: str, value: float, model: float, unit: str) -> str:
    """Words when two figures differ by more than a twentieth; empty otherwise."""
    if not model or abs(value - model) < WORTH_SHOWING * abs(model):
        return ""
    share = 100 * abs(value - model) / abs(model)
    figures = {"value": format_figure(value, unit), "model": format_figure(model, unit), "share": round(share)}
    return _("%(name)s %(value)s, model %(model)s: %(share)d %%") % (figures | {"name": name})


@dataclass(frozen=True)
class StageComparison:
    stage: object
    rows: tuple[ModelComparison, ...]

    @property
    def is_outside(self) -> bool:
        """Does a figure of the guide lie outside what good builds read?"""
        return any(row.outside for row in self.rows)

    @property
    def differing(self) -> tuple[ModelComparison, ...]:
        """Checks whose own figures or band disagree with the circuit."""
        return tuple(row for row in self.rows if row.differs)

    @property
    def agreeing(self) -> tuple[ModelComparison, ...]:
        return tuple(row for row in self.rows if not row.differs)


def compare_stages(revision, guide, detail: dict) -> list[StageComparison]:
    """Every check the circuit has something to say about, by stage."""
    stages = []
    for stage in guide.stages:
        compared = (
            _row(stage, check, detail["checks"].get(f"{stage.key}/{check.key}")) for check in stage.checks.all()
        )
        rows = [row for row in compared if row]
        if rows:
            stages.append(StageComparison(stage, tuple(rows)))
    return stages


def compare_check(check, detail: dict | None) -> ModelComparison | None:
    """The same of one check."""
    return _row(check.stage, check, (detail or {"checks": {}})["checks"].get(f"{check.stage.key}/{check.key}"))


def _row(stage, check, figure) -> ModelComparison | None:
    if figure is None:
        return None
    has = "value" in figure
    return ModelComparison(
        check,
        figure | {"notes": [remark_sentence(note) for note in figure.get("notes", [])]} if has else None,
        remark_sentence(figure.get("reason", "")),
        _figure(check.expected, check),
        _figure(check.prototype, check),
        _own_band(check),
    )


def _own_band(check) -> Band | None:
    try:
        return None if is_model(check) else designers_band(check)
    except ChecksError:
        return None


def _figure(text: str, check) -> float | None:
    """Without the load of the meter that it was read with."""
    try:
        value = parse_quantity(text, check.unit).value if text.strip() and text.strip().lower() != "model" else None
        return None if value is None else value * load_factor(check)
    except ChecksError:
        return None
