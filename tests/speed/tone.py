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
ROUNDS = 5


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


def bare(whole: np.ndarray) -> None:
    """Nothing but the FFTs, of segments that lie ready in memory."""
    length = segment_length(RATE * SECONDS, RATE)
    for at in range(0, whole.shape[1] - length + 1, length // 2):
        for channel in whole:
            np.fft.rfft(channel[at : at + length])


def main() -> None:
    analyse(PLAN, RATE, CHANNELS, blocks)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # before the samples are held in memory
    recorded = list(blocks())
    whole = np.concatenate(recorded).T.copy()
    analyses, bares = [], []
    for _ in range(ROUNDS):  # in turns, so that whatever else the machine does falls on both
        analyses.append(seconds_of(lambda: analyse(PLAN, RATE, CHANNELS, lambda: iter(recorded))))
        bares.append(seconds_of(lambda: bare(whole)))
    analysis, ffts = min(analyses), min(bares)
    print(f"{SECONDS} s of stereo at {RATE} Hz: {analysis:.2f} s, bare FFTs {ffts:.2f} s, ratio {analysis / ffts:.1f}")
    print(f"memory at most {peak:.0f} MiB, numpy and scipy included")


if __name__ == "__main__":
    main()
