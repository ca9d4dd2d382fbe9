"""Stepped levels: the output at which distortion is reached, on an amplifier of known law."""

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.tone.analysis import analyse
from checks.tone.sources import STEPS, Signal, SignalPlan, make_signal
from checks.tone.steps import clipping_onset, output_at_distortion
from tests.checks.tone.signals import in_blocks


def steps_of(samples):
    return analyse(STEPS, STEPS.rate, 1, in_blocks(samples, 65_536))[0].steps


def test_a_second_order_law_reaches_one_per_cent_where_algebra_says():
    """y = x + c x²: THD is c a / 2 for an amplitude of a."""
    x = make_signal(STEPS)
    steps = steps_of(0.5 * (x + 0.05 * x**2) + 1e-6 * np.random.default_rng(1).standard_normal(len(x)))
    assert len(steps) == len(STEPS.levels)
    result = output_at_distortion(steps, 0.01)
    assert result.rms * np.sqrt(2) == pytest.approx(0.5 * 2 * 0.01 / 0.05, rel=0.01)
    assert output_at_distortion(steps, 0.2) is None


def test_hard_clipping_shows_as_lost_gain_just_past_its_onset():
    x = make_signal(STEPS)
    noise = 1e-5 * np.random.default_rng(1).standard_normal(len(x))
    result = clipping_onset(steps_of(np.clip(0.8 * x, -0.3, 0.3) + noise))
    assert -8.5 < result.level < -6.0  # 0.3 of 0.8 x 0.891 is -7.5 dB: half a decibel is lost a little above it
    assert clipping_onset(steps_of(0.5 * x)) is None


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
