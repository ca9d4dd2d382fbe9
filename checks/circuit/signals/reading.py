"""What a meter on AC volts shows at a check under a stated signal, or of ripple where none is stated."""

import numpy as np

from checks.circuit.netlist.signal import RIPPLE
from checks.circuit.signals.large_signal import Clipping, onset
from checks.circuit.signals.ripple import ripple_volts
from checks.circuit.signals.transfer import small_signal, transfer
from checks.circuit.solver.operating_point import Operating
from checks.finite import finite_arguments

MEMO = "_linear"


@finite_arguments
def signal_volts(operating: Operating, red: int, black: int, level: float, hertz: float, under: str = ""):
    """rms V (samples,) between two nodes of the condition's signal of `level` V rms at `hertz`; of ripple where that
    is what the check is `under`, or the condition names no input. NaN where the circuit did not settle."""
    if under == RIPPLE or not _has_input(operating):
        rms = ripple_volts(operating, red, black)
    else:
        set_to = operating.solution.reduced.m[:, operating.net.parameters.index("signal", "level")]
        rms = level * set_to * np.abs(_transfer(operating, hertz).between(red, black))
    return np.where(np.isnan(operating.volts[:, : operating.net.size]).all(axis=1), np.nan, rms)


@finite_arguments
def clipped(operating: Operating, level: float, hertz: float) -> Clipping | None:
    """The onset of clipping where a tone of `level` lies beyond it in the first sample: no figure holds there."""
    if not _has_input(operating):
        return None
    clip = onset(operating, _transfer(operating, hertz))
    return clip if clip and level > clip.input_volts else None


def _has_input(operating: Operating) -> bool:
    signal = operating.net.condition.signal
    return signal is not None and bool(signal.into)


def _transfer(operating: Operating, hertz: float):
    """The transfer at a frequency, worked out once for an operating point: many checks ask for it."""
    memo = operating.__dict__.setdefault(MEMO, {})
    if "circuit" not in memo:
        memo["circuit"] = small_signal(operating)
    if hertz not in memo:
        memo[hertz] = transfer(memo["circuit"], hertz)
    return memo[hertz]
