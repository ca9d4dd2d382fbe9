"""How often noise alone is taken for something: by theory, and by many draws."""

import math

import numpy as np
import pytest

from checks.tone.analysis import analyse
from checks.tone.losses import MOST_OF, chance_together
from checks.tone.sources import Signal, SignalPlan
from checks.tone.trust import Doubt

pytestmark = pytest.mark.lengthy

RATE = 48_000
SILENCE = SignalPlan(Signal.SILENCE, RATE, (), 8.0)


def test_steps_that_lie_together_by_chance_are_as_rare_as_said():
    """Random angles fall below a chance of p at most in p of all draws: the bound is a bound."""
    random = np.random.default_rng(1)
    result = np.array([chance_together(random.uniform(0, 2 * math.pi, 9)) for _ in range(4000)])
    for p in (0.3, 0.1, 0.03, 0.01):
        assert (result <= p).mean() <= p + 3 * math.sqrt(p / 4000)
    assert chance_together(np.full(9, 1.0)) == 0 and chance_together(np.array([0.01, 6.28, 0.0, 6.27] * 3)) < 1e-6
    assert 0 < MOST_OF <= 1


def noise(seed, hiss=1e-4, seconds=6.0, slope=0.0):
    """White, or falling with frequency (`slope` as a power), as a valve's flicker noise does."""
    samples = np.random.default_rng(seed).standard_normal(round(seconds * RATE))
    if slope:
        bins = np.fft.rfft(samples)
        bins[1:] /= np.arange(1, len(bins)) ** slope
        samples = np.fft.irfft(bins, len(samples))
        samples /= samples.std()
    return hiss * samples


def told(samples):
    (result,) = analyse(SILENCE, RATE, 1, lambda: [samples[:, None]])
    return {remark.doubt for remark in result.remarks}, result.hum.mains


def test_noise_that_was_taken_for_gated_or_for_hum_is_neither():
    for seed in (27, 37):
        assert told(noise(seed)) == (set(), 0.0)


@pytest.mark.slow
@pytest.mark.parametrize("slope", [0.0, 0.5])
@pytest.mark.parametrize("seconds", [4.0, 6.0])
def test_of_two_hundred_silences_of_noise_none_is_refused_and_none_hums(seconds, slope):
    """One in a thousand would be found in every fifth run; two in a hundred were refused."""
    results = [told(noise(seed, seconds=seconds, slope=slope)) for seed in range(200)]
    assert [
        n for n, (doubts, mains) in enumerate(results) if doubts & {Doubt.LEVEL_CONTROLLED, Doubt.LOST} or mains
    ] == []
