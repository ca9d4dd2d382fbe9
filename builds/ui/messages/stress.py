"""What a part is stressed by, and what a figure scatters with, in the reader's language."""

from django.utils.translation import gettext as _
from django.utils.translation import pgettext

_STRESSES = {
    "anode dissipation": lambda: pgettext("stress", "anode dissipation"),
    "anode voltage": lambda: pgettext("stress", "anode voltage"),
    "cathode current": lambda: pgettext("stress", "cathode current"),
    "screen dissipation": lambda: pgettext("stress", "screen dissipation"),
    "screen voltage": lambda: pgettext("stress", "screen voltage"),
    "heater to cathode": lambda: pgettext("stress", "heater to cathode"),
    "mean current": lambda: pgettext("stress", "mean current"),
    "peak inverse voltage": lambda: pgettext("stress", "peak inverse voltage"),
    "reverse voltage": lambda: pgettext("stress", "reverse voltage"),
    "supply voltage": lambda: pgettext("stress", "supply voltage"),
    "input voltage": lambda: pgettext("stress", "input voltage"),
    "output current": lambda: pgettext("stress", "output current"),
    "dissipation": lambda: pgettext("stress", "dissipation"),
    "voltage": lambda: pgettext("stress", "voltage"),
    "current": lambda: pgettext("stress", "current"),
}
# The ends of a parameter's name; before them stands a winding or a section of a valve. The longer ones first.
_SCATTER = {
    "open-loop gain": lambda: _("open-loop gain"),
    "leakage henries": lambda: pgettext("scatter", "leakage inductance"),
    "base volts": lambda: _("base–emitter voltage"),
    "screen share": lambda: pgettext("tolerance", "screen current"),
    "heater amps": lambda: _("heater current"),
    "transconductance": lambda: _("transconductance"),
    "amplification": lambda: _("amplification factor"),
    "capacitances": lambda: pgettext("scatter", "capacitances"),
    "threshold": lambda: _("threshold voltage"),
    "strength": lambda: pgettext("tolerance", "anode current"),
    "contact": lambda: _("grid contact potential"),
    "leakage": lambda: _("leakage current"),
    "henries": lambda: _("inductance"),
    "farads": lambda: _("capacitance"),
    "offset": lambda: pgettext("scatter", "offset"),
    "value": lambda: pgettext("scatter", "value"),
    "level": lambda: pgettext("scatter", "level"),
    "volts": lambda: pgettext("scatter", "voltage"),
    "ohms": lambda: pgettext("scatter", "resistance"),
    "drop": lambda: _("forward voltage"),
    "gain": lambda: _("current gain"),
}


def stress_label(what: str) -> str:
    """ "anode dissipation a" with its section after it; hands back what it does not know."""
    name = next((known for known in _STRESSES if what == known or what.startswith(f"{known} ")), None)
    return f"{_STRESSES[name]()}{what.removeprefix(name)}" if name else what


def scatter_label(what: str) -> str:
    """ "ht volts" as "ht voltage": the winding or section stays; hands back what it does not know."""
    name = next((known for known in _SCATTER if what == known or what.endswith(f" {known}")), None)
    return f"{what.removesuffix(name)}{_SCATTER[name]()}" if name else what
