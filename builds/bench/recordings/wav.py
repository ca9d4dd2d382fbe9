"""A test signal as the bytes of a WAV file."""

import io

import soundfile

from checks.tone.sides import with_mark
from checks.tone.sources import SignalPlan, make_signal


def wav_bytes(plan: SignalPlan, channels: int = 1) -> bytes:
    """24 bits, at the plan's sample rate; of two channels the left one is marked."""
    out, samples = io.BytesIO(), make_signal(plan)
    samples = with_mark(samples, plan.rate) if channels == 2 else samples
    soundfile.write(out, samples, plan.rate, subtype="PCM_24", format="WAV")
    return out.getvalue()
