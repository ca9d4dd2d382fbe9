"""The sentence for an error of checks/: what is wrong, then what is accepted."""

import logging
from collections.abc import Callable

from django.utils.translation import gettext as _

from builds.ui.errors import SiteError
from builds.ui.formatting import listed, short_number
from builds.ui.messages.own_faults import own_fault_message
from builds.ui.messages.tone import tone_message
from checks.errors import ChecksError
from checks.mains import SUPPLIES


def _unreadable(p: dict) -> str:
    accepted = _accepted(p["wanted"])
    if not p["culprit"]:
        return _("“%(typed)s” cannot be read: it is incomplete. %(accepted)s") % {**p, "accepted": accepted}
    if p["column"] == 1:
        return _("“%(typed)s” cannot be read. %(accepted)s") % {**p, "accepted": accepted}
    return _("“%(typed)s” cannot be read: “%(culprit)s” at position %(column)s is not accepted. %(accepted)s") % {
        **p,
        "accepted": accepted,
    }


def _unit(p: dict) -> str:
    if "given" in p:
        return _("“%(typed)s” is in %(given)s, but this is measured in %(wanted)s. Check the meter’s function.") % p
    return _("“%(word)s” is not a unit of this check. %(accepted)s") % {**p, "accepted": _accepted(p["wanted"])}


def _thousands(p: dict) -> str:
    digits = p["typed"]
    return _("“%(typed)s” could be %(whole)s or %(part)s. Type it without the comma, or with a point.") % {
        "typed": digits,
        "whole": digits.replace(",", ""),
        "part": digits.replace(",", "."),
    }


def _accepted(unit: str) -> str:
    return _("Type a reading such as %(examples)s.") % {"examples": _EXAMPLES.get(unit, lambda: "285, 4k7")()}


_EXAMPLES = {
    "V": lambda: _("285, 285 V, −7.3 or OL"),
    "Ω": lambda: _("470, 4k7, 2M2 or OL"),
    "A": lambda: _("45 mA or 0.045"),
    "F": lambda: _("47u, 100n or 22p"),
    "Hz": lambda: _("50 or 1.0 kHz"),
    "°C": lambda: _("41 or 41.5"),
    "W": lambda: _("5 or 250 mW"),
    "H": lambda: _("10 or 5 H"),
}

MESSAGES: dict[str, Callable[[dict], str]] = {
    "empty": lambda p: _("Nothing was typed. %(accepted)s") % {"accepted": _accepted(p["wanted"])},
    "unreadable": _unreadable,
    "unit": _unit,
    "thousands": _thousands,
    "kind-unit": lambda p: _("AC and DC apply to volts or amps, not to %(given)s.") % p,
    "prefix": lambda p: _("“%(typed)s” cannot be read: %(given)s takes no prefix.") % p,
    "size": lambda p: (
        _("That is too large to be a reading. Check the prefix.")
        if p["large"]
        else _("That is too small to be a reading. Check the prefix.")
    ),
    "tolerance": lambda p: _("“%(typed)s” is not a tolerance. Write 5%%, −20/+50%% or a letter such as J.") % p,
    "which-unit": lambda p: (
        _("Choose the unit as the meter shows it: %(units)s.") % {"units": listed(p["units"], alternatives=True)}
    ),
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
    "not-shown": lambda p: (
        _(
            "Not saved: a meter does not show “%(typed)s” here. Switch off if you are not sure what it shows. Then "
            "type the figure and the unit as the meter shows them."
        )
        % p
    ),
    "range": lambda p: _(
        "Over range on Ω or kΩ only shows that it is more than that range. Choose the meter’s highest range (MΩ) and "
        "measure again."
    ),
    "digits": lambda p: _(
        "Your meter shows more digits, and they matter. Type all of them, for example 0.3 and not 0."
    ),
    "swapped": lambda p: _(
        "A minus sign on a good battery means that the probes are the wrong way round. Swap them and measure again."
    ),
    "lone-one": lambda p: _(
        "A 1 alone at the left of the display means over range, as OL does. Choose a higher range and measure again. "
        "If the meter does show one, type every digit: 1.00."
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
            "A temperature below zero: the probe’s plug may be the wrong way round. Turn it round and measure again."
        )
        if p["function"] == "temperature"
        else _(
            "Ohms below zero: a charged capacitor, or the leads’ zero is off. Switch off, unplug, discharge the "
            "capacitors, short the probes to set zero, and measure again."
        )
    ),
    "no-tap": lambda p: (
        _(
            "This kit cannot be used on %(supply)s V mains: its transformer is made for %(taps)s. The wrong mains "
            "destroys its parts."
        )
        % {
            "supply": short_number(p["supply"]),
            "taps": listed([f"{short_number(tap)} V" for tap in p["taps"]], alternatives=True),
        }
    ),
}


MESSAGES |= {
    "upside-down": lambda p: (
        _("The lower limit of the band, %(low)s, is above its upper limit, %(high)s.")
        % {"low": short_number(p["low"]), "high": short_number(p["high"])}
    ),
    "outside": lambda p: (
        _("The expected value %(expected)s is outside its own band.") % {"expected": short_number(p["expected"])}
    ),
    "stop-inside": lambda p: (
        (
            _("The upper stop limit, %(limit)s, is inside the band, which ends at %(end)s.")
            if p["above"]
            else _("The lower stop limit, %(limit)s, is inside the band, which begins at %(end)s.")
        )
        % {"limit": short_number(p["limit"]), "end": short_number(p["end"])}
    ),
    "ways": lambda p: (
        _("Give both a lower and an upper limit.")
        if p["pair"]
        else _(
            "Give the band in one way: ± about the expected value, a lower and an upper limit, at least, or at most."
        )
    ),
    "open": lambda p: (
        _("“Open” can only be combined with “at least”.")
        if p["alone"]
        else _("“Open” is for resistance, continuity and isolation.")
    ),
    "over": lambda p: _("A figure of the guide cannot be over range. Use “at least”."),
    "missing": lambda p: _("A ± band needs an expected value."),
    "no-width": lambda p: _("A percentage of zero gives a band of zero width. Give an amount, such as 50 mV."),
    "accuracy": lambda p: _("The accuracy must be zero or more."),
    "meter-load": lambda p: _("Give either the meter’s input resistance or its ohms per volt."),
    "meter-ohms": lambda p: _("The meter’s resistance must be above zero."),
    "meter-hertz": lambda p: _(
        "The highest frequency of a meter’s AC volts is 40 Hz or more. Enter it in hertz, for example 1000."
    ),
    "meter-range": lambda p: _("A range must be above zero volts."),
    "meter-ranges": lambda p: _(
        "A meter given by ohms per volt needs its voltage ranges, for example 10, 50, 250, 1000."
    ),
    "supply": lambda p: (
        _("There is no mains supply of %(supply)s V. Choose one of %(supplies)s V.")
        % {"supply": short_number(p["supply"]), "supplies": ", ".join(map(str, sorted(SUPPLIES)))}
    ),
    "mains": lambda p: _("The mains voltage must be from 50 V to 300 V."),
    "hertz": lambda p: _("The mains frequency must be 50 Hz or 60 Hz."),
    "measure": lambda p: _("A meter does not measure “%(measure)s” here.") % p,
    "unreal": lambda p: _("A figure here is too large or too small to calculate with."),
    "valve-figures": lambda p: _(
        "The figures for the valves in this build are still being worked out. Wait a minute, then enter the reading "
        "again."
    ),
}
# Codes whose sentence needs no figures.
WITHOUT = (
    "range",
    "digits",
    "swapped",
    "lone-one",
    "over",
    "missing",
    "no-width",
    "meter-load",
    "meter-ohms",
    "meter-hertz",
    "meter-range",
    "meter-ranges",
    "mains",
    "hertz",
    "unreal",
    "valve-figures",
)
log = logging.getLogger(__name__)


def message_for(error: ChecksError) -> str:
    """In the reader's language. The developers' text is never shown: a code without a sentence goes to the log."""
    if isinstance(error, SiteError):
        return str(error)
    code, params = getattr(error, "code", ""), getattr(error, "params", {})
    make = MESSAGES.get(code) if params or code in WITHOUT else None
    message = make(params) if make else tone_message(error) or own_fault_message(code, params)
    if message is None:
        log.warning("no sentence for the error %r: %s", code, error)
    return message or _("A value here cannot be used. Check what you entered.")
