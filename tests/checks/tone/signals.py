"""Signals of exactly known content for the tests, made here by themselves."""

import numpy as np


def sines(seconds, rate, parts, *, silence=0.0):
    """The sum of (RMS, hertz, radians), shape (samples,), with seconds of silence on both sides."""
    time = np.arange(round(seconds * rate)) / rate
    body = sum((np.sqrt(2) * rms * np.sin(2 * np.pi * f * time + turn) for rms, f, turn in parts), np.zeros(len(time)))
    rest = np.zeros(round(silence * rate))
    return np.concatenate([rest, body, rest])


def quantised(samples, bits, seed=1):
    """Rounded to `bits` with triangular dither of two steps, as converters do."""
    step = 2.0 ** (1 - bits)
    rng = np.random.default_rng(seed)
    dither = (rng.random(len(samples)) - rng.random(len(samples))) * step
    return np.round((samples + dither) / step) * step


def in_blocks(samples, size=10_007):
    """A fresh pass over the samples, shape (samples,) or (samples, channels), in blocks of an awkward size."""
    columns = samples if samples.ndim == 2 else samples[:, None]
    return lambda: (columns[at : at + size] for at in range(0, len(columns), size))
