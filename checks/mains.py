"""The line voltage: nominal supplies and their permitted ranges, and the builder's voltage against the guide's."""

import math
from dataclasses import dataclass

from checks.errors import ChecksError


@dataclass(frozen=True)
class Supply:
    """A nominal supply with the range it may have at the outlet, in volts."""

    nominal: int
    low: float
    high: float
    source: str

    @property
    def reach(self) -> float:
        """How far from nominal it may lie, as a share: the half-range of an unknown line."""
        return max(self.high - self.nominal, self.nominal - self.low) / self.nominal


_IEC = "IEC 60038: ±10 % at the supply terminals"
_ANSI = "ANSI C84.1 range A, service voltage"
SUPPLIES = {
    s.nominal: s
    for s in (
        Supply(100, 95, 107, "Japan's Electricity Business Act rules: 101 V ± 6 V (from memory)"),
        Supply(110, 99, 121, "±10 %, as IEC 60038 has it for other voltages (assumed)"),
        Supply(115, 109.25, 120.75, "±5 % as ANSI C84.1 has it for 120 V (assumed)"),
        Supply(120, 114, 126, _ANSI),
        Supply(127, 114.3, 139.7, "±10 %, as IEC 60038 has it for other voltages (assumed)"),
        Supply(220, 198, 242, "±10 %, as IEC 60038 has it for other voltages (assumed)"),
        Supply(230, 207, 253, _IEC),
        Supply(240, 216, 264, "±10 %, as IEC 60038 has it for other voltages (assumed)"),
    )
}
PLUG_IN_METER = 0.01  # half-width of a plug-in meter's reading, as a share (common practice)


@dataclass(frozen=True)
class Line:
    """The builder's line over the guide's reference.

    `u` is the relative standard uncertainty of a measured ratio; `spread` the half-range, as a share, within which an
    unmeasured line may lie: a band is widened by it.
    """

    factor: float
    u: float = 0.0
    spread: float = 0.0

    def __post_init__(self):
        if not (math.isfinite(self.factor) and self.factor > 0 and self.u >= 0 and 0 <= self.spread < 1):
            raise ChecksError("A line factor must be above zero.", argument="factor")


def best_tap(nominal_volts: float, taps) -> float:
    """The primary tap nearest to the supply, as a ratio. Raises ChecksError when there are none."""
    taps = [t for t in taps if t > 0]
    if not taps:
        raise ChecksError("This transformer has no primary taps listed.", argument="taps")
    return min(taps, key=lambda tap: abs(math.log(nominal_volts / tap)))


def supply_of(nominal_volts: float) -> Supply:
    if nominal_volts not in SUPPLIES:
        raise ChecksError(
            f"No supply of {nominal_volts:g} V is known; there are {', '.join(str(n) for n in sorted(SUPPLIES))}.",
            argument="nominal_volts",
        )
    return SUPPLIES[nominal_volts]


def line_for(
    reference_volts: float, *, measured_volts: float | None, nominal_volts: float, tap_volts: float | None = None
) -> Line:
    """The ratio by which every winding's voltage differs from the guide's reference.

    With a primary tap it is line/tap: windings give their rated voltage when the line equals the tap in use. Without
    taps the reference is the primary's own voltage. An unknown line is its nominal, with the permitted range as spread.
    """
    base = tap_volts or reference_volts
    if base <= 0:
        raise ChecksError("The guide's mains voltage must be above zero.", argument="reference_volts")
    if measured_volts is not None:
        if not 50 <= measured_volts <= 300:
            raise ChecksError("A mains voltage lies between 50 V and 300 V.", argument="measured_volts")
        return Line(measured_volts / base, PLUG_IN_METER / math.sqrt(3))
    supply = supply_of(nominal_volts)
    return Line(nominal_volts / base, 0.0, supply.reach)


def in_range(nominal_volts: float, volts: float) -> bool:
    """Is a line reading inside its supply's permitted range?"""
    supply = supply_of(nominal_volts)
    return supply.low <= volts <= supply.high


HERTZ = (50, 60)
LOWEST = 0.85  # of nominal: EN 50160:2010 lets 5 % of ten-minute means fall to -15 % (from memory)


def line_words(nominal_volts: float, volts: float) -> str:
    """What to make of a line reading outside its supply's range; empty inside it. Raises ChecksError for unknown
    supplies."""
    supply = supply_of(nominal_volts)
    if supply.low <= volts <= supply.high:
        return ""
    said = (
        f"{volts:g} V is outside the {supply.low:g} V to {supply.high:g} V that a supply of {supply.nominal} V may have"
    )
    if supply.nominal * LOWEST <= volts < supply.low:
        return (
            f"{said}; a dip this deep is allowed only for a short time. Readings are judged at "
            f"{volts:g} V all the same."
        )
    return f"{said}. Is the plug-in meter right, and is {supply.nominal} V what your sockets give?"


def hertz_words(kit_hertz: int, hertz: int) -> str:
    """What changes when a kit for one mains frequency is used on the other; empty when it is the same.

    Reservoir ripple goes as I/(nfC); a transformer's flux as V/f (textbook relations). DC readings hardly move. Raises
    ChecksError for a frequency that is no mains frequency.
    """
    for value in (kit_hertz, hertz):
        if value not in HERTZ:
            raise ChecksError("A mains frequency is 50 Hz or 60 Hz.", argument="hertz")
    if kit_hertz == hertz:
        return ""
    if hertz > kit_hertz:
        return (
            "This kit's figures were taken at 50 Hz. At your 60 Hz the transformer runs a little cooler, "
            "ripple and hum are "
            "about a sixth lower and sound at 60 Hz and 120 Hz; DC readings hardly move."
        )
    return (
        "This kit's figures were taken at 60 Hz. At your 50 Hz the transformer's core works a fifth "
        "harder and runs hotter, "
        "and ripple is a fifth higher. Ask the designer whether its transformer is made for 50 Hz "
        "before you give it power."
    )
