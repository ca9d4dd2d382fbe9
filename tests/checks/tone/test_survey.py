"""Clipping, dropouts and where a signal lies, whatever the blocks."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.tone.survey import Surveyor
from tests.checks.tone.signals import in_blocks, quantised, sines


def survey(samples, rate=48_000, size=10_007):
    surveyor = Surveyor(rate, 1)
    for block in in_blocks(samples, size)():
        surveyor.add(block)
    return surveyor.finish()[0]


@pytest.mark.parametrize("bits", (16, 24))
@pytest.mark.parametrize("hertz", (41.0, 997.0))
@pytest.mark.parametrize("rms", (0.02, 0.3, 0.69))
def test_an_unclipped_sine_is_not_called_clipped_however_slow(bits, hertz, rms):
    assert not survey(quantised(sines(3, 48_000, [(rms, hertz, 0.1)]), bits)).is_clipped()


@pytest.mark.parametrize("bits", (16, 24))
@pytest.mark.parametrize("hertz", (41.0, 997.0))
@pytest.mark.parametrize("low", (-1.0, -0.6))
def test_a_clipped_sine_is_found_on_one_side_and_on_both(bits, hertz, low):
    step = 2.0 ** (1 - bits)
    x = np.clip(quantised(sines(2, 48_000, [(0.75, hertz, 0.1)]), bits), low, 1 - step)
    assert survey(x).is_clipped() and survey(x * 0.5).is_clipped()  # also scaled after the converter


@pytest.mark.parametrize("side", (-1, 1))
@pytest.mark.parametrize("top", (0.6, 0.3, 0.1))
def test_a_sine_clipped_on_one_side_only_is_found_however_low(side, top):
    """Its even harmonics would pass for those of a single-ended stage."""
    found = survey(side * np.clip(quantised(sines(2, 48_000, [(0.5, 997.0, 0.1)]), 16), -1, top))
    assert found.is_clipped() and found.flat_side == side


@pytest.mark.parametrize("hertz", (41.0, 997.0))
@pytest.mark.parametrize("gain", (0.9, 0.41))
def test_a_clipped_sine_is_found_also_when_dithered_afterwards(hertz, gain):
    """Turned down and saved again in 16 bits with triangular dither: no two samples of a top are alike for long."""
    random, step = np.random.default_rng(3), 2.0**-15
    x = gain * np.clip(sines(3, 48_000, [(0.75, hertz, 0.1)]), -1, 1)
    dither = random.random(len(x)) - random.random(len(x))
    assert survey(np.round(x / step + dither) * step).is_clipped()


@pytest.mark.parametrize("hertz", (20.0, 41.0, 103.0, 254.0, 997.0, 9999.0))
@pytest.mark.parametrize("noise", (0.0, 3e-5, 3e-4))
def test_a_dithered_sine_is_not_called_clipped(hertz, noise):
    random, step = np.random.default_rng(5), 2.0**-15
    x = sines(3, 48_000, [(0.61, hertz, 0.3), (2e-4, 100.0, 0.2)])
    dither = random.random(len(x)) - random.random(len(x))
    x = x + noise * random.standard_normal(len(x))
    assert not survey(np.round(x / step + dither) * step).is_clipped()


@pytest.mark.parametrize("peak", (1.0, 10**-0.005, 10**-0.05, 10**-0.15, 0.98))
@pytest.mark.parametrize("bits", (16, 24))
def test_a_recording_turned_up_to_a_round_level_is_found(peak, bits):
    x = sines(2, 48_000, [(0.2, 997.0, 0.1)]) + 1e-4 * np.random.default_rng(1).standard_normal(96_000)
    assert survey(quantised(x * peak / np.abs(x).max(), bits)).is_normalised()
    assert not survey(quantised(x * (peak - 2e-4) / np.abs(x).max(), bits)).is_normalised()


def both(left, right):
    surveyor = Surveyor(48_000, 2)
    surveyor.add(np.column_stack([left, right]))
    return surveyor.finish()


def test_both_channels_of_one_file_were_turned_up_where_the_louder_shows_it():
    """A program turns a stereo file up by one factor: the quieter channel ends at no round level."""
    left, right = (sines(2, 48_000, [(rms, 997.0, 0.1)]) for rms in (0.2, 0.07))
    turned = 10**-0.05 / np.abs(left).max()
    assert all(one.is_normalised() for one in both(quantised(left * turned, 24), quantised(right * turned, 24)))
    assert not any(one.is_normalised() for one in both(left, right * 0.5 / np.abs(right).max()))


def test_a_channel_that_ran_out_of_range_says_nothing_of_the_other():
    loud = np.clip(sines(2, 48_000, [(0.9, 997.0, 0.1)]), -1, 1)
    clipped, other = both(quantised(loud, 24), quantised(sines(2, 48_000, [(0.2, 997.0, 0.1)]), 24))
    assert clipped.is_clipped() and not other.is_normalised()


def test_half_waves_of_unlike_height_are_not_clipped():
    """A fifth of second harmonic in phase: one half-wave is round and broad, the other high and narrow."""
    x = sines(2, 48_000, [(0.4, 41.0, 0.0)])
    assert not survey(quantised(x + 0.35 * x**2, 16)).is_clipped()


@pytest.mark.parametrize("bits", (8, 10))
@pytest.mark.parametrize("rms", (0.003, 0.3))
def test_steps_of_a_few_bits_are_not_taken_for_clipping(bits, rms):
    x = sines(2, 48_000, [(rms, 50.0, 0.1)]) + 2.0**-bits * np.random.default_rng(2).standard_normal(96_000)
    found = survey(np.round(x * 2 ** (bits - 1)) / 2 ** (bits - 1))
    assert found.is_coarse()


def test_a_square_wave_at_full_scale_is_not_taken_for_few_bits():
    assert not survey(np.clip(1e9 * sines(2, 48_000, [(0.5, 997.0, 0.1)]), -1, 1)).is_coarse()


def test_silence_of_one_bit_is_not_clipped():
    rng = np.random.default_rng(1)
    assert not survey(rng.integers(-1, 2, 48_000) / 32_768).is_clipped()


def test_the_signal_is_found_between_silences():
    active = survey(sines(4, 48_000, [(0.3, 997, 0)], silence=1.0)).active()
    assert active.start / 48_000 == pytest.approx(1.15, abs=0.03)
    assert active.stop / 48_000 == pytest.approx(4.85, abs=0.03)


def test_a_gap_of_zeros_is_a_dropout_and_silence_around_is_not():
    whole = sines(4, 48_000, [(0.3, 997, 0.3)], silence=1.0)
    assert survey(whole).dropouts() == []
    broken = whole.copy()
    broken[120_000:120_100] = 0
    assert survey(broken).dropouts() == [2.5]


@pytest.mark.lengthy
@settings(max_examples=30)
@given(size=st.integers(50, 60_000))
def test_the_size_of_the_blocks_changes_nothing(size):
    x = sines(1, 8_000, [(0.3, 441, 0.3)], silence=0.3)
    x[7000:7040] = 0
    whole, split = survey(x, 8_000, len(x)), survey(x, 8_000, size)
    assert split.dropouts() == whole.dropouts() and len(whole.dropouts()) == 1
    assert split.peak == whole.peak and split.active() == whole.active()
    assert np.allclose(split.frames, whole.frames)


def test_what_is_no_number_and_what_is_empty_is_refused():
    with pytest.raises(ChecksError) as refused:
        survey(np.array([0.0, np.nan]))
    assert refused.value.code == "not finite"
    with pytest.raises(ChecksError) as refused:
        Surveyor(48_000, 1).finish()
    assert refused.value.code == "empty"
    with pytest.raises(ChecksError):
        Surveyor(0, 1)
