"""What a builder types beside a unit button: the unit, the sign, and what cannot be told apart and must be asked.

No doubt about an entry ever turns into a pass: where it can be read in two ways that would be judged differently, it is
refused with a question (ChecksError, codes "which-unit", "units-differ", "milli", "range", "digits", "lone-one",
"negative", "kind", "coded", "not-shown").
"""

import math
import re
from collections.abc import Callable
from dataclasses import replace

from checks.band import Band
from checks.errors import ChecksError
from checks.measures import Measure, find_measure
from checks.meter import Measurement, MeterSpec
from checks.outcomes import OFF, Outcome
from checks.quantity import PREFIXES, Quantity, parse_quantity, too_large, too_small

SHOWN = {"Ω": ("Ω", "kΩ", "MΩ"), "V": ("V", "mV")}  # units that meters show, the plain one first
LARGEST_SHOWN = {"Ω": 60e6, "V": 1500.0}  # a hand-held meter shows no more than this (common practice)
INSULATION_TESTER = 4e9  # Ω; simple ones show no more (common practice)
LEADS = 1.0  # Ω; an ohmmeter shows no less than this below zero but where it sees a voltage (common practice)
MOST_MILLIVOLTS = 2.0  # V; simple meters' highest millivolt range, which shows 1320 for 1.32 V (common practice)
DIVIDED = 1.5  # times the band's own limit, a reading through a divider that could still be good
VOLTS_PREFIXES = (None, 0, -3)  # powers of ten that a meter shows volts in; kV and µV where both letters are typed
BEST_OHMS = 0.1  # its last digit of ohms; milliohms typed finer are the test leads' (common practice)
MEGOHM_LOOKALIKE = 0.1  # Ω; as megohms the same figure, 100 and more, is beyond LARGEST_SHOWN
_KIND = re.compile(r"\s*(?:[AaDd][Cc]|~)$")
_BARE = re.compile(r"[-+−–]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][-+]?\d{1,2})?")


def in_unit(text: str, shown: str) -> str:
    """The entry with the unit its meter showed, before an AC or DC; an entry that says its own unit, or is in the plain
    one, stays as it is. However the number is written: nothing that reads as one may go without its unit."""
    if shown in ("", "Ω", "V"):
        return text
    try:
        quantity = parse_quantity(text)
    except ChecksError:
        return text
    if quantity.power is not None or quantity.over_range:
        return text
    number = _KIND.sub("", str(text).strip())
    return f"{number} {shown} {quantity.kind}".strip()


def with_unit(text: str, unit: str) -> str:
    """A stored entry for reading: "12" -> "12 V"; one that says its own unit stays as it is."""
    bare = str(text).strip()
    return f"{bare} {unit}" if unit and _BARE.fullmatch(bare) else str(text)


def unit_for(low: float | None, high: float | None, unit: str) -> str:
    """The unit button that is pressed beforehand; empty where the builder must look at the meter.

    Volts are, for a band with two ends above zero: there the same digits in millivolts would be a coincidence. Nowhere
    else: -30 mV is a lost bias of -30 V, 250 mV a dead supply where "at least 200 V" is wanted. Nor where a meter shows
    a good reading in millivolts: 45.5 mV across 1 Ω are 45.5 mA, and 45.5 V a stop. Ohms never: a 100 Ω resistor in the
    place of a 100 kΩ one is one colour ring, and shows the same digits.
    """
    if unit != "V" or low is None or high is None or not 0 < low <= high < math.inf:
        return ""
    return "V" if high > MOST_MILLIVOLTS else ""


def choose_unit(typed: str, pressed: str, unit: str, band: Band | None, beforehand: str = "") -> str:
    """The entry in the unit that the builder pressed, complete in itself. Raises ChecksError for what cannot be read.

    Without a unit, or with one that differs from the button pressed, it is asked for (codes "which-unit",
    "units-differ"); not where every reading of it is past a stop limit, which nothing may delay.
    """
    quantity = parse_quantity(typed, unit)
    if unit not in SHOWN:
        return typed
    if quantity.power is None:
        return _bare_in_unit(typed, pressed or beforehand, quantity, unit, band)
    power = _power(pressed or unit)
    if pressed and pressed != beforehand and power != quantity.power:
        other = replace(quantity, value=_scaled(quantity.value, power - quantity.power))
        if not (_stops(quantity, band) and _stops(other, band)):
            raise ChecksError(
                f"“{typed.strip()}” and the button {pressed} differ.",
                argument="unit",
                code="units-differ",
                typed=typed.strip(),
                pressed=pressed,
            )
    return typed


def _bare_in_unit(typed: str, pressed: str, quantity: Quantity, unit: str, band: Band | None) -> str:
    if pressed:
        return f"{typed.strip()} {pressed}" if quantity.over_range and unit == "Ω" else in_unit(typed, pressed)
    units = SHOWN[unit]
    if quantity.over_range:
        asks = unit == "Ω" and (band is None or band.high is None)  # over the range of which unit?
    else:
        asks = not all(_stops(replace(quantity, value=_scaled(quantity.value, _power(shown))), band) for shown in units)
    if asks:
        raise ChecksError("Choose the unit that the meter shows.", argument="unit", code="which-unit", units=units)
    return typed


def _power(shown: str) -> int:
    return PREFIXES[shown[:-1]]


def _scaled(value: float | None, power: int) -> float | None:
    return None if value is None else value * 10.0**power


def _stops(quantity: Quantity, band: Band | None) -> bool:
    return band is not None and quantity.value is not None and band.stops(quantity.value)


def parse_reading(text: str, unit: str, function: str, band: Band | None = None) -> Quantity:
    """What a meter showed on `function`. Raises ChecksError as parse_quantity does, and for what no meter shows there.

    Alternating volts have no sign. AC is not DC. A lower-case m beside Ω is how phones write the M of an open circuit.
    """
    quantity, measured = parse_quantity(text, unit), find_measure(function)
    if _is_below_zero(quantity, measured):
        raise ChecksError(
            f"{function} does not go below zero.", argument="text", code="negative", function=function, typed=text
        )
    if quantity.kind and quantity.kind != measured.kind:
        raise ChecksError(
            f"“{text.strip()}” is {quantity.kind.upper()}.", argument="text", code="kind", wanted=measured.kind
        )
    if measured.is_ohms:
        return _ohms_shown(quantity, text, band)
    if not quantity.over_range and _is_in_no_meters_unit(quantity, text, band):
        raise ChecksError("No meter shows that unit here.", argument="text", code="not-shown", typed=text.strip())
    return quantity


def _is_in_no_meters_unit(quantity: Quantity, text: str, band: Band | None) -> bool:
    """Was a letter typed that no meter shows beside this figure? "25 K" is no volts and "450 n" is none either: read as
    typed, one orders a switch-off that nothing calls for and the other passes a live capacitor as discharged. Volts
    past a stop limit, with the letter and without, are a stop whatever it means."""
    power = quantity.power
    if quantity.unit != "V" or power is None or power in VOLTS_PREFIXES:
        return quantity.unit == "Hz" and power is not None and power < 0
    if _stops(quantity, band) and _stops(replace(quantity, value=_scaled(quantity.value, -power)), band):
        return False
    is_named = "v" in text.lower() and power in (3, -6)
    return not is_named or abs(quantity.number) > most_volts(band)


def most_volts(band: Band | None) -> float:
    """The highest volts that a good reading of this check could be typed as: through a divider, more than a hand-held
    meter shows."""
    ends = (band.low, band.high) if band else ()
    wanted = max((abs(end) for end in ends if end is not None), default=0.0)
    return max(LARGEST_SHOWN["V"], wanted * DIVIDED)


def _is_below_zero(quantity: Quantity, measured: Measure) -> bool:
    """Has it a sign where none can be? Ohms clearly below zero are a reading, never a good one: they tell of a charged
    capacitor. A little below zero are the leads' own, nulled too far."""
    if measured.is_signed:
        return False
    least = -LEADS if measured.is_ohms else -math.inf
    return quantity.is_below or least <= (quantity.value or 0.0) < 0


def _ohms_shown(quantity: Quantity, text: str, band: Band | None) -> Quantity:
    if quantity.over_range:
        if quantity.power is not None and quantity.power < 6 and (band is None or band.high is None):
            raise ChecksError("Over a range below the highest.", argument="text", code="range")
        return quantity
    if quantity.is_coded and quantity.power == 0:
        raise ChecksError("Letters are for parts.", argument="text", code="coded", value=quantity.value)
    if quantity.power is not None and quantity.power < -3:  # no meter shows microhms: "30u" is a slip for 30 M
        raise too_small()
    if quantity.power == -3:
        written_out = quantity.unit and not text.strip().endswith("m") and is_in_milliohms(band)
        if not written_out or quantity.number < MEGOHM_LOOKALIKE:
            raise ChecksError("A lower-case m with ohms.", argument="text", code="milli", typed=text.strip())
        return replace(quantity, resolution=max(quantity.resolution or 0.0, BEST_OHMS))
    return quantity


def is_in_milliohms(band: Band | None) -> bool:
    """Does a good reading lie below one ohm?"""
    return band is not None and band.high is not None and 0 < band.high < 1


def refuse_missing_digits(measured: Measurement, band: Band | None) -> None:
    """Raises ChecksError (code "digits") for a reading in band whose last digit is worth more than the band is wide:
    the meter shows more digits, and they decide."""
    if band is None or measured.value is None:
        return
    least = 0.0 if band.by_size else band.low
    is_coarse = band.high is not None and least is not None and measured.step > band.high - least
    if is_coarse and band.contains(measured.value):
        raise ChecksError("Digits are missing.", argument="text", code="digits")


def refuse_more_than_shown(quantity: Quantity, band: Band | None, outcome: Outcome) -> None:
    """Raises ChecksError (code "size") for volts that would pass and that no hand-held meter shows. Phones write a
    capital M: 250 mV of a dead supply come as "250 MV", which is at least 200 V. `band` is in what the meter shows; a
    guide that wants more volts has its builders read them through a divider, and type them as they are."""
    if quantity.unit != "V" or quantity.value is None or outcome in OFF:
        return
    volts = abs(quantity.value)
    if volts > LARGEST_SHOWN["V"] and volts > most_volts(band):
        raise too_large()


def refuse_lone_one(quantity: Quantity, meter: MeterSpec | None, outcome: Outcome | None = None) -> None:
    """Raises ChecksError (code "lone-one") for a 1 without another digit that would pass. Digital meters of 2000 and of
    20000 counts show a 1 at the left when over range, and 1.00 for one (common practice): an open bond, a live
    reservoir. A needle may stand on 1."""
    is_digital = meter is None or meter.kind == "digital"
    would_pass = outcome in (None, Outcome.IN_BAND, Outcome.TOO_CLOSE)
    if quantity.is_lone_one and quantity.unit in SHOWN and is_digital and would_pass:
        raise ChecksError("A 1 alone is over range.", argument="text", code="lone-one")


def thousand_slip(quantity: Quantity, is_in: Callable[[Quantity], bool]) -> Quantity | None:
    """The reading that was probably meant, a thousandth of what was typed, where the meter cannot have shown this and
    that one would be in band (`is_in`). For a reading that is out; never of a stop.

    A figure that a meter can show is a plausible fault (a dead supply, a wrong part, an open circuit) and is never
    questioned.
    """
    if quantity.over_range or abs(quantity.number) <= LARGEST_SHOWN.get(quantity.unit, math.inf):
        return None
    meant = replace(quantity, value=quantity.number / 1e3, resolution=(quantity.resolution or 0.0) / 1e3)
    return meant if is_in(meant) else None


def unit_slips(quantity: Quantity) -> tuple[Quantity, ...]:
    """The readings that were probably meant where ohms would pass that no hand-held meter can show: 470 kΩ across an
    insulation, entered as 470 MΩ or as 470000 MΩ. An insulation tester shows them, so that this is asked about and not
    refused."""
    if quantity.unit != "Ω" or quantity.over_range or abs(quantity.number) <= LARGEST_SHOWN["Ω"]:
        return ()
    step = quantity.resolution or 0.0
    too_many = (1e3, 1e6) if abs(quantity.number) > INSULATION_TESTER else (1e3,)
    return tuple(replace(quantity, value=quantity.number / by, resolution=step / by) for by in too_many)
