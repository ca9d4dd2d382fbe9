"""What a meter reading is worth: accuracy, resolution and loading, as a value with its standard uncertainty."""

import math
from dataclasses import asdict, dataclass
from functools import partial

from checks.errors import CallerError, ChecksError
from checks.finite import finite_arguments
from checks.measures import Measure, find_measure
from checks.quantity import Quantity


@dataclass(frozen=True)
class Accuracy:
    """±(percent of reading + digits); with `full_scale`, ±percent of the range's full scale."""

    percent: float
    digits: float = 0
    full_scale: bool = False

    def __post_init__(self):
        for name in ("percent", "digits"):
            value = getattr(self, name)
            if not (isinstance(value, (int, float)) and math.isfinite(value) and value >= 0):
                raise ChecksError(
                    f"Accuracy: {name} must be zero or more.", argument=name, code="accuracy", figure=name
                )


ASSUMED_AC_HERTZ = 400.0  # up to which a meter's AC accuracy holds where nobody has said (common on data sheets)
LEAST_AC_HERTZ = 40.0  # and from which (common on data sheets)
USUAL_AC_HERTZ = 1000.0  # and up to which better meters' does (common on data sheets)
CORNER = 10.0  # times that limit, where the meter is 3 dB down: one pole that costs half a per cent at the limit


@dataclass(frozen=True)
class MeterSpec:
    """A meter by its manual's accuracy page. Exactly one of input_ohms and ohms_per_volt. `ac_hertz` is the frequency
    up to which the manual states the accuracy of AC volts; None where nobody has said."""

    kind: str
    dc_volts: Accuracy
    ac_volts: Accuracy
    ohms: Accuracy
    input_ohms: float | None = None
    ohms_per_volt: float | None = None
    ranges: tuple[float, ...] = ()
    ac_hertz: float | None = None

    def __post_init__(self):
        if self.kind not in ("digital", "analogue"):
            raise CallerError("A meter is digital or analogue.", argument="kind")
        if (self.input_ohms is None) == (self.ohms_per_volt is None):
            raise ChecksError(
                "Give the input resistance or the ohms per volt of the meter, one of the two.",
                argument="input_ohms",
                code="meter-load",
            )
        ohms = self.ohms_per_volt if self.input_ohms is None else self.input_ohms
        if ohms is None or not (math.isfinite(ohms) and ohms > 0):
            raise ChecksError("The meter's resistance must be above zero.", argument="input_ohms", code="meter-ohms")
        if not all(math.isfinite(r) and r > 0 for r in self.ranges):
            raise ChecksError("A range is a number of volts above zero.", argument="ranges", code="meter-range")
        if self.ac_hertz is not None and not (math.isfinite(self.ac_hertz) and self.ac_hertz >= LEAST_AC_HERTZ):
            raise ChecksError("AC volts reach 40 Hz or more.", argument="ac_hertz", code="meter-hertz")
        if self.ohms_per_volt is not None and not self.ranges:
            raise ChecksError(
                "A meter given by ohms per volt needs its volts ranges, for example 10, 50, 250, 1000.",
                argument="ranges",
                code="meter-ranges",
            )

    def as_dict(self) -> dict:
        return asdict(self) | {"ranges": list(self.ranges)}

    @classmethod
    def from_dict(cls, figures: dict) -> "MeterSpec":
        """The inverse of as_dict. Raises ChecksError for a missing or impossible figure."""
        try:
            accuracies = {k: Accuracy(**figures[k]) for k in ("dc_volts", "ac_volts", "ohms")}
            return cls(
                figures["kind"],
                **accuracies,
                input_ohms=figures.get("input_ohms"),
                ohms_per_volt=figures.get("ohms_per_volt"),
                ranges=tuple(figures.get("ranges", ())),
                ac_hertz=figures.get("ac_hertz"),
            )
        except (KeyError, TypeError) as error:
            raise CallerError(f"This meter's figures are incomplete: {error}.", argument="meter") from error

    def range_for(self, volts: float) -> float | None:
        """The smallest range that holds the reading; the largest when none does."""
        fitting = [r for r in sorted(self.ranges) if r >= abs(volts)]
        return fitting[0] if fitting else max(self.ranges, default=None)

    def resistance_on(self, range_: float | None) -> float:
        if self.input_ohms is not None:
            return self.input_ohms
        if self.ohms_per_volt is None or range_ is None:
            raise CallerError("A meter given by ohms per volt loads by its range.", argument="range_")
        return self.ohms_per_volt * range_

    def frequency_doubt(self, hertz: float | None) -> float:
        """The share by which AC volts may be off at a frequency beyond what the manual states; 0 within it.

        Beyond it a meter falls off like one pole, or steeper, or nobody knows how; the ± is what such a pole loses.
        """
        top = self.ac_hertz or ASSUMED_AC_HERTZ
        if hertz is None or LEAST_AC_HERTZ <= hertz <= top:
            return 0.0
        beyond = hertz / (CORNER * top) if hertz > top else LEAST_AC_HERTZ / (CORNER * hertz)
        return math.hypot(1.0, beyond) - 1.0

    def find_accuracy(self, function: str) -> Accuracy:
        return self.accuracy_on(find_measure(function))

    def accuracy_on(self, measured: Measure) -> Accuracy:
        return getattr(self, measured.accuracy or "dc_volts")


# Generic hand-held meters: figures of the kind data sheets print (common practice), no particular make.
PRESETS = {
    "handheld": MeterSpec(
        "digital", Accuracy(0.5, 2), Accuracy(1.2, 5), Accuracy(0.8, 3), input_ohms=10e6, ac_hertz=1000
    ),
    "basic": MeterSpec("digital", Accuracy(1.0, 5), Accuracy(1.5, 10), Accuracy(1.5, 5), input_ohms=1e6, ac_hertz=400),
    "analogue": MeterSpec(
        "analogue",
        Accuracy(3, 0, True),
        Accuracy(4, 0, True),
        Accuracy(5),
        ohms_per_volt=20e3,
        ranges=(2.5, 10, 50, 250, 1000),
        ac_hertz=1000,
    ),
}
# What the two other functions of common meters are good for (common practice).
# Fixed part and share of the reading.
OTHER = {"temperature": (2.0, 0.01), "frequency": (0.0, 0.001)}


@dataclass(frozen=True)
class Measurement:
    """A value corrected for loading, with its standard uncertainty `u` (JCGM 100) and the raw reading, in one unit.

    `counts` is the part of the accuracy statement's ± that comes of its last digits, `share` the part that is a per
    cent; `step` is worth one of the last digit that was typed, `beyond` is the ± of a frequency that the meter's
    manual does not reach. `lightest` is the value if it was read on the meter's highest range, which loads least: of a
    meter by ohms per volt nobody knows the range. Over range: value None, `is_below` at the negative end.
    """

    value: float | None
    u: float
    raw: float | None
    loading: float = 0.0
    over_range: bool = False
    counts: float = 0.0
    share: float = 0.0
    step: float = 0.0
    is_below: bool = False
    beyond: float = 0.0
    lightest: float | None = None

    def __post_init__(self):
        if self.over_range != (self.value is None):
            raise CallerError("A measurement has a value or is over range, not both.", argument="value")
        for name in ("value", "u", "raw", "loading", "counts", "share", "step", "beyond", "lightest"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise CallerError(f"A measurement's {name} is a finite number.", argument=name)
        if min(self.u, self.counts, self.share, self.step, self.beyond) < 0:
            raise CallerError("An uncertainty is zero or more.", argument="u")

    @property
    def number(self) -> float:
        """The value of a measurement that is not over range. Raises ChecksError for one that is."""
        if self.value is None:
            raise CallerError("A measurement over range has no number.", argument="value")
        return self.value


def half_width(reading: float, accuracy: Accuracy, resolution: float, range_: float | None = None) -> float:
    """The ± of the accuracy statement for this reading, in the reading's unit."""
    if not (math.isfinite(reading) and math.isfinite(resolution) and resolution >= 0):
        raise CallerError("A reading is finite, with a last digit worth zero or more.", argument="reading")
    if range_ is not None and not math.isfinite(range_):
        raise CallerError("A range is a finite number of volts.", argument="range_")
    if accuracy.full_scale:
        return accuracy.percent / 100 * (range_ or abs(reading))
    return accuracy.percent / 100 * abs(reading) + accuracy.digits * resolution


def standard_uncertainty(half: float) -> float:
    """Rectangular distribution of half-width `half`: half/√3 (JCGM 100:2008, 4.3.7)."""
    if not (math.isfinite(half) and half >= 0):
        raise CallerError("A half-width is a finite number, zero or more.", argument="half")
    return half / math.sqrt(3)


def measure(
    reading: Quantity,
    function: str,
    meter: MeterSpec,
    *,
    source_ohms: float | None = None,
    range_: float | None = None,
    through_ohms: float | None = None,
    through_tolerance: float | None = None,
    hertz: float | None = None,
) -> Measurement:
    """Turn what the meter showed into a value with its uncertainty. Raises ChecksError for an unknown function.
    `hertz` is the frequency of what is read, None where it is that of the mains or none.

    The loading of the node's Thevenin resistance is corrected as V (1 + R_th/R_in), on the smallest range that holds
    the reading; a fifth of that correction is taken as its standard uncertainty, since source resistances are quoted
    roughly.
    """
    measured = find_measure(function)
    accuracy = meter.accuracy_on(measured)
    if not (measured.is_signed or measured.is_ohms) and (reading.is_below or (reading.value or 0.0) < 0):
        raise ChecksError(f"{function} does not go below zero.", argument="reading", code="negative", function=function)
    if reading.over_range:
        return Measurement(None, 0.0, None, over_range=True, is_below=reading.is_below)
    value, resolution = reading.number, reading.resolution or 0.0
    if function in OTHER:
        return _other(function, value, resolution)
    if not (source_ohms is None or (math.isfinite(source_ohms) and source_ohms >= 0)):
        raise CallerError("A source resistance is zero or more.", argument="source_ohms")
    range_ = range_ or meter.range_for(value)
    half = half_width(value, accuracy, resolution, range_)
    beyond = abs(value) * meter.frequency_doubt(hertz) if hertz else 0.0
    u = math.hypot(standard_uncertainty(half), resolution / math.sqrt(12), beyond / math.sqrt(3))
    counts = 0.0 if accuracy.full_scale else accuracy.digits * resolution
    measurement = partial(Measurement, counts=counts, share=half - counts, step=resolution, beyond=beyond)
    if measured.is_ohms:
        return measurement(value, u, value)
    loading = value * (source_ohms or 0.0) / meter.resistance_on(range_)
    lightest = None if meter.ohms_per_volt is None else on_highest_range(value, source_ohms, meter)
    result = measurement(value + loading, math.hypot(u, loading / 5), value, loading, lightest=lightest)
    return _as_current(result, through_ohms, through_tolerance) if function == "current" else result


@finite_arguments
def on_highest_range(value: float, source_ohms: float | None, meter: MeterSpec) -> float | None:
    """A reading corrected for the load of the highest range; None of a meter that loads all its ranges alike."""
    if meter.ohms_per_volt is None or not source_ohms:
        return None
    return value * (1 + source_ohms / meter.resistance_on(max(meter.ranges)))


def _other(function: str, value: float, resolution: float) -> Measurement:
    fixed, share = OTHER[function]
    half = fixed + share * abs(value)
    u = standard_uncertainty(half + resolution / 2)
    return Measurement(value, u, value, share=half, step=resolution)


def _as_current(volts: Measurement, ohms: float | None, tolerance: float | None) -> Measurement:
    """Current from the drop over a known resistor, with the resistor's tolerance as a rectangular bound."""
    if not (ohms and math.isfinite(ohms) and ohms > 0 and math.isfinite(tolerance or 0.0) and (tolerance or 0.0) >= 0):
        raise CallerError("A current is read across a known resistor, and its value is missing.", argument="through")
    current = volts.number / ohms
    u = math.hypot(volts.u / ohms, current * standard_uncertainty(tolerance or 0.0))
    return Measurement(
        current,
        u,
        None if volts.raw is None else volts.raw / ohms,
        volts.loading / ohms,
        counts=volts.counts / ohms,
        share=volts.share / ohms,
        step=volts.step / ohms,
        lightest=None if volts.lightest is None else volts.lightest / ohms,
    )
