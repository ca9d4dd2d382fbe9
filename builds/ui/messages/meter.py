"""What the self-check of a meter says, and what common meters are called."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext

from builds.ui.formatting import format_figure, percent
from builds.ui.messages.outcomes import STYLES, OutcomeStyle
from checks.outcomes import Outcome
from checks.selfcheck import Trim

PRESET_NAMES = {  # of checks.meter.PRESETS
    "handheld": gettext_lazy("A hand-held digital meter, ±0.5 % on DC volts, 10 MΩ"),
    "basic": gettext_lazy("A simple digital meter, ±1 % on DC volts, 1 MΩ"),
    "analogue": gettext_lazy("A moving-coil meter, 20 kΩ per volt"),
}
_LABELS = {
    Trim.IN_TRIM: lambda: pgettext("meter", "reads right"),
    Trim.TOO_CLOSE: lambda: pgettext("meter", "cannot tell"),
    Trim.OUT_OF_TRIM: lambda: pgettext("meter", "reads wrong"),
}


_STYLES = {
    Trim.IN_TRIM: STYLES[Outcome.IN_BAND],
    Trim.TOO_CLOSE: STYLES[Outcome.TOO_CLOSE],
    Trim.OUT_OF_TRIM: STYLES[Outcome.OUT_OF_BAND],
}


def trim_style(trim: str) -> OutcomeStyle:
    return _STYLES[Trim(trim)]


def trim_label(trim: str) -> str:
    return _LABELS[Trim(trim)]()


def trim_text(trim: str, params: dict, unit: str) -> str:
    """`params` as a row keeps them (checks.selfcheck.SelfCheck): value, true, off, allowed; all may be missing."""
    if params.get("off") is None:
        return _(
            "Over range on a good part: a broken lead, the wrong range or function, or a blown fuse "
            "in the meter. Correct this before you continue."
        )
    figures = {
        "value": format_figure(params["value"], unit, 4),
        "true": format_figure(params["true"], unit),
        "off": percent(abs(params["off"]), 1),
    }
    if trim == Trim.IN_TRIM:
        return _("%(value)s on a part of %(true)s. Your meter reads right here.") % figures
    deviation = (
        _("%(value)s on a part of %(true)s: %(off)s high.")
        if params["off"] > 0
        else _("%(value)s on a part of %(true)s: %(off)s low.")
    ) % figures
    if trim == Trim.TOO_CLOSE:
        return f"{deviation} {_tolerance()}"
    return " ".join([deviation, *_allowed(params, unit), _next_action()])


def _tolerance() -> str:
    return _("The tolerance of the part may explain it; your meter may read right or be a little off.")


def _allowed(params: dict, unit: str) -> list[str]:
    if params.get("allowed") is None:
        return []
    allowed = format_figure(params["allowed"], unit, 2)
    return [
        _("Your meter’s accuracy allows %(allowed)s, and the tolerance of the part does not explain the rest.")
        % {"allowed": allowed}
    ]


def _next_action() -> str:
    return _(
        "Put a fresh battery into the meter, clean the leads and try again. If that does not help, use another meter "
        "or ask the designer."
    )
