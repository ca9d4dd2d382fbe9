"""Whether a recording is the test signal itself, sent back as a file: no wire, converter or amplifier lay between.

On its way through a converter a signal is moved by a part of a sample, by another clock, and by noise and hum; a copy
of the file differs from it by a factor and by rounding. Its beginning is compared, where it fades in: later on, a tone
looks like itself a few turns away.
"""

import math

import numpy as np
from scipy.signal import oaconvolve

from checks.finite import real_arguments
from checks.tone.sources import LEAD, SignalPlan, make_beginning

BEFORE, AFTER = 0.1, 0.4  # seconds of the piece, from where the signal begins
APART = 0.08  # seconds within which that is known
ALIKE = 3e-5  # of the piece's RMS (-90 dB), that it differs by at most
TELLING = 0.01  # of the same, above which rounding allows too much: a weak recording would be called a copy
COARSEST = 2**-15  # of full scale: a step of 16 bits


@real_arguments
def is_copy(piece: np.ndarray, plan: SignalPlan, step: float) -> bool:
    """Is a piece of a recording, shape (samples,), one of the signal? `step` is the least step of the file."""
    energy = float(piece @ piece)
    first = round((LEAD - BEFORE - APART) * plan.rate)
    sent = make_beginning(plan, first + len(piece) + round(2 * APART * plan.rate))[first:]
    if not energy or len(sent) < len(piece):
        return False
    match = oaconvolve(sent, piece[::-1], "valid")
    passed = np.concatenate([[0.0], np.cumsum(sent**2)])
    energies = passed[len(piece) :] - passed[: len(passed) - len(piece)]
    at = int((match**2 / np.maximum(energies, 1e-9)).argmax())
    same = sent[at : at + len(piece)]
    rest = piece - match[at] / max(energies[at], 1e-9) * same
    level = math.sqrt(energy / len(piece))
    allowed = ALIKE * level + min(step, COARSEST)
    return allowed < TELLING * level and math.sqrt(float(rest @ rest) / len(piece)) < allowed
