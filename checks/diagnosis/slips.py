"""Slips: a reading that says nothing of the kit, because of where the probe was, how the meter was set or what was
typed."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.prediction.probes import OHMS
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.reading_scale import to_scale

NEAR = 2.5  # standard deviations within which a reading fits a named slip
DECADES = (
    (0.1, "a tenth of what it should be: the range, the prefix or the decimal point"),
    (10.0, "ten times what it should be: the range, the prefix or the decimal point"),
    (1e-3, "a thousandth of what it should be: V for mV, or kΩ for Ω"),
    (1e3, "a thousand times what it should be: mV for V, or Ω for kΩ"),
)
SWAPPED = "the meter's leads swapped: the right size with the wrong sign"
NOTHING = "nothing at all: the meter on AC volts, or a probe that makes no contact"
UNKNOWN = "the probe, the range or what was written down"
LEAST = 0.02  # width of a place on the scale, where its own scatter is less


@dataclass(frozen=True)
class Slip:
    """A reading that is likelier a slip than a fault: its place's name, what kind of slip it looks like, and how
    likely."""

    place: str
    words: str
    probability: float


def slips_of(prepared: Prepared, rows, z, shares, least: float = 0.05) -> tuple[Slip, ...]:
    """The readings that are slips with probability `least` or more, likeliest first.

    `rows` are (column of `prepared`, Observation), `z` (n,) their values on the scale, `shares` (n,) the probability of
    each being one.
    """
    found = [
        Slip(o.place, _words(prepared, n, float(z[k])), float(shares[k]))
        for k, (n, o) in enumerate(rows)
        if shares[k] >= least
    ]
    return tuple(sorted(found, key=lambda slip: -slip.probability))


def _words(prepared: Prepared, column: int, z: float) -> str:
    """The named slip that fits best, or the general word."""
    candidates = [*_neighbours(prepared, column), *_settings(prepared, column)]
    width = max(LEAST, float(np.sqrt(prepared.cov[0, column, column])))
    fitting = [(abs(z - at), words) for at, words in candidates if abs(z - at) < NEAR * width]
    return min(fitting)[1] if fitting else UNKNOWN


def _settings(prepared: Prepared, column: int):
    nominal, unit = prepared.nominal[column], prepared.units[column]
    for factor, words in DECADES:
        yield float(to_scale(nominal * factor, unit)), words
    if prepared.places[column].power == "on":
        yield 0.0, NOTHING
    if prepared.places[column].probe.measure in ("dc volts", "current"):
        yield float(to_scale(-nominal, unit)), SWAPPED


def _neighbours(prepared: Prepared, column: int):
    """What the pins on either side read in a healthy kit, where the guide reads them in the same condition."""
    place = prepared.places[column]
    ref, _, pin = place.probe.red.partition(".")
    if not pin.isdigit():
        return
    for n, other in enumerate(prepared.places):
        there, _, beside = other.probe.red.partition(".")
        same = other.power == place.power and other.stage == place.stage and _kind(other) == _kind(place)
        if (
            there == ref
            and beside.isdigit()
            and abs(int(beside) - int(pin)) == 1
            and same
            and other.probe.black == place.probe.black
        ):
            yield (
                float(to_scale(prepared.nominal[n], prepared.units[column])),
                f"the probe on pin {beside} instead of pin {pin}",
            )


def _kind(place) -> str:
    return "Ω" if place.probe.measure in OHMS else place.probe.measure
