"""A signal that a check is read under, as a guide writes it.

    signal = { into = "in.tip", level = "100 mV", frequency = "1 kHz", load = "8.2R", load_at = "out.hot" }
    signal = { of = "ripple" }

`level` is in V rms, as it stands at the input. With `of = "ripple"` there is no input: the check reads what the supply
leaves. The load is what a guide has the builder connect, from `load_at` to the chassis.
"""

from dataclasses import dataclass

from checks.errors import ChecksError
from checks.finite import refuse_unreal
from checks.quantity import parse_quantity

KEYS = ("into", "level", "frequency", "load", "load_at", "of")
STATED = ("into", "level", "frequency")
TONE, RIPPLE = "tone", "ripple"
UNITS = {"level": "V", "frequency": "Hz", "load": "Ω"}
RANGES = {"level": (1e-6, 1000.0), "frequency": (1.0, 1e6), "load": (0.1, 1e8)}


@dataclass(frozen=True)
class Signal:
    """A signal goes `into` a node or pin (empty: none, for ripple), with a load of `load_ohms` from `load_at` to the
    chassis."""

    into: str = ""
    load_at: str = ""
    load_ohms: float | None = None

    def __post_init__(self):
        refuse_unreal(self, "load_ohms", above=0)


@dataclass(frozen=True)
class Stated:
    """What a check states: the signal, its level in V rms and its frequency in Hz."""

    signal: Signal
    level: float = 0.0
    hertz: float = 0.0

    def __post_init__(self):
        refuse_unreal(self, "level", "hertz", least=0)


def as_probed(stated: Stated | None) -> tuple:
    """The last figures of a probe: level, frequency, and "tone" or "ripple"; nothing where no signal is stated."""
    if stated is None:
        return ()
    return stated.level, stated.hertz, TONE if stated.signal.into else RIPPLE


def stated_signal(mapping: dict | None) -> Stated | None:
    """Read a check's `signal`; None where it has none. Raises ChecksError with the key as its argument."""
    if not mapping:
        return None
    for key, value in mapping.items():
        if key not in KEYS:
            raise _wrong(key, "signal-key", known=KEYS)
        if not isinstance(value, str) or not value.strip():
            raise _wrong(key, "signal-text")
    load = _load(mapping)
    if mapping.get("of"):
        if mapping["of"] != RIPPLE or any(mapping.get(key) for key in STATED):
            raise _wrong("of", "signal-of", typed=mapping["of"])
        return Stated(Signal("", *load))
    for key in STATED:
        if not mapping.get(key):
            raise _wrong(key, "signal-missing")
    return Stated(Signal(mapping["into"], *load), _figure(mapping, "level"), _figure(mapping, "frequency"))


def _load(mapping) -> tuple[str, float | None]:
    if bool(mapping.get("load")) != bool(mapping.get("load_at")):
        raise _wrong("load_at" if mapping.get("load") else "load", "signal-missing")
    return (mapping["load_at"], _figure(mapping, "load")) if mapping.get("load") else ("", None)


def _figure(mapping, key: str) -> float:
    try:
        value = parse_quantity(mapping[key], UNITS[key]).value
    except ChecksError as error:
        raise _wrong(key, "signal-figure", inner=error) from error
    low, high = RANGES[key]
    if value is None or not low <= value <= high:
        raise _wrong(key, "signal-range", typed=mapping[key])
    return value


def _wrong(key: str, code: str, **params) -> ChecksError:
    return ChecksError(f"signal.{key}: {code}", argument=key, code=code, key=key, **params)
