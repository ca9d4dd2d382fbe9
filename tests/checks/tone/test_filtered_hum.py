"""Hum that the recorder filtered out is not said to be absent. The filters are those of scipy, the hum is made here."""

import math

import numpy as np
import pytest
from scipy.signal import iirnotch, lfilter

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.tone.analysis import analyse
from checks.tone.notches import CHANCE, LowBand
from checks.tone.requests import find_figure, request_from
from checks.tone.sources import Signal, SignalPlan
from checks.tone.trust import Doubt

RATE = 48_000
PLAN = SignalPlan(Signal.SILENCE, RATE, (), 10.0)
LINES = {1: 3e-3, 2: 3e-3, 3: 5e-4, 4: 5e-4, 5: 2e-4, 6: 4e-4}  # peaks by multiple of the mains


def hum(lines=LINES, *, mains=50.0, noise=1e-4, slope=0.0, seconds=10.0, seed=1):
    """Lines in noise that is white, or falls with frequency by a power."""
    count = round(seconds * RATE)
    time = np.arange(count) / RATE
    bins = np.fft.rfft(np.random.default_rng(seed).standard_normal(count))
    bins[1:] /= np.arange(1, len(bins)) ** slope
    hiss = np.fft.irfft(bins, count)
    tones = sum(peak * np.sin(2 * math.pi * mains * k * time + k * k) for k, peak in lines.items())
    return tones + noise * hiss / hiss.std()


def without(samples, quality, *hertz):
    """Through narrow filters, recorded when they have come to rest."""
    for f in hertz:
        samples = lfilter(*iirnotch(f, quality, RATE), samples)
    return samples[2 * RATE :]


def measured(samples):
    (result,) = analyse(PLAN, RATE, 1, lambda: [samples[:, None]])
    return result


def doubts(samples):
    return {remark.doubt for remark in measured(samples).remarks}


@pytest.mark.lengthy
@pytest.mark.parametrize("quality", [1, 5, 30])
@pytest.mark.parametrize("hertz", [(50,), (50, 100), (50, 100, 150, 200)])
def test_hum_that_was_filtered_out_gives_no_figure(quality, hertz):
    """Where there are 3.1 mV, 0.6 mV used to be read."""
    result = measured(without(hum(seconds=12.0), quality, *hertz))
    assert not result.is_usable
    with pytest.raises(ChecksError) as refused:
        find_figure(request_from("hum volts", {"signal": "silence"}), result, Estimate(1.0, 0.01))
    assert refused.value.code == "unusable"


@pytest.mark.lengthy
@pytest.mark.parametrize("mains", [50.0, 60.0])
@pytest.mark.parametrize("quality", [3, 10])
def test_a_silence_whose_every_line_was_filtered_out_does_not_pass_for_one_without_hum(quality, mains):
    """Nothing is left that tells the mains frequency: the hum read nothing at all, and passed."""
    x = hum({1: 3e-3, 2: 3e-3, 4: 5e-4}, mains=mains, seconds=12.0)
    result = measured(without(x, quality, mains, 2 * mains, 4 * mains))
    assert result.hum.total < 1e-4
    assert Doubt.FILTERED in {remark.doubt for remark in result.remarks} and not result.is_usable


@pytest.mark.lengthy
@pytest.mark.parametrize("hertz", [440.0, 1000.0, 10_000.0])
def test_hum_filtered_out_beside_a_tone_gives_no_distortion_and_noise(hertz):
    plan = SignalPlan(Signal.TONE, RATE, (hertz,), 6.0)
    time = np.arange(9 * RATE) / RATE
    tone = 0.3 * np.sin(2 * math.pi * plan.exact_hertz[0] * time) * (time < 7.5)
    for samples, is_filtered in (
        (hum(seconds=9.0), False),
        (without(hum(seconds=11.0), 10, *range(50, 350, 50)), True),
    ):
        (result,) = analyse(plan, RATE, 1, lambda x=samples: [(x + tone)[:, None]])
        assert (Doubt.FILTERED in {remark.doubt for remark in result.remarks}) is is_filtered


def test_hum_that_an_amplifier_changes_while_it_plays_is_not_called_filtered():
    """Its current sets which multiples ripple has most of: 200 Hz twenty times 100 Hz, without 50 Hz."""
    plan = SignalPlan(Signal.TONE, RATE, (1000.0,), 4.0)
    time = np.arange(5 * RATE) / RATE
    x = hum({2: 5e-5, 4: 1e-3, 6: 3e-4}, seconds=5.0) + 0.3 * np.sin(2 * math.pi * plan.exact_hertz[0] * time)
    (result,) = analyse(plan, RATE, 1, lambda: [x[:, None]])
    assert Doubt.FILTERED not in {remark.doubt for remark in result.remarks}


@pytest.mark.parametrize("seed", range(12))
def test_noise_without_any_line_is_not_taken_for_filtered(seed):
    band = LowBand(1000, 1)
    slope = (0.0, 0.5, 1.0)[seed % 3]
    bins = np.fft.rfft(np.random.default_rng(seed).standard_normal(1000 * (4, 10, 20, 60)[seed % 4]))
    bins[1:] /= np.arange(1, len(bins)) ** slope
    band.add(np.fft.irfft(bins)[:, None])
    assert not band.filtered(0, 0.0)


@pytest.mark.lengthy
@pytest.mark.parametrize("slope", [0.0, 0.5])
@pytest.mark.parametrize("quality", [1, 3, 10])
def test_a_filter_at_the_only_odd_line_shows_in_the_noise_beside_it(slope, quality):
    """Of 50 and 100 Hz, 50 Hz filtered out: the lines alone look like those of a rectifier."""
    result = measured(without(hum({1: 3e-3, 2: 1e-3}, slope=slope, seconds=14.0), quality, 50))
    assert [(r.doubt, r.figure) for r in result.remarks] == [(Doubt.FILTERED, pytest.approx(50, rel=0.01))]


@pytest.mark.lengthy
@pytest.mark.parametrize(
    "lines",
    [LINES, {1: 1e-3}, {2: 1e-3}, {1: 1e-3, 3: 3e-3}, {2: 1e-3, 4: 5e-4, 6: 2e-4}, {1: 1e-3, 2: 3e-5}],
    ids=["all", "induced", "ripple", "third stronger", "even", "hardly any ripple"],
)
@pytest.mark.parametrize("mains", [49.93, 60.0])
@pytest.mark.parametrize("slope", [0.0, 0.5, 1.0])
def test_honest_hum_of_either_origin_is_not_taken_for_filtered(lines, mains, slope):
    x = hum(lines, mains=mains, slope=slope, noise=1e-3 if slope else 1e-4, seconds=6.0)
    assert Doubt.FILTERED not in doubts(x)
    assert measured(x).is_usable


@pytest.mark.lengthy
def test_a_third_multiple_lost_in_noise_does_not_make_a_missing_root():
    assert Doubt.FILTERED not in doubts(hum({2: 1e-3, 3: 2e-6}, noise=1e-3))


@pytest.mark.slow
def test_of_a_thousand_silences_none_is_taken_for_filtered():
    """By the F distribution, at most one in ten thousand (`CHANCE`); flicker noise is held by the quieter side."""
    assert CHANCE <= 1e-4
    for seed in range(1000):
        slope = (0.0, 0.5, 1.0)[seed % 3]
        random = np.random.default_rng(seed)
        bins = np.fft.rfft(random.standard_normal(1000 * random.choice([4, 10, 30])))
        bins[1:] /= np.arange(1, len(bins)) ** slope
        low = np.fft.irfft(bins)
        band = LowBand(1000, 1)
        band.add((low + 30 * low.std() * np.sin(2 * math.pi * 0.05 * np.arange(len(low))))[:, None])
        assert not band.filtered(0, 50.0), seed
        assert not band.filtered(0, 60.0), seed
        assert not band.filtered(0, 0.0), seed
