"""The names of what a check measures."""

from django.utils.translation import pgettext

from checks.measures import MEASURES

_LABELS = {
    "dc volts": lambda: pgettext("measure", "DC volts"),
    "ac volts": lambda: pgettext("measure", "AC volts"),
    "resistance": lambda: pgettext("measure", "resistance"),
    "continuity": lambda: pgettext("measure", "continuity"),
    "isolation": lambda: pgettext("measure", "isolation"),
    "current": lambda: pgettext("measure", "current"),
    "temperature": lambda: pgettext("measure", "temperature"),
    "frequency": lambda: pgettext("measure", "frequency"),
}
assert set(_LABELS) == set(MEASURES)


def measure_label(code: str) -> str:
    """A measure as the trade writes it, in the reader's language."""
    return _LABELS[code]()
