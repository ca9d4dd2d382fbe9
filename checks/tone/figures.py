"""The figures a recording gives: one table of what may be asked of which signal, in which unit."""

from dataclasses import dataclass
from enum import StrEnum

from checks.errors import ChecksError
from checks.tone.sources import Signal


class Figure(StrEnum):
    """A figure of a recording."""

    OUTPUT = "output"
    POWER = "power"
    THD = "thd"
    THD_WITHOUT_SECOND = "thd without second"
    THD_PLUS_NOISE = "thd plus noise"
    SECOND = "second harmonic"
    THIRD = "third harmonic"
    HUM = "hum"
    NOISE = "noise"
    NOISE_A = "a-weighted noise"
    LOW_1 = "lower -1 dB point"
    HIGH_1 = "upper -1 dB point"
    LOW_3 = "lower -3 dB point"
    HIGH_3 = "upper -3 dB point"
    INTERMODULATION = "intermodulation"
    POWER_AT_CLIPPING = "power at clipping"
    POWER_AT_1 = "power at 1 % thd"
    POWER_AT_3 = "power at 3 % thd"
    POWER_AT_10 = "power at 10 % thd"


@dataclass(frozen=True)
class FigureKind:
    """`unit` of a figure, the signals that give it, and whether it needs volts (a calibration) or a load."""

    figure: Figure
    unit: str
    signals: tuple[Signal, ...]
    needs_volts: bool = False
    needs_load: bool = False


_TONES = (Signal.TONE,)
_QUIET = (Signal.SILENCE,)
FIGURES = {
    kind.figure: kind
    for kind in (
        FigureKind(Figure.OUTPUT, "V", _TONES, needs_volts=True),
        FigureKind(Figure.POWER, "W", _TONES, needs_volts=True, needs_load=True),
        FigureKind(Figure.THD, "%", _TONES),
        FigureKind(Figure.THD_WITHOUT_SECOND, "%", _TONES),
        FigureKind(Figure.THD_PLUS_NOISE, "%", _TONES),
        FigureKind(Figure.SECOND, "dBr", _TONES),
        FigureKind(Figure.THIRD, "dBr", _TONES),
        FigureKind(Figure.HUM, "V", _QUIET, needs_volts=True),
        FigureKind(Figure.NOISE, "V", _QUIET, needs_volts=True),
        FigureKind(Figure.NOISE_A, "V", _QUIET, needs_volts=True),
        FigureKind(Figure.LOW_1, "Hz", (Signal.SWEEP,)),
        FigureKind(Figure.HIGH_1, "Hz", (Signal.SWEEP,)),
        FigureKind(Figure.LOW_3, "Hz", (Signal.SWEEP,)),
        FigureKind(Figure.HIGH_3, "Hz", (Signal.SWEEP,)),
        FigureKind(Figure.INTERMODULATION, "%", (Signal.TWO_TONE,)),
        FigureKind(Figure.POWER_AT_CLIPPING, "W", (Signal.STEPS,), needs_volts=True, needs_load=True),
        FigureKind(Figure.POWER_AT_1, "W", (Signal.STEPS,), needs_volts=True, needs_load=True),
        FigureKind(Figure.POWER_AT_3, "W", (Signal.STEPS,), needs_volts=True, needs_load=True),
        FigureKind(Figure.POWER_AT_10, "W", (Signal.STEPS,), needs_volts=True, needs_load=True),
    )
}


def figure_kind(code: str) -> FigureKind:
    """Raises ChecksError for what no recording gives."""
    if code not in FIGURES:
        raise ChecksError(f"A recording gives no figure “{code}”.", argument="figure", code="figure", figure=code)
    return FIGURES[Figure(code)]


@dataclass(frozen=True)
class Value:
    """A figure in its kind's unit with its standard uncertainty; `is_bound`: at most this, at the card's floor."""

    figure: Figure
    value: float
    u: float
    is_bound: bool = False
