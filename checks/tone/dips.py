"""A notch in a sweep's response that is too narrow for an amplifier: the recorder or the program filtered there.

A trap of coil and capacitor, or a tone control's hollow, is a tenth of its frequency wide or more; a filter against hum
or whistles is a hundredth or less, and slips between the points of a response. Every bin of the spectrum is compared
with the median of those about it, and that with those farther out: in a wide hollow it is below them as well. What
rings on after the pulse is the notch itself, so that the noise which might make a dip is looked for before it.
"""

import numpy as np

from checks.tone.sources import SignalPlan

ABOUT, LEAST_ABOUT = 0.03, 4.0  # share of the frequency, and hertz, on either side of a bin that the median is over
WIDER, EVEN = 3.3, 0.8  # times as far out; share of the median there (-2 dB), that the nearer one has at least
DEEP = 0.8  # of that median (-2 dB), at most, in a dip
QUIET = 0.05  # of the same, above which noise or hum may have made it
PER_OCTAVE = 48  # pieces that share one median
EDGES, HIGHEST = (2.0, 1.15), 20_000.0  # ratios by which the sweep's ends are kept off; hertz


def narrow_dip(transfer: np.ndarray, noise: np.ndarray, plan: SignalPlan) -> float:
    """Hertz of the deepest narrow dip of a response's magnitudes (bins,), 0 for none. `noise`: the same of what lies
    before the pulse."""
    width = plan.rate / 2 / (len(transfer) - 1)
    noise = np.maximum(noise, _smooth(noise))
    low, high = plan.hertz[0] * EDGES[0], min(plan.hertz[1] / EDGES[1], 0.46 * plan.rate, HIGHEST)
    edges = np.geomspace(max(low, 2 * LEAST_ABOUT), high, round(np.log2(high / low) * PER_OCTAVE) + 1)
    deepest = [_deepest(transfer, noise, one, two, width) for one, two in zip(edges, edges[1:], strict=False)]
    depth, at = min(deepest, default=(1.0, 0))
    return at * width if depth < DEEP else 0.0


def _deepest(transfer: np.ndarray, noise: np.ndarray, low: float, high: float, width: float) -> tuple[float, int]:
    """(share of the median, bin) of the least magnitude between two frequencies, where no noise reaches."""
    first, last = round(low / width), max(round(low / width) + 1, round(high / width))
    reach = max(ABOUT * low, LEAST_ABOUT)
    about, beyond = (_median(transfer, low - far, high + far, width) for far in (reach, WIDER * reach))
    if about < EVEN * beyond:
        return 1.0, first
    clear = noise[first:last] < QUIET * about
    shares = np.where(clear, transfer[first:last] / max(about, 1e-300), 1.0)
    at = int(shares.argmin())
    return float(shares[at]), first + at


def _median(transfer: np.ndarray, low: float, high: float, width: float) -> float:
    return float(np.median(transfer[max(1, round(low / width)) : round(high / width) + 1]))


def _smooth(magnitudes: np.ndarray, bins: int = 33) -> np.ndarray:
    return np.sqrt(np.convolve(magnitudes**2, np.full(bins, 1 / bins), "same"))
