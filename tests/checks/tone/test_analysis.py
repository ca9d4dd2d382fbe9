"""Whole recordings: what is measured, and what makes it doubtful."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.tone.analysis import analyse
from checks.tone.card import is_swamped, volts_per_unit, without_floor
from checks.tone.sources import RATES, Signal, SignalPlan, coherent_frequency, make_signal
from checks.tone.trust import Doubt, clock_error
from tests.checks.tone.signals import in_blocks, sines

TONE = SignalPlan(Signal.TONE, 48_000, (1000.0,), 4.0)


def doubts(samples, plan=TONE, rate=48_000):
    return {remark.doubt for remark in analyse(plan, rate, 1, in_blocks(samples))[0].remarks}


def test_the_signal_made_for_the_kit_comes_back_without_doubt():
    recorded = 0.5 * make_signal(TONE) + 1e-5 * np.random.default_rng(1).standard_normal(len(make_signal(TONE)))
    recorded[1:] = 0.6 * recorded[1:] + 0.4 * recorded[:-1]  # a converter moves it by a part of a sample
    analysis = analyse(TONE, 48_000, 1, in_blocks(recorded))[0]
    assert analysis.remarks == () and analysis.is_usable
    assert analysis.distortion.thd < 1e-6
    passed = abs(0.6 + 0.4 * np.exp(-2j * np.pi * 1000 / 48_000))  # of the tone, by the mean of two samples
    assert analysis.distortion.fundamental.rms == pytest.approx(0.5 * 0.891 / np.sqrt(2) * passed, rel=1e-4)


def test_a_card_whose_clock_is_off_is_tolerated_and_told():
    sent = TONE.exact_hertz[0]
    analysis = analyse(TONE, 48_000, 1, in_blocks(sines(4, 48_000, [(0.3, sent * (1 + 80e-6), 0)])))[0]
    assert analysis.is_usable
    assert clock_error(analysis.distortion.frequency, sent) == pytest.approx(80e-6, abs=1e-6)


@pytest.mark.lengthy
def test_what_cannot_be_trusted_is_named():
    good = sines(4, 48_000, [(0.3, TONE.exact_hertz[0], 0)])
    broken = good.copy()
    broken[90_000:90_200] = 0
    assert Doubt.CLIPPED in doubts(np.clip(4 * good, -1, 1))
    assert Doubt.LEVEL_LOW in doubts(good / 100)
    assert Doubt.SILENT in doubts(0 * good)
    assert Doubt.LOST in doubts(broken)
    assert Doubt.OTHER_TONE in doubts(sines(4, 48_000, [(0.3, 1020, 0)]))
    assert Doubt.NO_TONE in doubts(0.1 * np.random.default_rng(1).standard_normal(len(good)))


def test_a_recording_with_a_fatal_doubt_is_not_usable():
    clipped = np.clip(4 * sines(4, 48_000, [(0.3, 997, 0)]), -1, 1)
    assert not analyse(TONE, 48_000, 1, in_blocks(clipped))[0].is_usable


def test_each_channel_is_measured_by_itself():
    sent = TONE.exact_hertz[0]
    left = sines(4, 48_000, [(0.3, sent, 0), (0.003, 2 * sent, 0)])
    pair = analyse(TONE, 48_000, 2, in_blocks(np.column_stack([left, left / 3])))
    assert [a.distortion.fundamental.rms for a in pair] == pytest.approx([0.3, 0.1], rel=1e-3)
    assert [a.distortion.thd for a in pair] == pytest.approx([0.01, 0.01], rel=1e-3)


def test_two_tones_through_a_squared_term_make_the_products_of_algebra():
    """x + c x² with tones of a and b: sidebands of c a b each, as shares of b: c a (times two sidebands)."""
    plan = SignalPlan(Signal.TWO_TONE, 48_000, (250.0, 8000.0), 4.0)
    x = make_signal(plan)
    intermodulation = analyse(plan, 48_000, 1, in_blocks(x + 0.1 * x**2))[0].intermodulation
    assert intermodulation.second == pytest.approx(2 * 0.1 * 0.8 * 0.891, rel=1e-3)
    assert intermodulation.third < 1e-6


def test_a_sweep_at_another_rate_or_too_long_is_refused():
    plan = SignalPlan(Signal.SWEEP, 48_000, (20.0, 20_000.0), 2.0)
    for rate, seconds, code in ((44_100, 3, "other rate"), (8_000, 100, "too long")):
        with pytest.raises(ChecksError) as refused:
            analyse(plan, rate, 1, in_blocks(np.ones(rate * seconds)))
        assert refused.value.code == code


@given(nominal=st.floats(30, 12_000), rate=st.sampled_from(RATES))
def test_tones_stay_near_their_name_and_low_harmonics_off_the_mains_lines(nominal, rate):
    exact = coherent_frequency(nominal, rate)
    assert abs(exact / nominal - 1) < 0.06
    turns = exact * 65_536 * 2 ** round(np.log2(rate / 48_000)) / rate
    assert turns == pytest.approx(round(turns), abs=1e-6)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("nominal", (40.0, 1000.0, 10_000.0))
def test_harmonics_of_the_three_tones_keep_clear_of_both_mains(nominal, rate):
    exact = coherent_frequency(nominal, rate)
    for order in range(1, 11):
        for mains in (50, 60):
            if exact * order < 1300:
                assert abs(exact * order - mains * round(exact * order / mains)) >= 3


@pytest.mark.parametrize(
    "change",
    (
        {"rate": 12_345},
        {"hertz": ()},
        {"hertz": (30_000.0,)},
        {"hertz": (float("nan"),)},
        {"seconds": 0.1},
        {"seconds": float("inf")},
    ),
)
def test_a_plan_that_cannot_be_played_is_refused(change):
    with pytest.raises(ChecksError):
        SignalPlan(Signal.TONE, **change)


def test_one_reading_of_a_meter_makes_volts_of_samples():
    volts = volts_per_unit(Estimate(6.32, 0.03), 0.25)
    assert volts.value == pytest.approx(25.28) and volts.u == pytest.approx(0.12)
    for meter, rms in ((Estimate(0.0), 0.25), (Estimate(1.0), 0.0)):
        with pytest.raises(ChecksError):
            volts_per_unit(meter, rms)


def test_the_card_s_floor_is_taken_away_as_power_only_where_that_leaves_a_figure():
    assert without_floor(5.0, 3.0).rms == pytest.approx(4.0)
    assert without_floor(1.2, 1.0).is_floor and without_floor(1.2, 1.0).rms == 1.2
    assert is_swamped(1.0, 0.5) and not is_swamped(1.0, 0.1)
    with pytest.raises(ChecksError):
        without_floor(-1.0, 0.0)
