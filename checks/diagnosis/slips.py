"""Slips: a reading that says nothing of the kit, because of where the probe was, how the meter was set or what was
typed."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from checks.circuit.prediction.probes import OHMS
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.reading_scale import FLOOR, RANGE, to_scale
from checks.finite import finite_arguments, finite_figures

NEAR = 2.5  # standard deviations within which a reading fits a named slip
NAMED = 0.6  # share of slips that read as one of those below does; the others read anything (invented)
# Of the slips, a probe in the air: who sees nothing looks at the probe before noting it; and the spread on the scale.
NOTHING, AT_NOTHING = 0.03, 0.3


class SlipKind(StrEnum):
    """What a reading that says nothing of the kit looks like."""

    TENTH = "a tenth"
    TEN_TIMES = "ten times"
    THOUSANDTH = "a thousandth"
    THOUSAND_TIMES = "a thousand times"
    LEADS_SWAPPED = "leads swapped"
    NO_CONTACT = "no contact"
    NEIGHBOUR = "neighbouring pin"
    THROUGH_DIODE = "through a diode"
    UNKNOWN = "unknown"


DECADES = (
    (0.1, SlipKind.TENTH),
    (10.0, SlipKind.TEN_TIMES),
    (1e-3, SlipKind.THOUSANDTH),
    (1e3, SlipKind.THOUSAND_TIMES),
)
LEAST = 0.02  # width of a place on the scale, where its own scatter is less


@finite_figures
@dataclass(frozen=True)
class Slip:
    """A reading that is likelier a slip than a fault: its place's name, what kind of slip it looks like, and how
    likely. `pin` is the one the probe was probably on."""

    place: str
    kind: SlipKind
    probability: float
    pin: str = ""


@finite_arguments
def list_slips(prepared: Prepared, rows, z, shares, least: float = 0.05) -> tuple[Slip, ...]:
    """The readings that are slips with probability `least` or more, likeliest first.

    `rows` are (column of `prepared`, Observation), `z` (n,) their values on the scale, `shares` (n,) the probability of
    each being one.
    """
    slips = [
        _slip(prepared, o.place, n, float(z[k]), float(shares[k]))
        for k, (n, o) in enumerate(rows)
        if shares[k] >= least
    ]
    return tuple(sorted(slips, key=lambda slip: -slip.probability))


def slip_logs(prepared: Prepared, at, z, over):
    """(n,): log density of readings at columns `at`, each given that it is a slip. Most slips are one of a few: a sign,
    a decade, the next pin, a probe in the air. A reading like none of them is rarely one."""
    return np.array([_slip_log(prepared, int(n), z[k], bool(over[k])) for k, n in enumerate(at)])


def _slip_log(prepared: Prepared, column: int, z: float, over: bool) -> float:
    spread = float(np.sqrt(prepared.scatter[0, column, column] + FLOOR))
    candidates = [*_neighbours(prepared, column), *_settings(prepared, column)]
    # Near nothing no slip is known by what it reads, and lost supplies and shorts read so as well.
    named = [_normal(z, at, spread) for at, _kind, _pin in candidates if abs(at) > NEAR * AT_NOTHING]
    in_the_air = NOTHING * _normal(z, z if over else 0.0, AT_NOTHING)
    share = NAMED - NOTHING if named else 0.0
    return float(np.log(share * np.mean(named or [0.0]) + in_the_air + (1 - NOTHING - share) / RANGE))


def _normal(z: float, at: float, spread: float) -> float:
    return float(np.exp(-0.5 * ((z - at) / spread) ** 2) / (spread * np.sqrt(2 * np.pi)))


def _slip(prepared: Prepared, place: str, column: int, z: float, share: float) -> Slip:
    """With the kind that fits best, or unknown."""
    if prepared.turned_on[column] and z < prepared.mean[0, column]:
        return Slip(place, SlipKind.THROUGH_DIODE, share)
    candidates = [*_neighbours(prepared, column), *_settings(prepared, column)]
    width = max(LEAST, float(np.sqrt(prepared.cov[0, column, column])))
    fitting = [(abs(z - at), kind, pin) for at, kind, pin in candidates if abs(z - at) < NEAR * width]
    _away, kind, pin = min(fitting, default=(0.0, SlipKind.UNKNOWN, ""))
    return Slip(place, kind, share, pin)


def _settings(prepared: Prepared, column: int):
    nominal, unit = prepared.nominal[column], prepared.units[column]
    for factor, kind in DECADES:
        yield float(to_scale(nominal * factor, unit)), kind, ""
    if prepared.places[column].power == "on":
        yield 0.0, SlipKind.NO_CONTACT, ""
    if prepared.places[column].probe.measure in ("dc volts", "current"):
        yield float(to_scale(-nominal, unit)), SlipKind.LEADS_SWAPPED, ""


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
                SlipKind.NEIGHBOUR,
                beside,
            )


def _kind(place) -> str:
    return "Ω" if place.probe.measure in OHMS else place.probe.measure
