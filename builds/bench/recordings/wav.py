"""A test signal as the bytes of a WAV file."""

import io

import soundfile

from checks.tone.sources import SignalPlan, make_signal


def wav_bytes(plan: SignalPlan) -> bytes:
    """Mono, 24 bits, at the plan's sample rate."""
    out = io.BytesIO()
    soundfile.write(out, make_signal(plan), plan.rate, subtype="PCM_24", format="WAV")
    return out.getvalue()
