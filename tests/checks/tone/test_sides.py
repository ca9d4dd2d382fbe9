"""Swapped channels of a stereo amplifier: a weak channel's figures would be booked on the other."""

import numpy as np
import pytest

from checks.tone.analysis import analyse, cut
from checks.tone.sides import with_mark
from checks.tone.sources import STEPS, Signal, SignalPlan, make_signal
from checks.tone.survey import Stretch
from checks.tone.trust import Doubt
from tests.checks.tone.signals import in_blocks

pytestmark = pytest.mark.slow  # simulations

RATE = 48_000
PLANS = {
    "tone": SignalPlan(Signal.TONE, RATE, (1000.0,), 4.0),
    "low tone": SignalPlan(Signal.TONE, RATE, (40.0,), 4.0),
    "two-tone": SignalPlan(Signal.TWO_TONE, RATE, (250.0, 8000.0), 4.0),
    "sweep": SignalPlan(Signal.SWEEP, RATE, (8.0, 22_000.0), 4.0),
    "steps": SignalPlan(Signal.STEPS, RATE, (1000.0,), levels=STEPS.levels[::3]),
}
SIDES = {Doubt.SWAPPED, Doubt.MIXED, Doubt.SIDES_UNKNOWN}


def through(sent, gains=(0.5, 0.45), leak=0.01, early=0.3, noise=1e-5, hum=1e-3):
    """A stereo amplifier that leaks 40 dB down and hums, recorded from a little before the file was played."""
    x = np.concatenate([np.zeros((round(early * RATE), 2)), sent]) if early >= 0 else sent[round(-early * RATE) :]
    mixed = np.column_stack([x[:, 0] + leak * x[:, 1], x[:, 1] + leak * x[:, 0]]) * np.array(gains)
    time = np.arange(len(x))[:, None] / RATE
    random = np.random.default_rng(7)
    return mixed + hum * np.sin(2 * np.pi * 100 * time + [0, 1]) + noise * random.standard_normal(mixed.shape)


def told(samples, name, is_stereo=True):
    analysis = analyse(PLANS[name], RATE, 2, in_blocks(samples), is_stereo=is_stereo)
    doubts = [{remark.doubt for remark in one.remarks} & SIDES for one in analysis]
    return doubts[0] if doubts[0] == doubts[1] else doubts


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("early", [0.0, 3.0])
def test_channels_in_order_are_called_nothing_and_swapped_ones_swapped(name, early):
    x = through(with_mark(make_signal(PLANS[name]), RATE), early=early)
    assert told(x, name) == set()
    assert told(x[:, ::-1], name) == {Doubt.SWAPPED}
    assert told(x[:, ::-1], name, is_stereo=False) == {Doubt.SWAPPED}


@pytest.mark.parametrize("name", PLANS)
def test_a_mono_player_or_recorder_mixes_the_channels(name):
    x = with_mark(make_signal(PLANS[name]), RATE)
    mixed = np.repeat(x.mean(axis=1, keepdims=True), 2, axis=1)
    assert told(through(mixed), name) == {Doubt.MIXED}
    one = np.repeat(through(make_signal(PLANS[name])[:, None].repeat(2, axis=1))[:, :1], 2, axis=1)
    assert told(one, name) == {Doubt.MIXED} and told(one, name, is_stereo=False) == set()


@pytest.mark.parametrize("name", PLANS)
def test_without_the_mark_it_is_said_that_nobody_knows(name):
    plain = make_signal(PLANS[name])[:, None].repeat(2, axis=1)
    assert told(through(plain), name) == {Doubt.SIDES_UNKNOWN} and told(through(plain), name, is_stereo=False) == set()


def test_a_recording_begun_after_the_mark_is_unknown():
    assert told(through(with_mark(make_signal(PLANS["tone"]), RATE), early=-0.5), "tone") == {Doubt.SIDES_UNKNOWN}


def test_one_channel_on_the_other_s_input_is_swapped_though_its_own_is_silent():
    x = through(with_mark(make_signal(PLANS["tone"]), RATE))
    x[:, 1], x[:, 0] = x[:, 0].copy(), 0.0
    assert told(x, "tone") == {Doubt.SWAPPED}


def test_swapped_channels_spoil_every_figure():
    x = through(with_mark(make_signal(PLANS["tone"]), RATE))
    assert all(one.is_usable for one in analyse(PLANS["tone"], RATE, 2, in_blocks(x), is_stereo=True))
    swapped = analyse(PLANS["tone"], RATE, 2, in_blocks(x[:, ::-1]), is_stereo=True)
    assert not any(one.is_usable for one in swapped)


@pytest.mark.parametrize("name", ["tone", "sweep"])
def test_the_mark_changes_no_figure(name):
    plain, marked = make_signal(PLANS[name]), with_mark(make_signal(PLANS[name]), RATE)
    pair = [analyse(PLANS[name], RATE, 1, in_blocks(0.5 * x))[0] for x in (plain, marked[:, 0])]
    assert [{r.doubt for r in one.remarks} for one in pair][0] == {r.doubt for r in pair[1].remarks}
    if name == "tone":
        assert pair[0].distortion.fundamental.rms == pytest.approx(pair[1].distortion.fundamental.rms, rel=1e-9)
    else:
        assert np.abs(pair[0].response.levels - pair[1].response.levels).max() < 0.01


def test_only_the_beginning_is_read_again():
    """Ten minutes of stereo are decoded once for their figures, and not once more for which channel is which."""
    seen = []

    def blocks():
        for n in range(100):
            seen.append(n)
            yield np.zeros((RATE, 2))

    assert sum(len(piece) for piece in cut(blocks(), Stretch(0, RATE))) == RATE and len(seen) <= 2
