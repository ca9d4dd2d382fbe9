"""Hum through a sound card whose input is coupled by a small capacitor: a first-order low cut leaves no trace in a
silence. Closed form: a cut at f0 leaves 1/√(1 + (f0/f)²) of what has the frequency f."""

import math

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from checks.derived import Estimate
from checks.tone.analysis import analyse
from checks.tone.passage import UNKNOWN, Passage, first_order_cut
from checks.tone.requests import FigureRequest, find_figure
from checks.tone.sources import Signal, SignalPlan, make_signal

RATE = 48_000
SILENCE, SWEEP = SignalPlan(Signal.SILENCE, RATE, (), 6.0), SignalPlan(Signal.SWEEP, RATE, (8.0, 22_000.0), 4.0)
LINES = {49.98: 2e-3, 99.96: 1e-3, 149.94: 5e-4}  # hertz and RMS of the amplifier's hum


def through_capacitor(samples, corner):
    return sosfilt(butter(1, corner, "high", fs=RATE, output="sos"), samples) if corner else samples


def measured(samples, plan):
    samples = samples + 2e-6 * np.random.default_rng(1).standard_normal(len(samples))
    return analyse(plan, RATE, 1, lambda: [samples[:, None]])[0]


def silence(corner):
    time = np.arange(6 * RATE) / RATE
    hum = sum(math.sqrt(2) * rms * np.sin(2 * math.pi * f * time + f) for f, rms in LINES.items())
    return measured(through_capacitor(hum, corner), SILENCE)


def card(corner):
    response = measured(through_capacitor(0.4 * make_signal(SWEEP), corner), SWEEP).response
    return Passage(tuple(response.hertz), tuple(response.levels), True)


def figure(measure, analysis, passage):
    return find_figure(FigureRequest(measure, analysis_plan(analysis)), analysis, Estimate(1.0), passage)


def analysis_plan(analysis):
    return SILENCE if analysis.signal is Signal.SILENCE else SWEEP


@pytest.mark.lengthy
@pytest.mark.parametrize("corner", [20.0, 60.0, 120.0])
@pytest.mark.parametrize("measure", ["hum volts", "noise volts", "weighted noise"])
def test_what_the_card_takes_from_hum_is_put_back_by_its_own_sweep(corner, measure):
    whole, cut = figure(measure, silence(0), None), silence(corner)
    assert figure(measure, cut, None).value < whole.value * (0.99 if measure == "weighted noise" else 0.96)
    found = figure(measure, cut, card(corner))
    assert found.value == pytest.approx(whole.value, abs=2 * found.u) and found.u < 0.06 * found.value


def test_hum_through_an_unknown_card_passes_only_where_it_would_at_worst():
    """2.29 mV of hum, less a cut of 120 Hz: at 95 % the limit below the truth must not be passed."""
    truth = math.sqrt(sum(rms**2 for rms in LINES.values()))
    found = figure("hum volts", silence(120.0), UNKNOWN)
    assert found.value < 0.6 * truth < truth < found.value + 1.66 * found.u < 1.1 * truth


@pytest.mark.lengthy
def test_a_card_that_takes_nothing_moves_no_figure():
    found, whole = (figure("hum volts", silence(0), passage) for passage in (card(2.0), None))
    assert found.value == pytest.approx(whole.value, rel=0.003) and found.u < 1.1 * whole.u


@pytest.mark.lengthy
def test_no_card_is_credited_with_lifting_hum():
    """A response that rises towards low frequencies takes nothing off."""
    rising = Passage((10.0, 1000.0), (6.0, 0.0), True)
    assert figure("hum volts", silence(0), rising) == figure("hum volts", silence(0), None)


@pytest.mark.lengthy
@pytest.mark.parametrize("corner", [20.0, 60.0])
def test_a_lower_band_edge_is_the_amplifier_s_own(corner):
    """A first-order amplifier of 40 Hz, within half a per cent, whatever the card's corner is."""
    played = through_capacitor(through_capacitor(0.4 * make_signal(SWEEP), 40.0), corner)
    both = measured(played, SWEEP)
    assert figure("lower band edge", both, None).value > 44
    assert figure("lower band edge", both, first_order_cut(corner)).value > 44  # not of the card alone
    assert figure("lower band edge", both, card(corner)).value == pytest.approx(40.0, rel=0.005)
