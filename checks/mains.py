"""The line voltage: nominal supplies and their permitted ranges, and the builder's voltage against the guide's."""

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from checks.errors import CallerError, ChecksError
from checks.finite import finite_arguments


@dataclass(frozen=True)
class Supply:
    """A nominal supply, in volts: `low` to `high` where the network hands it over (service range), from `outlet_low` at
    the outlet, where the house's own wires have taken their share (utilisation range)."""

    nominal: int
    low: float
    high: float
    outlet_low: float
    source: str

    def __post_init__(self):
        if not 0 < self.outlet_low <= self.low <= self.nominal <= self.high < math.inf:
            raise CallerError("A supply's ranges lie about its nominal.", argument="low")

    @property
    def reach(self) -> float:
        """How far from nominal the network may let it lie, as a share."""
        return max(self.high - self.nominal, self.nominal - self.low) / self.nominal

    def share(self, volts: float) -> float:
        return volts / self.nominal


_IEC = "IEC 60038:2009: ±10 % at the supply terminals, 4 % more in the house's wires (the latter from memory)"
_LIKE_IEC = "±10 % and 4 % in the house, as IEC 60038 has it for other voltages (assumed)"
_ANSI = "ANSI C84.1-2020 range A: 114 V to 126 V service, 108 V to 126 V utilisation (the latter from memory)"
SUPPLIES: dict[float, Supply] = {
    s.nominal: s
    for s in (
        Supply(100, 95, 107, 91, "Japan's Electricity Business Act rules: 101 V ± 6 V; 4 V in the house (from memory)"),
        Supply(110, 99, 121, 94.6, _LIKE_IEC),
        Supply(115, 109.25, 120.75, 103.5, "±5 % and 5 % in the house, as ANSI C84.1 has it for 120 V (assumed)"),
        Supply(120, 114, 126, 108, _ANSI),
        Supply(127, 114.3, 139.7, 109.22, _LIKE_IEC),
        Supply(220, 198, 242, 189.2, _LIKE_IEC),
        Supply(230, 207, 253, 197.8, _IEC),
        Supply(240, 216, 264, 206.4, _LIKE_IEC),
    )
}
OVER_HEATER = 1.1  # of a heater's rated volts: the most that valves' sheets allow (common practice)
PLUG_IN_METER = 0.01  # half-width of a plug-in meter's reading, as a share (common practice)


@dataclass(frozen=True)
class Line:
    """The builder's line over the guide's reference.

    `u` is the relative standard uncertainty of a measured ratio; `spread` and `fall` are the shares by which an
    unmeasured line may lie above and below: a band is widened by them.
    """

    factor: float
    u: float = 0.0
    spread: float = 0.0
    fall: float = 0.0

    def __post_init__(self):
        if not (math.isfinite(self.factor) and self.factor > 0):
            raise CallerError("A line factor must be above zero.", argument="factor")
        for name in ("u", "spread", "fall"):
            value = getattr(self, name)
            if not 0 <= value < 1:
                raise CallerError(f"A line's {name} is a share from 0 to below 1.", argument=name)


def best_tap(nominal_volts: float, taps) -> float:
    """The primary tap nearest to the supply, as a ratio. Raises ChecksError when there are none."""
    return _best_tap(nominal_volts, tuple(taps))


@lru_cache(maxsize=256)
def _best_tap(nominal_volts: float, taps: tuple[float, ...]) -> float:
    usable = [t for t in taps if t > 0]
    if not (math.isfinite(nominal_volts) and nominal_volts > 0):
        raise CallerError("A supply is a finite number of volts, above zero.", argument="nominal_volts")
    if not usable:
        raise CallerError("This transformer has no primary taps listed.", argument="taps")
    return min(usable, key=lambda tap: abs(math.log(nominal_volts / tap)))


def tap_for(nominal_volts: float, taps) -> float:
    """The primary tap for a supply. Raises ChecksError (code "no-tap") where none serves it: a tap serves a supply that
    lies within the permitted range, so that windings give what the guide says within that range, and no heater gets
    more than OVER_HEATER of its volts at the nominal line."""
    supply, tap = find_supply(nominal_volts), best_tap(nominal_volts, taps)
    if not (supply.low <= tap <= supply.high and supply.nominal <= OVER_HEATER * tap):
        raise ChecksError(
            f"No primary tap serves a supply of {nominal_volts:g} V.",
            argument="nominal_volts",
            code="no-tap",
            supply=nominal_volts,
            taps=sorted(taps),
        )
    return tap


def find_supply(nominal_volts: float) -> Supply:
    if nominal_volts not in SUPPLIES:
        raise ChecksError(
            f"No supply of {nominal_volts:g} V is known; there are {', '.join(str(n) for n in sorted(SUPPLIES))}.",
            argument="nominal_volts",
            code="supply",
            supply=nominal_volts,
        )
    return SUPPLIES[nominal_volts]


@lru_cache(maxsize=1024)
@finite_arguments
def line_for(
    reference_volts: float, *, measured_volts: float | None, nominal_volts: float, tap_volts: float | None = None
) -> Line:
    """The ratio by which every winding's voltage differs from the guide's reference.

    With a primary tap it is line/tap: windings give their rated voltage when the line equals the tap in use. Without
    taps the reference is the primary's own voltage. An unknown line is its nominal, with the range the network keeps to
    as spread. However it was read, a line counts for no more than the range it may have at an outlet, so that a kit on
    the wrong mains, or a misread line, never moves a band to where the readings are.
    """
    base = tap_volts or reference_volts
    if not (math.isfinite(base) and base > 0):
        raise CallerError("The guide's mains voltage must be above zero.", argument="reference_volts")
    supply = find_supply(nominal_volts)
    if measured_volts is not None:
        if not 50 <= measured_volts <= 300:
            raise ChecksError("A mains voltage lies between 50 V and 300 V.", argument="measured_volts", code="mains")
        factor = _clamp(measured_volts / base, supply.share(supply.outlet_low), supply.share(supply.high))
        return Line(factor, PLUG_IN_METER / math.sqrt(3))
    least, most = supply.share(supply.low), supply.share(supply.high)
    factor = _clamp(nominal_volts / base, least, most)
    return Line(factor, 0.0, most / factor - 1, 1 - least / factor)


def _clamp(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


@finite_arguments
def in_outlet_range(nominal_volts: float, volts: float) -> bool:
    """Is a reading at an outlet inside the range that equipment must work in there?"""
    supply = find_supply(nominal_volts)
    return supply.outlet_low <= volts <= supply.high


HERTZ = (50, 60)
LOWEST = 0.85  # of nominal: EN 50160:2010 lets 5 % of ten-minute means fall to -15 % (from memory)


OTHER_SUPPLY = 1.12  # of nominal: more than any network of that nominal is found at, and too much for heaters


@finite_arguments
def is_other_supply(nominal_volts: float, volts: float) -> bool:
    """Is a line so high that it must be another supply's? A primary wired for these mains may not be plugged in there.
    Raises ChecksError for unknown supplies."""
    return find_supply(nominal_volts).share(volts) >= OTHER_SUPPLY


class LineRemark(StrEnum):
    """What a line reading outside its outlet's range may mean."""

    DIP = "dip"  # allowed for a short time
    DOUBTFUL = "doubtful"  # the meter, or the supply chosen, may be wrong


@finite_arguments
def remark_on_line(nominal_volts: float, volts: float) -> LineRemark | None:
    """None for a reading in the range an outlet may have. Raises ChecksError for unknown supplies."""
    supply = find_supply(nominal_volts)
    if in_outlet_range(nominal_volts, volts):
        return None
    is_dip = supply.nominal * LOWEST <= volts < supply.outlet_low
    return LineRemark.DIP if is_dip else LineRemark.DOUBTFUL


class HertzRemark(StrEnum):
    """What changes when a kit for one mains frequency is used on the other."""

    HIGHER = "higher"  # a kit for 50 Hz on 60 Hz
    LOWER = "lower"


def remark_on_hertz(kit_hertz: int, hertz: int) -> HertzRemark | None:
    """None when it is the same.

    Reservoir ripple goes as I/(nfC); a transformer's flux as V/f (textbook relations). DC readings hardly move. Raises
    ChecksError for a frequency that is no mains frequency.
    """
    for value in (kit_hertz, hertz):
        if value not in HERTZ:
            raise ChecksError("A mains frequency is 50 Hz or 60 Hz.", argument="hertz", code="hertz")
    if kit_hertz == hertz:
        return None
    return HertzRemark.HIGHER if hertz > kit_hertz else HertzRemark.LOWER
