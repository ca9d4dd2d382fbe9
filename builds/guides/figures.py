"""The guide's figures as typed, turned into bands and points that can be judged."""

from dataclasses import replace
from functools import lru_cache

from django.utils.translation import gettext as _

from builds.guides.circuit.stored import find_figure
from builds.guides.corrected import standing
from builds.guides.guide_cache import load_guide
from builds.guides.models import Check
from builds.guides.rated_stops import limits_at, with_rated_stops
from builds.ui.errors import SiteError
from builds.ui.formatting import format_figure
from builds.ui.moments import format_day
from checks.band import Band, parse_band
from checks.circuit import StopLimits
from checks.errors import ChecksError
from checks.quantity import format_quantity, parse_quantity

FIGURES = ("band", "low", "high", "at_least", "at_most", "stop_above", "stop_below")


def is_model(check: Check) -> bool:
    """Is the expected value left to the circuit model?"""
    own = check if hasattr(check, "guide") else standing(check)
    return own.is_left_to_model


def band_for(check: Check) -> Band | None:
    """The check's band at the guide's mains voltage; None where its figures say none, or contradict each other.

    A powered check without a stop limit has those its parts are rated for. An issued guide's are worked out once.
    Where an erratum corrected the figures, the corrected ones are meant, here and in all that follows.
    """
    guide = getattr(check, "guide", None)
    if guide is None:
        check = standing(check)
        guide = getattr(check, "guide", None)
    if guide is None or check.stage.revision.issued_at is None:
        return _band_now(check)
    if ("band", check.pk) not in guide.memo:
        guide.memo["band", check.pk] = _band_now(check)
    return guide.memo["band", check.pk]


def _band_now(check: Check) -> Band | None:
    try:
        return with_rated_stops(designers_band(check), check.measure, find_rated_limits(check))
    except ChecksError:
        return None


def designers_band(check: Check) -> Band | None:
    """The band that the designer's figures give, or the model's where they are left to it.

    Left to the model, the middle is the model's, and so is the band unless the designer gave one. Raises ChecksError
    when the figures contradict each other (the editor and import refuse those; issuing does for the model's).
    """
    check = standing(check)
    figures = {name: getattr(check, name) for name in FIGURES}
    band = read_band(check.unit, check.expected, figures, find_figure(check) if is_model(check) else None)
    return without_meter(band, load_factor(check))


def load_factor(check: Check) -> float:
    """How many times what the designer's own meter showed a point holds without it; 1 for figures that no meter read,
    and where nobody knows what feeds the point."""
    if not check.read_with or is_model(check):
        return 1.0
    return 1 + (source_ohms(check) or 0.0) / parse_quantity(check.read_with, "Ω").number


def without_meter(band: Band | None, factor: float) -> Band | None:
    """A band as read with a meter, with that meter's load taken off: limits, expected value and stop limits."""
    if band is None or factor == 1:
        return band
    names = ("low", "high", "expected", "stop_below", "stop_above")
    return replace(band, **{name: value * factor for name in names if (value := getattr(band, name)) is not None})


def read_band(unit: str, expected: str, figures: dict[str, str], model: dict | None) -> Band | None:
    """The same from a check's figures as typed, with the model's figure where they are left to it and it has one."""
    says = any(figures[k] for k in ("band", "low", "high", "at_least", "at_most"))
    if expected.strip().lower() != "model":
        if not expected and not says:
            return None
        if not expected:
            figures = figures | {"band": ""}
        return _band(unit, expected, tuple(sorted(figures.items())))
    if model is None:
        figures = figures | {"band": ""}
        limits = any(figures[k] for k in ("low", "high", "at_least", "at_most"))
        return _band(unit, "", tuple(sorted(figures.items()))) if limits else None
    return _from_model(unit, model, figures, says)


def find_rated_limits(check: Check) -> StopLimits | None:
    """The limits that parts set for a check; None where its designer does, or it is read without power. A lower limit
    alone leaves the upper one to the parts: nothing may rise without end."""
    check = standing(check)
    if check.pk is None or not check.stage.is_powered or check.stop_above:
        return None
    guide = check.guide if hasattr(check, "guide") else load_guide(check.stage.revision)
    limits = limits_at(guide, check)
    return StopLimits(limits.above, None) if check.stop_below else limits


def _from_model(unit: str, figure: dict, figures: dict, says: bool) -> Band:
    if says:
        expected = format_quantity(figure["value"], unit, 6) if figure["value"] else f"0 {unit}"
        return _band(unit, expected, tuple(sorted(figures.items())))
    low, high = model_limits(figure, unit)
    below, above = (stop_figure(figures[name], unit) for name in ("stop_below", "stop_above"))
    value = 0.0 if abs(figure["value"]) < SOLVERS_ZERO else figure["value"]
    return Band(low, high, value, below, above)


def model_limits(figure: dict, unit: str) -> tuple[float, float]:
    """The model's 95 % band. Where a point tied to chassis scatters by nothing, or by a solver's last digits, what a
    meter shows of zero is allowed."""
    low, high = figure["low"], figure["high"]
    least = NOTHING[unit]
    is_zero = unit != "Ω" and max(abs(low), abs(high)) < least / 10
    return (low - least, high + least) if is_zero or not high > low else (low, high)


SOLVERS_ZERO = 1e-9  # what a solver leaves of zero
NOTHING = {"V": 0.05, "Ω": 0.5, "A": 1e-4}  # read as zero (common practice: leads and offsets)


def stop_figure(text: str, unit: str) -> float | None:
    """A stop limit as typed; None where there is none. Raises ChecksError for one that says no figure."""
    if not text:
        return None
    value = parse_quantity(text, unit).value
    if value is None:
        raise SiteError(_("A stop limit is a figure, such as 400 V."), argument="stop_above", code="stop-over")
    return value


def find_exponent(check: Check) -> float:
    """How the reading goes with the mains: the designer's exponent, else the model's, else not at all."""
    if check.mains_exponent is not None:
        return check.mains_exponent
    figure = find_figure(check)
    return figure["exponent"] if figure else 0.0


MOVED, WAITING = "moved", "waiting"  # figures of a build with valves of its own


def valves_figure(state: str, is_left: bool) -> str:
    if state == WAITING:
        return _("not yet: the figures for this build’s valves are being worked out")
    if is_left:
        return _("from the circuit model, with this build’s valves")
    return _("the designer’s figure, moved by the circuit model to this build’s valves")


@lru_cache(maxsize=4096)
def _band(unit, expected, figures) -> Band:
    return parse_band(unit=unit, expected=expected, **dict(figures))


def source_ohms(check: Check) -> float | None:
    """The node's source resistance: the designer's, else the model's; None when neither is known."""
    if check.source_resistance:
        return parse_quantity(check.source_resistance, "Ω").value
    figure = find_figure(check)
    return figure["source_ohms"] if figure else None


def expected_text(check: Check) -> str:
    """Where the figure comes from, as the page says it. A check as it reads in one build says so (`of_valves`, see
    bench/valves/as_fitted.py)."""
    if of_valves := getattr(check, "of_valves", ""):
        return valves_figure(of_valves, is_model(check))
    check = standing(check)
    if check.correction is not None and not is_model(check):
        return _("the designer’s figure, corrected on %(day)s") % {"day": format_day(check.correction.at)}
    if is_model(check) or check.figure_from == Check.Figure.MODEL:
        return _("from the circuit model")
    is_prototype = check.figure_from == Check.Figure.PROTOTYPE
    if load_factor(check) != 1:
        meter = {"meter": format_figure(parse_quantity(check.read_with, "Ω").number, "Ω")}
        if is_prototype:
            return _("read on the prototype with a %(meter)s meter and corrected here for its loading") % meter
        return _("the designer’s figure, read with a %(meter)s meter and corrected here for its loading") % meter
    return _("read on the prototype") if is_prototype else _("the designer’s figure")
