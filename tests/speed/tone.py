"""Prints what analysing a long recording costs beside the bare FFTs of the same length, and its memory at most.

Run: python -m tests.speed.tone
"""

import resource
import time

import numpy as np

from checks.tone.analysis import analyse
from checks.tone.sources import Signal, SignalPlan
from checks.tone.spectrum import segment_length

RATE, SECONDS, CHANNELS, BLOCK = 96_000, 60, 2, 65_536


def blocks():
    """A minute of stereo made block by block, as a file would be read."""
    rng = np.random.default_rng(1)
    noise = 1e-5 * rng.standard_normal((BLOCK, CHANNELS))
    for at in range(0, RATE * SECONDS, BLOCK):
        time_of = (at + np.arange(BLOCK)) / RATE
        yield 0.5 * np.sin(2 * np.pi * PLAN.exact_hertz[0] * time_of)[:, None] + noise


PLAN = SignalPlan(Signal.TONE, RATE, (1000.0,), float(SECONDS))


def seconds_of(work) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def bare() -> None:
    length = segment_length(RATE * SECONDS, RATE)
    rest = np.zeros((0, CHANNELS))
    for block in blocks():
        rest = np.concatenate([rest, block])
        while len(rest) >= length:
            for channel in range(CHANNELS):
                np.fft.rfft(rest[:length, channel])
            rest = rest[length // 2 :]


def main() -> None:
    making = seconds_of(lambda: [None for _ in blocks()])
    analysis = min(seconds_of(lambda: analyse(PLAN, RATE, CHANNELS, blocks)) for _ in range(3)) - 2 * making
    ffts = min(seconds_of(bare) for _ in range(3)) - making
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{SECONDS} s of stereo at {RATE} Hz: {analysis:.2f} s, bare FFTs {ffts:.2f} s, ratio {analysis / ffts:.1f}")
    print(f"memory at most {peak:.0f} MiB, numpy and scipy included")


if __name__ == "__main__":
    main()
