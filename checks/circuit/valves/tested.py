"""A valve that was measured by itself: its own characteristic instead of its type's.

A type's fitted curve is brought through the measured point: the current by the perveance (kg1, and kg2 with it), the
transconductance by the amplification factor, which says how much of the cathode's current the grid still has to let
through. Only the ratio of transconductance to current tells of it, so the two are found one after the other.

Where a sheet's own transconductance and the type's curve differ at the sheet's point, the curve's miss is not taken for
the valve's.
"""

import math
from dataclasses import dataclass, replace

from checks.circuit.valves.koren import Koren, pentode_current, triode_current
from checks.circuit.valves.types import find_type
from checks.errors import ChecksError
from checks.quantity import Tolerance

USUAL_ACCURACY = 0.05  # half-range of a valve tester's current where nobody states it (common practice)
CURVES_MISS = 0.09  # two standard deviations of how far fitted curves miss their sheets' other currents (fitted.py)
CURRENTS = (0.3, 2.0)  # of the type's own at that point: outside them it is another valve, another point, or a slip
FACTORS = (0.7, 1.4)  # of the type's amplification factor, likewise
LEAST_AMPS = 20e-6  # below this a point says nothing of the valve
HALVINGS = 60


@dataclass(frozen=True)
class MeasuredPoint:
    """What a tester showed of one section, against its cathode, in SI; `accuracy` is the half-range of its current."""

    anode_volts: float
    grid_volts: float
    anode_amps: float
    transconductance: float | None = None
    screen_volts: float | None = None
    accuracy: float = USUAL_ACCURACY

    def __post_init__(self):
        for name in ("anode_volts", "anode_amps"):
            if not getattr(self, name) > 0:
                raise ChecksError(f"{name} must be above zero.", argument=name, code="tested-not-above-zero")
        if self.transconductance is not None and not self.transconductance > 0:
            raise ChecksError(
                "transconductance must be above zero.", argument="transconductance", code="tested-not-above-zero"
            )
        if not 0 < self.accuracy <= 0.25:
            raise ChecksError("accuracy is a share up to 0.25.", argument="accuracy", code="tested-accuracy")

    @property
    def tolerance(self) -> Tolerance:
        """How far this valve's current may still lie from its curve at other voltages."""
        share = math.hypot(self.accuracy, CURVES_MISS)
        return Tolerance(share, share)


def koren_as_tested(koren: Koren, tested: MeasuredPoint, type_: str = "") -> Koren:
    """The type's curve brought through a measured point. Raises ChecksError for figures no such valve can have."""
    if koren.kg2 is not None and not tested.screen_volts:
        raise ChecksError("A pentode is measured at a screen voltage.", argument="screen_volts", code="tested-screen")
    usual, slope = _at(koren, tested)
    if not usual > LEAST_AMPS:
        raise ChecksError("No current flows at that point.", argument="grid_volts", code="tested-no-current")
    _refuse_strange(tested.anode_amps / usual, CURRENTS, "anode_amps", usual)
    if tested.transconductance is None:
        return _scaled(koren, tested.anode_amps / usual)
    ratio = tested.transconductance / _slopes_miss(koren, type_) / tested.anode_amps
    turned = replace(koren, mu=koren.mu * _factor(koren, tested, ratio, slope))
    return _scaled(turned, tested.anode_amps / _at(turned, tested)[0])


def _factor(koren: Koren, tested: MeasuredPoint, ratio: float, usual_slope: float) -> float:
    """The multiple of mu at which the curve's transconductance over its current is `ratio`; it grows with mu."""
    low, high = FACTORS
    if not _ratio(koren, tested, low) <= ratio <= _ratio(koren, tested, high):
        raise ChecksError(
            "This transconductance does not go with this current.",
            argument="transconductance",
            code="tested-strange",
            usual=usual_slope,
        )
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _ratio(koren, tested, middle) < ratio else (low, middle)
    return (low + high) / 2


def _ratio(koren: Koren, tested: MeasuredPoint, factor: float) -> float:
    amps, slope = _at(replace(koren, mu=koren.mu * factor), tested)
    return slope / amps


def _at(koren: Koren, tested: MeasuredPoint) -> tuple[float, float]:
    """(anode current, transconductance) of a curve at the measured point."""
    if koren.kg2 is None:
        amps, _, slope = triode_current(koren, tested.anode_volts, tested.grid_volts)
    else:
        (amps, _, _, slope), _ = pentode_current(koren, tested.anode_volts, tested.screen_volts, tested.grid_volts)
    return float(amps), float(slope)


def _scaled(koren: Koren, factor: float) -> Koren:
    return replace(koren, kg1=koren.kg1 / factor, kg2=None if koren.kg2 is None else koren.kg2 / factor)


def _slopes_miss(koren: Koren, type_: str) -> float:
    """The sheet's transconductance over the curve's, at the sheet's own point; 1 where no sheet is at hand."""
    kind = "triode" if koren.kg2 is None else "pentode"
    for point in (find_type(type_, kind) or {}).get("points", ())[:1] if type_ else ():
        if "gm" in point:
            at = MeasuredPoint(float(point["va"]), float(point["vg1"]), 1.0, screen_volts=point.get("vg2"))
            return float(point["gm"]) / _at(koren, at)[1]
    return 1.0


def _refuse_strange(share: float, limits: tuple[float, float], argument: str, usual: float) -> None:
    if not limits[0] <= share <= limits[1]:
        raise ChecksError(
            f"That is {share:.0%} of what the type has there.", argument=argument, code="tested-strange", usual=usual
        )
