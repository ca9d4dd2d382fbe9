"""Checks that are worked out from other checks' readings: which inputs each figure takes, and its value from them."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.measures import MEASURES, Source
from checks.meter import standard_uncertainty
from checks.quantity import parse_quantity, parse_tolerance
from checks.tone import volts
from checks.tone.volts import LoadedVolts, ResponsePoint

LOAD_TOLERANCE = "5%"  # of a load whose tolerance is not given (common practice for power resistors)
MOST_INPUTS = 40
# How many readings each figure is worked out from.
INPUTS = {
    "output power": (1, 1),
    "gain": (2, 2),
    "input sensitivity": (1, 1),
    "input impedance": (2, 2),
    "output impedance": (2, 2),
    "damping factor": (2, 2),
    "below full output": (2, 2),
    "channel difference": (2, 2),
    "lower band edge": (2, MOST_INPUTS),
    "upper band edge": (2, MOST_INPUTS),
}
BEHIND_PAD = ("gain", "input sensitivity")
KEYS = ("of", "load", "loads", "pad", "series", "tolerance", "hertz", "drop", "reference")


@dataclass(frozen=True)
class Formula:
    """How a figure is worked out. `of` are the keys of the checks it takes, in the order of the formula: output and
    input for a gain, hum and full output for a level, light and heavy load for an output impedance, without and
    with the resistor `series` for an input impedance.

    `loads` are ohms, one an input, None for no load; `hertz` one an input for a band edge `drop` dB below `reference`.
    `pad` is the resistor in series and the one across the input, where the source is read before them.
    """

    measure: str
    of: tuple[str, ...]
    loads: tuple[Estimate | None, ...] = ()
    hertz: tuple[float, ...] = ()
    drop: float = 3.0
    reference: float = 1000.0
    pad: tuple[Estimate, ...] = ()
    series: Estimate | None = None

    def __post_init__(self):
        if self.measure not in MEASURES or Source.FORMULA not in MEASURES[self.measure].sources:
            raise ChecksError("There is no formula.", argument="formula", code="no-formula", measure=self.measure)
        least, most = INPUTS[self.measure]
        if not least <= len(self.of) <= most or len(set(self.of)) < len(self.of):
            raise ChecksError("Another number of checks.", argument="of", code="inputs", least=least, most=most)
        if self.measure == "output power" and (len(self.loads) != 1 or self.loads[0] is None):
            raise ChecksError("A power needs its load.", argument="load", code="load")
        if self.measure in ("output impedance", "damping factor") and not self._has_two_loads():
            raise ChecksError("Two loads are needed.", argument="loads", code="two-loads")
        if (self.measure == "input impedance") != (self.series is not None):
            raise ChecksError("It needs the resistor in series.", argument="series", code="series")
        if self.measure.endswith("band edge"):
            self._check_response()
        if self.pad and (len(self.pad) != 2 or self.measure not in BEHIND_PAD):
            raise ChecksError("A pad has two resistors.", argument="pad", code="pad")

    def _has_two_loads(self) -> bool:
        if len(self.loads) != 2 or self.loads[1] is None:
            return False
        return self.loads[0] is None or self.loads[0].value > self.loads[1].value

    def _check_response(self) -> None:
        good = len(self.hertz) == len(self.of) and all(math.isfinite(f) and f > 0 for f in self.hertz)
        if not good or len(set(self.hertz)) < len(self.hertz):
            raise ChecksError("One frequency a check.", argument="hertz", code="one-frequency-each")
        if not min(self.hertz) <= self.reference <= max(self.hertz):
            raise ChecksError("The reference is outside.", argument="reference", code="reference-outside")
        if not 0.1 <= self.drop <= 20:
            raise ChecksError("A band edge lies 0.1 dB to 20 dB down.", argument="drop", code="drop")


def formula_from(measure: str, row: Mapping) -> Formula:
    """The formula that a guide's table says. Raises ChecksError with the key that is wrong."""
    for key in row:
        if key not in KEYS:
            raise ChecksError(f"“{key}” is not a key.", argument=key, code="formula-key", key=key, keys=KEYS)
    of = row.get("of", [])
    if not (isinstance(of, list | tuple) and all(isinstance(key, str) for key in of)):
        raise ChecksError("The checks are a list of keys.", argument="of", code="inputs", least=1, most=MOST_INPUTS)
    hertz, (drop,), (reference,) = (_numbers(row, key, usual) for key, usual in _NUMBERS.items())
    return Formula(measure, tuple(of), _loads(row), hertz, drop, reference, _pad(row), _series(row))


_NUMBERS: dict[str, list[float]] = {"hertz": [], "drop": [3.0], "reference": [1000.0]}


def _numbers(row: Mapping, key: str, usual: list[float]) -> tuple[float, ...]:
    value = row.get(key, usual)
    values = value if isinstance(value, list | tuple) else [value]
    if any(isinstance(v, bool) or not isinstance(v, int | float) for v in values) or len(values) != len(
        usual or values
    ):
        raise ChecksError("A number is wanted.", argument=key, code="formula-number", key=key)
    return tuple(float(v) for v in values)


def _loads(row: Mapping) -> tuple[Estimate | None, ...]:
    listed = row.get("loads", [row["load"]] if "load" in row else [])
    if not isinstance(listed, list | tuple) or not all(isinstance(text, str) for text in listed):
        raise ChecksError("Loads are written as text.", argument="loads", code="two-loads")
    tolerance = parse_tolerance(str(row.get("tolerance") or LOAD_TOLERANCE)).plus
    return tuple(_load(text, tolerance) for text in listed)


def _pad(row: Mapping) -> tuple[Estimate, ...]:
    listed = row.get("pad", [])
    if not isinstance(listed, list | tuple) or not all(isinstance(text, str) for text in listed):
        raise ChecksError("A pad is written as text.", argument="pad", code="pad")
    tolerance = parse_tolerance(str(row.get("tolerance") or LOAD_TOLERANCE)).plus
    ohms = [_load(text, tolerance) for text in listed]
    known = tuple(resistor for resistor in ohms if resistor is not None)
    if len(known) < len(ohms):
        raise ChecksError("A pad has two resistors.", argument="pad", code="pad")
    return known


def _series(row: Mapping) -> Estimate | None:
    tolerance = parse_tolerance(str(row.get("tolerance") or LOAD_TOLERANCE)).plus
    return _load(str(row.get("series") or ""), tolerance)


def _load(text: str, tolerance: float) -> Estimate | None:
    if text.strip().lower() in ("", "none", "open"):
        return None
    ohms = parse_quantity(text, "Ω").value
    if ohms is None or ohms <= 0:
        raise ChecksError("A load lies above zero.", argument="load", code="load")
    return Estimate(ohms, standard_uncertainty(ohms * tolerance))


def work_out(formula: Formula, readings: Sequence[Estimate]) -> Estimate:
    """The figure in its measure's unit, from one reading a key in `formula.of`.

    Raises ChecksError when these readings give none: volts of zero, volts that rise with the load, an edge not reached.
    """
    first = readings[0]
    if formula.measure == "output power":
        return volts.power_in_load(first, _known(formula.loads[0]))
    if formula.measure == "input impedance":
        direct, through = readings
        return volts.input_impedance(direct, through, _known(formula.series))
    if formula.measure in ("output impedance", "damping factor"):
        return _impedance(formula, readings)
    if formula.measure.endswith("band edge"):
        return _band_edge(formula, readings)
    if formula.measure in BEHIND_PAD:
        source = volts.after_pad(readings[-1], *formula.pad) if formula.pad else readings[-1]
        return source if formula.measure == "input sensitivity" else volts.gain(first, source)
    two = {
        "below full output": volts.level_below,
        "channel difference": volts.channel_difference,
    }
    return two[formula.measure](first, readings[1])


def _known(load: Estimate | None) -> Estimate:
    if load is None:
        raise ChecksError("A load is needed.", argument="load", code="load")
    return load


def _impedance(formula: Formula, readings: Sequence[Estimate]) -> Estimate:
    light, heavy = (LoadedVolts(v, load) for v, load in zip(readings, formula.loads, strict=True))
    work = volts.output_impedance if formula.measure == "output impedance" else volts.damping_from_loads
    return work(light, heavy)


def _band_edge(formula: Formula, readings: Sequence[Estimate]) -> Estimate:
    points = [ResponsePoint(f, v) for f, v in zip(formula.hertz, readings, strict=True)]
    edges = volts.band_edges(points, formula.drop, formula.reference)
    edge = edges.low if formula.measure == "lower band edge" else edges.high
    if edge is None:
        raise ChecksError("The response does not fall so far.", argument="of", code="no-edge", drop=formula.drop)
    return edge
