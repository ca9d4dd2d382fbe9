"""How each outcome of a reading is shown: a symbol and a class beside its name, never colour alone."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from django.utils.translation import get_language, pgettext

from checks.outcomes import Outcome


@dataclass(frozen=True)
class OutcomeStyle:
    css: str
    symbol: str
    mark: str  # the shape it has in plots


STYLES: dict[str, OutcomeStyle] = {
    Outcome.IN_BAND: OutcomeStyle("o-in", "✓", "dot"),
    Outcome.TOO_CLOSE: OutcomeStyle("o-close", "≈", "diamond"),
    Outcome.OUT_OF_BAND: OutcomeStyle("o-out", "✗", "cross"),
    Outcome.SWITCH_OFF: OutcomeStyle("o-off", "■", "square"),
}
NOT_READ = OutcomeStyle("o-none", "–", "dot")
# Where a check stands whose reading was in band until a valve, the mains or the guide was changed: no outcome of a
# reading.
OUTDATED = "outdated"
STYLES[OUTDATED] = OutcomeStyle("o-close", "↻", "triangle")


def find_style(outcome: str) -> OutcomeStyle:
    """The style of an outcome as a row stores it; of a check not read yet where it is empty."""
    return STYLES.get(outcome, NOT_READ)


def outcome_label(outcome: str) -> str:
    """In the reader's language."""
    return _label(outcome, get_language())


@lru_cache(maxsize=64)
def _label(outcome: str, _language: str | None) -> str:
    make = _LABELS.get(outcome)
    return make() if make else pgettext("outcome", "not yet read")


_LABELS: dict[str, Callable[[], str]] = {
    Outcome.IN_BAND: lambda: pgettext("outcome", "in band"),
    Outcome.TOO_CLOSE: lambda: pgettext("outcome", "too close to call"),
    Outcome.OUT_OF_BAND: lambda: pgettext("outcome", "out of band"),
    Outcome.SWITCH_OFF: lambda: pgettext("outcome", "switch off"),
    OUTDATED: lambda: pgettext("outcome", "out of date"),
}
