"""Names and sentences of recordings."""

from django import template
from django.utils.translation import gettext as _

from builds.bench.models import Recording
from builds.ui.formatting import format_figure, listed, on_one_line, short_number
from builds.ui.messages.errors import message_for
from builds.ui.messages.recordings import SIGNAL_LABELS
from checks.errors import ChecksError

register = template.Library()


@register.filter
def signal_name(plan) -> str:
    """A test signal by kind and frequency, from a SignalPlan or its table."""
    table = plan if isinstance(plan, dict) else {"signal": str(plan.signal), "hertz": plan.hertz}
    label = str(SIGNAL_LABELS[table["signal"]])
    if not table["hertz"]:
        return label.capitalize()
    figures = [on_one_line(format_figure(f, "Hz")) for f in table["hertz"]]
    if table["signal"] == "sweep":
        return _("Sweep, %(low)s to %(high)s") % {"low": figures[0], "high": figures[1]}
    hertz = listed(figures)
    return _("%(signal)s, %(hertz)s") % {"signal": label.capitalize(), "hertz": hertz}


@register.filter
def sample_rate(hertz: int) -> str:
    return f"{short_number(hertz / 1000)} kHz"


@register.filter
def refusal(recording: Recording) -> str:
    """Why it cannot be measured."""
    return _sentence(recording.error)


@register.filter
def unanswered(recording: Recording) -> list[tuple[str, str]]:
    """The checks that got no figure of it, by title, and why."""
    refused = (recording.error or {}).get("checks", {})
    if not refused or not recording.stage:
        return []
    titles = {check.key: check.title for check in recording.stage.checks.all()}
    return [(titles.get(key, key), _sentence(error)) for key, error in refused.items()]


def _sentence(error: dict) -> str:
    return message_for(ChecksError(error["code"], code=error["code"], **error["params"]))
