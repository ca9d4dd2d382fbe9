"""Labels and classes of the builder's pages."""

from json import dumps

from django import template

from builds.bench.offline import judging
from builds.ui.formatting import format_figure
from builds.ui.messages import bench as texts
from builds.ui.messages.colours import colour_name
from builds.ui.messages.derived import derived_label, derived_text
from builds.ui.templatetags.formatting import scale
from checks.derived import LimitOutcome

register = template.Library()


@register.filter
def power_label(stage):
    """The power state of a stage: "Power on, without V1, V2"."""
    return texts.power_label(stage.is_powered, stage.not_fitted)


@register.filter
def judge_key(form):
    """Which of the phone's tables judges what is typed here; empty for a form of no check."""
    context = getattr(form, "context", None)
    return judging.make_key(context) if context else ""


@register.filter
def stop_rules(form):
    """What the phone knows a stop by on a line of a worksheet, as JSON; empty where there is no stop limit."""
    rules = judging.stop_rules(form.context)
    return dumps(rules) if rules else ""


@register.filter
def safe_key(build):
    """Which of the phone's tables judges a made-safe reading of this build."""
    return judging.safe_key(build)


@register.filter
def typed_limits(check):
    """A check's figures as its designer typed them."""
    return texts.typed_limits(check)


@register.filter
def caution_titles(cautions):
    """The titles of cautions (accounts.cautions.cautions_for) in one line."""
    return " · ".join(str(title) for _key, title, _words in cautions)


@register.filter
def part_label(part):
    """A line of the parts list in words."""
    return texts.part_label(part)


@register.filter
def colour_names(names):
    """The bands of a resistor in the reader's language: "brown, green, red, gold"."""
    return ", ".join(map(colour_name, names))


@register.inclusion_tag("drawings/_scale.html")
def reading_scale(reading, band, check):
    """A reading on its band as it was judged. A stop is drawn where the meter read it, before any correction."""
    value = reading.value if reading.is_stop and not check.through else reading.true_value
    return scale(
        low=reading.low,
        high=reading.high,
        value=value,
        u=reading.u,
        expected=reading.expected,
        stop_above=band.stop_above if band else None,
        stop_below=band.stop_below if band else None,
        unit=check.unit,
        outcome=reading.outcome,
    )


DERIVED_CSS = {
    LimitOutcome.OVER: "o-out",
    LimitOutcome.TOO_CLOSE: "o-close",
    LimitOutcome.CANNOT_TELL: "o-close",
}
register.filter("derived_label", derived_label)
register.filter("derived_text", derived_text)


@register.filter
def derived_css(row):
    """The class of a derived figure against its limit; empty within it."""
    return DERIVED_CSS.get(row.outcome, "")


@register.filter
def derived_limit(row):
    """How a derived figure stands to its limit, with its symbol: "✓ within 12 W"."""
    return texts.derived_limit(row.outcome, format_figure(row.limit, row.unit))
