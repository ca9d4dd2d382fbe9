"""Repeated buffers in noise, planted by plain copying; noise that nobody touched repeats nothing."""

import numpy as np
import pytest

from checks.tone.standstills import HASHED, StandstillDetector, repeats

RATE, STEP = 48_000, 2.0**-23


def noise(samples=60_000, seed=3):
    return np.round(np.random.default_rng(seed).standard_normal(samples) * 500) * STEP


@pytest.mark.parametrize("begins", [HASHED - 300, HASHED - 20, HASHED, 2 * HASHED - 64, 40_000])
def test_a_buffer_that_comes_twice_is_found_wherever_it_lies(begins):
    samples = noise()
    samples[begins : begins + 128] = samples[begins - 128 : begins]
    assert repeats(samples, RATE) == [pytest.approx(begins / RATE, abs=0.002)]


def test_noise_repeats_nothing():
    assert not any(repeats(noise(seed=seed), RATE) for seed in range(8))


def test_a_wave_without_noise_is_no_loss():
    assert repeats(np.tile(noise(960), 60), RATE) == []


@pytest.mark.parametrize("block", [1000, 65_536])
def test_a_held_value_is_found_in_blocks_of_any_size(block):
    samples, finder = noise(), StandstillDetector(RATE)
    samples[20_000:20_100] = samples[20_000]
    for at in range(0, len(samples), block):
        finder.add(samples[at : at + block])
    assert finder.losses() == [pytest.approx(20_000 / RATE, abs=0.03)]
