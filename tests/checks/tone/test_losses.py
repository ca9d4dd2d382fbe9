"""Samples that a sound card lost, repeated or held are found in every kind of signal, and when; and never where none
were. A figure from a recording with a gap would pass what it should not."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from checks.tone.analysis import analyse
from checks.tone.sources import STEPS, Signal, SignalPlan, make_signal
from checks.tone.trust import Doubt
from tests.checks.tone.signals import in_blocks

RATE = 48_000
PLANS = {
    "tone": SignalPlan(Signal.TONE, RATE, (1000.0,), 4.0),
    "two-tone": SignalPlan(Signal.TWO_TONE, RATE, (250.0, 8000.0), 4.0),
    "silence": SignalPlan(Signal.SILENCE, RATE, (), 4.0),
    "sweep": SignalPlan(Signal.SWEEP, RATE, (8.0, 22_000.0), 5.0),
    "steps": SignalPlan(Signal.STEPS, RATE, (1000.0,), levels=STEPS.levels[::3]),
}
LOSSES = {Doubt.LOST, Doubt.JOINT, Doubt.DISTURBED, Doubt.DROPOUT}
AT = 160_037  # 3.33 s
SPOILS = {
    "zeros": lambda x, n: np.concatenate([x[:AT], np.zeros(n), x[AT + n :]]),
    "held": lambda x, n: np.concatenate([x[:AT], np.full(n, x[AT - 1]), x[AT + n :]]),
    "repeated": lambda x, n: np.concatenate([x[:AT], x[AT - n : AT], x[AT:]]),
    "lost": lambda x, n: np.concatenate([x[:AT], x[AT + n :]]),
}


def recorded(kind, clock=0.0, noise=1e-5, hum=1e-4, seed=3):
    """Played by a card whose clock is off by a share, through an amplifier with 1 % of second harmonic."""
    x = make_signal(PLANS[kind])
    if clock:
        time = np.arange(len(x))
        x = CubicSpline(time, x)(np.clip(time * (1 + clock), 0, len(x) - 1))
    x = 0.5 * x + 0.01 * x**2 + noise * np.random.default_rng(seed).standard_normal(len(x))
    time = np.arange(len(x)) / RATE
    x += hum * (np.sin(2 * np.pi * 50.02 * time) + np.sin(2 * np.pi * 100.04 * time + 1))
    return np.round(x * 2**23) / 2**23


def losses(x, kind):
    """Seconds of every loss that is remarked."""
    (analysis,) = analyse(PLANS[kind], RATE, 1, in_blocks(x))
    remarks = [remark for remark in analysis.remarks if remark.doubt in LOSSES]
    assert bool(remarks) is not analysis.is_usable or not remarks
    return [remark.figure for remark in remarks]


@pytest.mark.lengthy
@pytest.mark.parametrize("length", [1, 48, 480, 4800])
@pytest.mark.parametrize("spoil", SPOILS)
@pytest.mark.parametrize("kind", ["tone", "two-tone", "sweep"])
def test_samples_lost_for_20_microseconds_to_100_milliseconds_are_found_and_when(kind, spoil, length):
    assert losses(SPOILS[spoil](recorded(kind), length), kind) == [pytest.approx(AT / RATE, abs=0.15)]


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("spoil", "length"), [("zeros", 3), ("held", 480), ("repeated", 48), ("lost", 1), ("lost", 480)]
)
def test_a_stepped_level_is_watched_through_all_its_steps(spoil, length):
    assert losses(SPOILS[spoil](recorded("steps"), length), "steps") == [pytest.approx(AT / RATE, abs=0.15)]


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("spoil", "length"),
    [("zeros", 10), ("zeros", 4800), ("held", 48), ("repeated", 48), ("repeated", 4800), ("lost", 48), ("lost", 1024)],
)
def test_in_silence_the_hum_and_the_noise_tell_of_lost_samples(spoil, length):
    assert losses(SPOILS[spoil](recorded("silence"), length), "silence") == [pytest.approx(AT / RATE, abs=0.2)]


CLEAN = {
    "quiet": {"noise": 1e-6, "hum": 0.0},
    "noisy": {"noise": 3e-3},
    "humming": {"hum": 1e-2},
    "clock fast": {"clock": 1e-4},
    "clock slow": {"clock": -1e-4},
    "no noise": {"noise": 0.0},
}


@pytest.mark.lengthy
@pytest.mark.parametrize("name", CLEAN)
@pytest.mark.parametrize("kind", PLANS)
def test_nothing_is_called_lost_in_a_whole_recording(kind, name):
    assert losses(recorded(kind, **CLEAN[name]), kind) == []


@pytest.mark.lengthy
@pytest.mark.parametrize("kind", ["tone", "sweep"])
def test_an_amplifier_that_clips_or_has_crossover_distortion_loses_no_samples(kind):
    x = recorded(kind)
    assert losses(np.clip(x, -0.3, 0.32) + 1e-6 * np.sin(np.arange(len(x))), kind) == []
    assert losses(np.sign(x) * np.maximum(np.abs(x) - 0.02, 0) + 1e-5 * np.cos(np.arange(len(x)) ** 2), kind) == []


def test_steps_that_clip_lose_no_samples():
    assert losses(np.clip(recorded("steps"), -0.3, 0.32), "steps") == []


def test_crackles_in_silence_are_no_lost_samples():
    x, rng = recorded("silence"), np.random.default_rng(1)
    pulse = np.exp(-np.arange(2000) / 300) * np.sin(0.05 * np.arange(2000))
    for at in rng.integers(0, len(x) - 2000, 20):
        x[at : at + 2000] += 2e-3 * pulse
    assert losses(x, "silence") == []


def test_hum_without_noise_repeats_itself_and_has_lost_nothing():
    time = np.arange(5 * RATE) / RATE
    assert losses(np.round(1e-3 * np.sin(2 * np.pi * 50 * time) * 2**15) / 2**15, "silence") == []
