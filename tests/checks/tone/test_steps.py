"""Stepped levels: the output at which distortion is reached, on an amplifier of known law."""

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.tone.analysis import analyse
from checks.tone.sources import STEPS, Signal, SignalPlan, make_signal
from checks.tone.steps import clipping_onset, output_at_distortion
from checks.tone.trust import Doubt
from tests.checks.tone.signals import in_blocks


def steps_of(samples):
    return analyse(STEPS, STEPS.rate, 1, in_blocks(samples, 65_536))[0].steps


@pytest.mark.lengthy
def test_a_second_order_law_reaches_one_per_cent_where_algebra_says():
    """y = x + c x²: THD is c a / 2 for an amplitude of a."""
    x = make_signal(STEPS)
    steps = steps_of(0.5 * (x + 0.05 * x**2) + 1e-6 * np.random.default_rng(1).standard_normal(len(x)))
    assert len(steps) == len(STEPS.levels)
    result = output_at_distortion(steps, 0.01)
    assert result.rms * np.sqrt(2) == pytest.approx(0.5 * 2 * 0.01 / 0.05, rel=0.01)
    assert output_at_distortion(steps, 0.2) is None


@pytest.mark.lengthy
def test_hard_clipping_shows_as_lost_gain_just_past_its_onset():
    x = make_signal(STEPS)
    noise = 1e-5 * np.random.default_rng(1).standard_normal(len(x))
    result = clipping_onset(steps_of(np.clip(0.8 * x, -0.3, 0.3) + noise))
    assert -8.5 < result.level < -6.0  # 0.3 of 0.8 x 0.891 is -7.5 dB: half a decibel is lost a little above it
    assert clipping_onset(steps_of(0.5 * x)) is None


def limited(samples, threshold, release=0.3):
    """By a limiter that follows the peaks and keeps the waveform: textbook attack and release."""
    level, gains = 0.0, []
    for peak in np.abs(samples[: len(samples) // 48 * 48]).reshape(-1, 48).max(axis=1):
        fall = level * np.exp(-0.001 / release)
        level = level + (peak - level) * 0.2 if peak > level else max(peak, fall)
        gains.append(min(1.0, threshold / max(level, 1e-9)))
    return samples * np.interp(np.arange(len(samples)), 48 * np.arange(len(gains)) + 24, gains)


def doubted(samples):
    noise = 2e-5 * np.random.default_rng(1).standard_normal(len(samples))
    (result,) = analyse(STEPS, STEPS.rate, 1, in_blocks(samples + noise, 65_536))
    return Doubt.LEVEL_CONTROLLED in {remark.doubt for remark in result.remarks}


@pytest.mark.lengthy
@pytest.mark.parametrize("threshold", [0.2, 0.3])
def test_gain_that_falls_while_the_wave_stays_as_it_was_is_the_recorder_s(threshold):
    x = make_signal(STEPS)
    assert doubted(limited(0.5 * (x + 0.04 * x**2), threshold))


LAWS = {
    "hard": lambda x: np.clip(x, -0.5, 0.5),
    "one side": lambda x: np.clip(x, -0.5, 9),
    "saturation": lambda x: 0.5 * np.tanh(1.5 * x),
    "fifth order": lambda x: x - 0.25 * x**5,
    "curved and cut": lambda x: np.clip(x + 0.2 * x**2, -0.5, 0.7),
}


@pytest.mark.lengthy
@pytest.mark.parametrize("law", LAWS)
def test_an_amplifier_that_is_driven_too_far_is_not_called_a_limiter(law):
    assert not doubted(0.6 * LAWS[law](make_signal(STEPS)))


@pytest.mark.lengthy
def test_a_recording_that_stops_half_way_is_refused():
    x = make_signal(STEPS)
    with pytest.raises(ChecksError) as refused:
        steps_of(x[: len(x) // 2])
    assert refused.value.code == "too short"


def test_measuring_steps_needs_two_of_them():
    for figure in (clipping_onset, lambda steps: output_at_distortion(steps, 0.01)):
        with pytest.raises(ChecksError):
            figure(())
    with pytest.raises(ChecksError):
        SignalPlan(Signal.STEPS)
