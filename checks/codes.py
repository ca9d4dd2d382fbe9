"""Preferred values (IEC 60063) and the colour and letter codes of parts (IEC 60062)."""

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from checks.errors import CallerError, ChecksError
from checks.finite import finite_arguments, refuse_unreal
from checks.quantity import Quantity, parse_quantity

_E24 = (
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.6,
    1.8,
    2.0,
    2.2,
    2.4,
    2.7,
    3.0,
    3.3,
    3.6,
    3.9,
    4.3,
    4.7,
    5.1,
    5.6,
    6.2,
    6.8,
    7.5,
    8.2,
    9.1,
)


def series(name: str) -> tuple[float, ...]:
    """The values of one decade, 1.0 up to below 10. Raises ChecksError for a series IEC 60063 does not have.

    E3 to E24 are thinned from E24; E48, E96 and E192 are 10^(k/n) to three figures, but for 9.20 in E192.
    """
    steps = {"E3": 8, "E6": 4, "E12": 2, "E24": 1}.get(name)
    if steps:
        return _E24[::steps]
    if name not in ("E48", "E96", "E192"):
        raise CallerError(
            f"There is no series {name}; there are E3, E6, E12, E24, E48, E96 and E192.", argument="series"
        )
    n = int(name[1:])
    values = [round(10 ** (k / n), 2) for k in range(n)]
    return tuple(9.20 if v == 9.19 and name == "E192" else v for v in values)


def _split(value: float) -> tuple[float, int]:
    if not (math.isfinite(value) and value > 0):
        raise CallerError("A preferred value lies above zero.", argument="value")
    power = math.floor(math.log10(value) + 1e-12)
    return value / 10.0**power, power


def neighbours(value: float, name: str) -> tuple[float, float]:
    """The preferred values at or below and at or above `value`."""
    digit, power = _split(value)
    ladder = [series(name)[-1] / 10, *series(name), 10.0]
    below = max(v for v in ladder if v <= digit * (1 + 1e-9))
    above = min(v for v in ladder if v >= digit * (1 - 1e-9))
    return _tidy(below, power), _tidy(above, power)


def _tidy(digit: float, power: int) -> float:
    return float(f"{digit:.3g}e{power}")


def nearest(value: float, name: str) -> float:
    """The preferred value nearest to `value` as a ratio."""
    return min(neighbours(value, name), key=lambda v: abs(math.log(v / value)))


COLOURS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
MULTIPLIERS = {c: n for n, c in enumerate(COLOURS)} | {"gold": -1, "silver": -2, "pink": -3}
TOLERANCES = {
    "brown": 1,
    "red": 2,
    "orange": 0.05,
    "yellow": 0.02,
    "green": 0.5,
    "blue": 0.25,
    "violet": 0.1,
    "grey": 0.01,
    "gold": 5,
    "silver": 10,
}
TCR = {
    "black": 250,
    "brown": 100,
    "red": 50,
    "orange": 15,
    "yellow": 25,
    "green": 20,
    "blue": 10,
    "violet": 5,
    "grey": 1,
}


@finite_arguments
def colour_bands(ohms: float, tolerance_percent: float, bands: int = 4, tcr: float | None = None) -> tuple[str, ...]:
    """Colours of a resistor, three to six bands; the sixth is the temperature coefficient in ppm/K.

    Raises ChecksError when the value needs more digits than that, or no colour stands for the tolerance or coefficient.
    """
    if not 3 <= bands <= 6:
        raise CallerError("A resistor has three to six colour bands.", argument="bands")
    digits = 3 if bands >= 5 else 2
    figure, power = _split(ohms)
    number = round(figure * 10 ** (digits - 1))
    if not math.isclose(number * 10.0 ** (power - digits + 1), ohms, rel_tol=1e-6):
        raise CallerError(f"{ohms:g} Ω cannot be said in {bands} bands.", argument="ohms")
    colours = tuple(COLOURS[int(d)] for d in str(number))
    colours += (
        _match_colour(power - digits + 1, MULTIPLIERS, f"{ohms:g} Ω is outside what colour bands can say.", "ohms"),
    )
    if bands == 3:
        return colours
    colours += (
        _match_colour(
            tolerance_percent, TOLERANCES, f"No colour stands for ±{tolerance_percent:g} %.", "tolerance_percent"
        ),
    )
    if bands < 6:
        return colours
    return (*colours, _match_colour(tcr, TCR, "Six bands need a temperature coefficient that has a colour.", "tcr"))


def _match_colour(value, table: dict, message: str, argument: str) -> str:
    match = next((colour for colour, means in table.items() if value is not None and math.isclose(means, value)), None)
    if match is None:
        raise CallerError(message, argument=argument)
    return match


@dataclass(frozen=True)
class Decoded:
    """Ohms, tolerance in per cent (20 for three bands), temperature coefficient in ppm/K or None."""

    ohms: float
    tolerance: float
    tcr: float | None = None

    def __post_init__(self):
        refuse_unreal(self, "ohms", "tolerance", "tcr", least=0)


def decode_colours(bands) -> Decoded:
    """Read three to six bands. Raises ChecksError naming the band that cannot be."""
    bands = tuple(b.strip().lower() for b in bands)
    if not 3 <= len(bands) <= 6:
        raise CallerError("A resistor has three to six colour bands.", argument="bands")
    count = 2 if len(bands) <= 4 else 3
    digits = "".join(str(_look_up(_digit, b, "digit")) for b in bands[:count])
    if int(digits) == 0 and len(bands) > 3:
        raise CallerError("The first bands are all black: a zero-ohm link has one black band.", argument="bands")
    power = _look_up(MULTIPLIERS.get, bands[count], "multiplier")
    tolerance = 20.0 if len(bands) == 3 else _look_up(TOLERANCES.get, bands[count + 1], "tolerance")
    tcr = _look_up(TCR.get, bands[5], "temperature coefficient") if len(bands) == 6 else None
    return Decoded(float(f"{digits}e{power}"), tolerance, tcr)


def _digit(colour):
    return COLOURS.index(colour) if colour in COLOURS else None


def _look_up(table, colour, what):
    value = table(colour)
    if value is None:
        raise CallerError(f"{colour} is not a {what} colour.", argument="bands")
    return value


CAPACITOR_LETTERS = {"p": -12, "n": -9, "u": -6, "m": -3, "F": 0}  # "u" for the sign µ, which few keyboards have
TOLERANCE_LETTERS = {
    "E": 0.005,
    "L": 0.01,
    "P": 0.02,
    "W": 0.05,
    "B": 0.1,
    "C": 0.25,
    "D": 0.5,
    "F": 1,
    "G": 2,
    "H": 3,
    "J": 5,
    "K": 10,
    "M": 20,
    "N": 30,
}


@finite_arguments
def capacitor_letter_code(farads: float) -> str:
    """A capacitance as an IEC 60062 letter code with up to four figures: 4.7e-9 -> 4n7."""
    figure, letters = float(f"{farads:.4g}"), CAPACITOR_LETTERS.items()
    letter, power = max(((k, p) for k, p in letters if p == -12 or figure >= 10.0**p), key=lambda pair: pair[1])
    whole, _, part = f"{figure / 10.0**power:.4f}".rstrip("0").partition(".")
    return f"{'' if whole == '0' and part else whole}{letter}{part}"


@finite_arguments
def three_digit_code(farads: float) -> str:
    """A capacitance as two figures and the number of noughts behind them, in picofarads: 100n -> 104. Below 10 pF the
    third digit is 9, for a tenth (common practice). Raises ChecksError for what three digits cannot say."""
    figure, power = _split(farads * 1e12)
    number, noughts = round(figure * 10), power - 1
    if not (-1 <= noughts <= 7 and math.isclose(number * 10.0**noughts, farads * 1e12, rel_tol=1e-6)):
        raise CallerError(f"{farads:g} F cannot be said in three digits.", argument="farads")
    return f"{number}{9 if noughts < 0 else noughts}"


_CODED_VOLTS = re.compile(r"(\d+)V(\d+)")


def parse_part_value(text: str, unit: str) -> Quantity:
    """As `parse_quantity`; of volts also with the V for the point, as zener diodes bear it: 5V6 (common practice)."""
    coded = _CODED_VOLTS.fullmatch(str(text).strip()) if unit == "V" else None
    return parse_quantity(f"{coded[1]}.{coded[2]}" if coded else text, unit)


class Slip(StrEnum):
    """How colour bands are misread."""

    DECADE = "decade"
    COLOUR = "colour"
    WRONG_END = "wrong end"


@dataclass(frozen=True)
class Misreading:
    """A wrong value somebody may take a resistor for, how, and a relative weight. `colours`: the band's own and the one
    it is taken for, where the slip is of a colour."""

    ohms: float
    slip: Slip
    weight: float
    colours: tuple[str, ...] = ()

    def __post_init__(self):
        refuse_unreal(self, "ohms", "weight", least=0)


# Pairs of colours that are confused under lamp light (common practice), with how easily.
CONFUSED = {
    ("red", "orange"): 3,
    ("brown", "red"): 3,
    ("red", "violet"): 1,
    ("blue", "violet"): 2,
    ("blue", "black"): 1,
    ("green", "blue"): 2,
    ("grey", "white"): 2,
    ("brown", "black"): 2,
    ("orange", "brown"): 2,
    ("yellow", "gold"): 1,
    ("grey", "silver"): 1,
    ("orange", "yellow"): 1,
}


def misreadings(bands) -> tuple[Misreading, ...]:
    """What these bands may be taken for, likeliest first: a decade slip, a confused colour, read from the wrong end."""
    bands = tuple(bands)
    true = decode_colours(bands).ohms
    by_ohms: dict[float, Misreading] = {}
    for other, slip, weight, *colours in _variants(bands):
        try:
            ohms = decode_colours(other).ohms
        except ChecksError:
            continue
        if not math.isclose(ohms, true) and (ohms not in by_ohms or by_ohms[ohms].weight < weight):
            by_ohms[ohms] = Misreading(ohms, slip, weight, tuple(colours))
    return tuple(sorted(by_ohms.values(), key=lambda m: -m.weight))


def _variants(bands):
    place = len(bands) - 2 if len(bands) > 3 else 2
    for shift in (-1, 1):
        power = MULTIPLIERS[bands[place]] + shift
        colour = next((c for c, p in MULTIPLIERS.items() if p == power), None)
        if colour:
            yield (*bands[:place], colour, *bands[place + 1 :]), Slip.DECADE, 4
    for index, colour in enumerate(bands[: place + 1]):
        for pair, weight in CONFUSED.items():
            if colour in pair:
                other = pair[1 - pair.index(colour)]
                yield (*bands[:index], other, *bands[index + 1 :]), Slip.COLOUR, weight, colour, other
    yield bands[::-1], Slip.WRONG_END, 2
