"""The sentence for an error of checks/: what is wrong, then what is accepted."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from checks.errors import ChecksError

MESSAGES: dict[str, Callable[[dict], str]] = {
    "which-unit": lambda p: _("Choose the unit as the meter shows it: %(units)s.") % {"units": _listed(p["units"])},
    "units-differ": lambda p: (
        _("You typed “%(typed)s” and chose %(pressed)s. Look at the meter, then type the figure and choose its unit.")
        % p
    ),
    "milli": lambda p: (
        _(
            "“%(typed)s” could be milliohms or megohms. Choose the unit that the meter shows. "
            "Type milliohms as ohms: 0.35 for 350 mΩ."
        )
        % p
    ),
    "range": lambda p: _(
        "Over range on Ω or kΩ only shows that it is more than that range. Choose the meter’s highest range (MΩ) and "
        "measure again."
    ),
    "digits": lambda p: _(
        "Your meter shows more digits, and they decide. Type all of them, for example 0.3 and not 0."
    ),
    "coded": lambda p: _("Type the figure as the meter shows it, for example 0.22 and not 0R22."),
    "kind": lambda p: (
        _("This check is read on DC. Set the meter to DC volts and measure again.")
        if p["wanted"] == "dc"
        else _("This check is read on AC. Set the meter to AC volts and measure again.")
    ),
    "negative": lambda p: (
        _("AC volts and hertz have no minus sign. Check the meter’s function and measure again.")
        if p["function"] in ("ac volts", "frequency")
        else _(
            "Ohms below zero: a charged capacitor, or the leads’ zero is off. Switch off, unplug, discharge the "
            "capacitors, short the probes to set zero, and measure again."
        )
    ),
    "no-tap": lambda p: (
        _(
            "This kit cannot be used on %(supply)g V mains: its transformer is made for %(taps)s. The wrong mains "
            "destroys its parts."
        )
        % {"supply": p["supply"], "taps": _listed([f"{tap:g} V" for tap in p["taps"]])}
    ),
}


def message_for(error: ChecksError) -> str:
    """In the reader's language, where the code is known; else the developers' own text."""
    make = MESSAGES.get(error.code)
    return make(error.params) if make else str(error)


def _listed(items) -> str:
    *most, last = items
    return _("%(most)s or %(last)s") % {"most": ", ".join(most), "last": last} if most else str(last)
