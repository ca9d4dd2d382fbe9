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
    "output power": lambda: pgettext("measure", "output power"),
    "gain": lambda: pgettext("measure", "gain"),
    "input sensitivity": lambda: pgettext("measure", "input sensitivity"),
    "input impedance": lambda: pgettext("measure", "input impedance"),
    "output impedance": lambda: pgettext("measure", "output impedance"),
    "damping factor": lambda: pgettext("measure", "damping factor"),
    "below full output": lambda: pgettext("measure", "level below full output"),
    "channel difference": lambda: pgettext("measure", "channel difference"),
    "lower band edge": lambda: pgettext("measure", "lower band edge"),
    "upper band edge": lambda: pgettext("measure", "upper band edge"),
    "output volts": lambda: pgettext("measure", "output volts, recorded"),
    "distortion": lambda: pgettext("measure", "total harmonic distortion"),
    "distortion less 2nd": lambda: pgettext("measure", "distortion without the second harmonic"),
    "distortion and noise": lambda: pgettext("measure", "distortion and noise"),
    "second harmonic": lambda: pgettext("measure", "second harmonic"),
    "third harmonic": lambda: pgettext("measure", "third harmonic"),
    "hum volts": lambda: pgettext("measure", "hum"),
    "noise volts": lambda: pgettext("measure", "noise, unweighted"),
    "weighted noise": lambda: pgettext("measure", "noise, A-weighted"),
    "intermodulation": lambda: pgettext("measure", "intermodulation"),
}
assert set(_LABELS) == set(MEASURES)


def measure_label(code: str) -> str:
    """A measure as the trade writes it, in the reader's language."""
    return _LABELS[code]()
