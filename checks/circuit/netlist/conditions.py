"""Under what a kit is read: what is fitted, whether power is on, and through what it comes."""

from dataclasses import dataclass, replace

from checks.circuit.netlist.signal import Signal
from checks.errors import CallerError
from checks.finite import finite_arguments
from checks.mains import best_tap, find_supply
from checks.quantity import parse_quantity

COPPER = 0.0039  # per kelvin: what copper's resistance gains (IEC 60028, 0.00393 at 20 °C)
WINDING_RISE = 30.0  # K of windings at work above the cold resistance check, give or take as much (common practice)
LAMP_EXPONENT = 0.55  # I ~ V^0.55 of a tungsten lamp between cold and rated (common practice)


@dataclass(frozen=True)
class Condition:
    """One condition of the whole kit.

    `line` is line over tap (1 at the guide's reference); `tap_volts` the primary's tap in use there, else
    `reference_volts`. `supply_volts` replaces the line; `lamp_watts` puts a tungsten lamp of the reference voltage in
    series with the primary. `settings` turns potentiometers: (("RV1", 1.0),). `line_spread` is the half-range of the
    line as a share, for scatter; 0 leaves the line out of it. `winding_rise` is how many kelvin warmer than in a cold
    resistance check the windings are. With a `signal` capacitances vary from build to build.
    """

    power: str = "on"
    not_fitted: frozenset = frozenset()
    line: float = 1.0
    supply_volts: float | None = None
    lamp_watts: float | None = None
    reference_volts: float = 230.0
    tap_volts: float | None = None
    hertz: float = 50.0
    settings: tuple = ()
    line_spread: float = 0.0
    winding_rise: float = 0.0
    signal: Signal | None = None

    def __post_init__(self):
        object.__setattr__(self, "not_fitted", frozenset(self.not_fitted))
        if self.power not in ("on", "off"):
            raise CallerError(f"Power is on or off, not “{self.power}”.", argument="power")
        for name in ("line", "supply_volts", "lamp_watts", "reference_volts", "tap_volts", "hertz"):
            value = getattr(self, name)
            if value is not None and not 0 < value < 1e6:
                raise CallerError(f"A condition's {name.replace('_', ' ')} must be above zero.", argument=name)
        if not 0 <= self.line_spread < 0.5:
            raise CallerError("The line's spread is a share below one half.", argument="line_spread")
        if not 0 <= self.winding_rise <= 150:
            raise CallerError("Windings are from 0 K to 150 K warmer than cold ones.", argument="winding_rise")
        for ref, share in self.settings:
            if not 0 <= share <= 1:
                raise CallerError(f"{ref} is set to {share}; a control stands from 0 to 1.", argument="settings")
        if self.lamp_watts and self.supply_volts:
            raise CallerError("A stage is supplied through a lamp or at its own volts, not both.", argument="supply")

    @property
    def line_factor(self) -> float:
        """Every winding's open voltage over that at the reference, before the primary's own drop."""
        return self.line if self.supply_volts is None else self.supply_volts / (self.tap_volts or self.reference_volts)

    @property
    def winding_factor(self) -> float:
        """Ohms of the windings over those of the cold resistance check."""
        return 1 + COPPER * self.winding_rise

    def at_highest_line(self) -> "Condition":
        """This condition at the highest line its supply may have; a reduced supply rises by the same share."""
        supply = find_supply(round(self.reference_volts))
        if self.supply_volts is not None:
            return self.at_line(supply.high / supply.nominal)
        return replace(self, line=supply.high / (self.tap_volts or self.reference_volts))

    def over_permitted_lines(self) -> "Condition":
        """This condition with the line anywhere in its supply's permitted range, for scatter."""
        supply = find_supply(round(self.reference_volts))
        if self.supply_volts is not None:
            return replace(self, line_spread=supply.reach)
        middle, base = (supply.low + supply.high) / 2, self.tap_volts or self.reference_volts
        return replace(self, line=middle / base, line_spread=(supply.high - supply.low) / (2 * middle))

    def at_line(self, factor: float) -> "Condition":
        """This condition with the line (or the reduced supply) `factor` times as high."""
        if self.supply_volts is not None:
            return replace(self, supply_volts=self.supply_volts * factor)
        return replace(self, line=self.line * factor)


@finite_arguments
def read_condition(stage: dict, mains: dict | None = None, *, line: float = 1.0) -> Condition:
    """The condition of a guide's stage (power, not_fitted, supply, settings) at `mains` {volts, hertz, taps}. Raises
    ChecksError."""
    supply = dict(stage.get("supply") or {})
    lamp, volts = supply.pop("lamp", None), supply.pop("volts", None)
    if supply:
        raise CallerError(f"A supply has lamp or volts, not {', '.join(supply)}.", argument="supply")
    mains, settings = mains or {}, dict(stage.get("settings") or {})
    reference, taps = float(mains.get("volts", 230)), [float(tap) for tap in mains.get("taps") or ()]
    return Condition(
        stage.get("power", "off"),
        frozenset(stage.get("not_fitted") or ()),
        line,
        None if volts is None else parse_quantity(str(volts), "V").value,
        None if lamp is None else parse_quantity(str(lamp), "W").value,
        reference,
        best_tap(reference, taps) if taps else None,
        float(mains.get("hertz", 50)),
        tuple(sorted((ref, float(share)) for ref, share in settings.items())),
        winding_rise=WINDING_RISE if stage.get("power") == "on" else 0.0,
    )
