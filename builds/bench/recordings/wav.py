"""A test signal as the bytes of a WAV file."""

import io

import numpy as np
import soundfile

from checks.tone.sides import with_mark
from checks.tone.sources import FULL, SignalPlan, inverse_of_sweep, make_signal


def wav_bytes(plan: SignalPlan, channels: int = 1) -> bytes:
    """24 bits, at the plan's sample rate; of two channels the left one is marked."""
    samples = make_signal(plan)
    return _written(with_mark(samples, plan.rate) if channels == 2 else samples, plan.rate)


def inverse_bytes(plan: SignalPlan) -> bytes:
    """The inverse of a sweep, at its level: a recording of the sweep convolved with it is the response to a pulse.
    Raises ChecksError for what is no sweep."""
    inverse = inverse_of_sweep(plan)
    return _written(inverse * FULL / np.abs(inverse).max(), plan.rate)


def _written(samples, rate: int) -> bytes:
    out = io.BytesIO()
    soundfile.write(out, samples, rate, subtype="PCM_24", format="WAV")
    return out.getvalue()
