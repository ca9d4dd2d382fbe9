"""Chips of the designer's pages: each value has a word, a symbol and a colour together, here alone."""

from django import template
from django.utils.translation import gettext_lazy as _

from builds.bench.models import Snag
from builds.review.problems.state import ProblemState
from checks.statistics.difference import Change

register = template.Library()
CHIP = "review/_chip.html"
STATES = {
    ProblemState.OPEN: ("o-close", "○"),
    ProblemState.CAUSE_FOUND: ("", "◐"),
    ProblemState.CHANGE_PLANNED: ("", "✎"),
    ProblemState.ANSWERED: ("o-in", "✓"),
    ProblemState.DEFERRED: ("", "…"),
    ProblemState.NO_CHANGE: ("", "–"),
    ProblemState.CLOSED: ("o-in", "✓"),
}
SEVERITIES = {
    Snag.Severity.DANGER: ("o-out", "✗", _("danger")),
    Snag.Severity.STOPPED: ("o-close", "≈", _("stopped")),
    Snag.Severity.SLOWED: ("", "", _("slowed")),
    Snag.Severity.COSMETIC: ("", "", _("cosmetic")),
}
STAGES = {
    "done": ("✓", _("done")),
    "open": ("○", _("open")),
    "shut": ("⊘", _("locked")),
    "halted": ("⊘", _("halted")),
}
DIFFERENCES = {
    Change.BETTER: ("o-in", "✓", _("better")),
    Change.WORSE: ("o-out", "✗", _("worse")),
    Change.ALIKE: ("", "=", _("little changed")),
    Change.UNKNOWN: ("", "≈", _("too few builds to say")),
}
CRITERIA = {
    True: ("o-in", "✓", _("met")),
    False: ("o-out", "✗", _("not met")),
    None: ("o-close", "≈", _("not known yet")),
}


def _chip(css: str, symbol: str, label) -> dict:
    return {"css": css, "symbol": symbol, "label": label}


@register.inclusion_tag(CHIP)
def state_chip(state):
    """The state of a problem (ProblemState)."""
    state = ProblemState(state)
    return _chip(*STATES[state], state.label)


@register.filter
def state_label(state):
    return ProblemState(state).label


@register.inclusion_tag(CHIP)
def severity_chip(snag):
    return _chip(*SEVERITIES.get(snag.severity, ("", "", snag.severity)))


@register.inclusion_tag(CHIP)
def difference_chip(difference):
    """A share before and after (checks.statistics.difference.Difference)."""
    return _chip(*DIFFERENCES[difference.verdict])


@register.inclusion_tag(CHIP)
def criterion_chip(met):
    """True, False, or None while it is not known."""
    return _chip(*CRITERIA[met])


@register.inclusion_tag("review/_stage_mark.html")
def stage_mark(state):
    symbol, label = STAGES.get(state, ("○", state))
    return {"symbol": symbol, "label": label}
