"""Frequency response from a sweep, against filters of known prototype (scipy.signal's own responses)."""

import numpy as np
import pytest
from scipy import signal

from checks.errors import ChecksError
from checks.tone.response import measure_response
from checks.tone.sources import Signal, SignalPlan, inverse_of_sweep, make_signal

PLAN = SignalPlan(Signal.SWEEP, 48_000, (5.0, 22_000.0), 6.0)
HALF = 10 * np.log10(2)


def played(*filters, delay=3000, noise=0.0, seed=1, square=0.0):
    x = make_signal(PLAN)
    for sections in filters:
        x = signal.sosfilt(sections, x)
    smooth = signal.sosfiltfilt(signal.butter(8, 9_000, fs=48_000, output="sos"), x)  # whose square does not alias
    x = 0.4 * x + square * smooth**2
    rng = np.random.default_rng(seed)
    return np.concatenate([np.zeros(delay), x, np.zeros(2000)]) + noise * rng.standard_normal(len(x) + delay + 2000)


@pytest.mark.lengthy
@pytest.mark.parametrize("delay", (0, 12_345))
@pytest.mark.parametrize("square", (0.0, 0.02))
@pytest.mark.parametrize(("low", "high"), ((20, 15_000), (35, 8_000)))
def test_a_filter_s_response_is_right_within_a_tenth_of_a_db(delay, square, low, high):
    filters = (signal.butter(1, low, "high", fs=48_000, output="sos"), signal.butter(2, high, fs=48_000, output="sos"))
    response = measure_response(played(*filters, delay=delay, noise=1e-5, square=square), PLAN)
    expected = 20 * np.log10(np.abs(signal.sosfreqz(np.vstack(filters), worN=response.hertz, fs=48_000)[1]))
    expected -= np.interp(1000, response.hertz, expected)
    shown = expected > -30
    assert np.abs(response.levels - expected)[shown].max() < 0.1
    assert response.edge(HALF, -1) == pytest.approx(low, rel=0.005)
    assert response.edge(HALF, 1) == pytest.approx(high, rel=0.005)


@pytest.mark.lengthy
def test_a_flat_response_has_no_edges_and_no_gain_but_its_own():
    response = measure_response(played(), PLAN)
    assert response.edge(1.0, -1) is None and response.edge(1.0, 1) is None
    assert response.gain == pytest.approx(20 * np.log10(0.4), abs=0.01)
    assert response.u.max() < 0.01


@pytest.mark.lengthy
def test_more_noise_is_more_doubt():
    quiet, loud = (measure_response(played(noise=noise), PLAN).u for noise in (1e-5, 1e-3))
    assert np.median(loud) > 30 * np.median(quiet)


def test_a_recording_without_the_sweep_is_refused():
    rng = np.random.default_rng(4)
    for samples, code in (
        (rng.standard_normal(48_000 * 8), "no sweep found"),
        (np.zeros(48_000), "too short"),
    ):
        with pytest.raises(ChecksError) as refused:
            measure_response(samples, PLAN)
        assert refused.value.code == code
    with pytest.raises(ChecksError):
        measure_response(np.zeros(10), SignalPlan(Signal.TONE))


def test_the_sweep_and_its_inverse_make_one_pulse():
    pulse = signal.fftconvolve(make_signal(PLAN), inverse_of_sweep(PLAN))
    peak = int(np.argmax(np.abs(pulse)))
    beside = np.abs(np.concatenate([pulse[: peak - 480], pulse[peak + 480 :]])).max()
    assert beside < 0.02 * pulse[peak]
    with pytest.raises(ChecksError):
        inverse_of_sweep(SignalPlan(Signal.TONE))


def notched(hertz, quality):
    return signal.tf2sos(*signal.iirnotch(hertz, quality, 48_000))


@pytest.mark.lengthy
@pytest.mark.parametrize("hertz", [50.0, 311.0, 1500.0, 9001.0])
@pytest.mark.parametrize("quality", [20, 45, 70, 100, 300])
def test_no_notch_passes_for_a_flat_response(hertz, quality):
    """A filter against hum or whistles, from scipy's design: the wider ones are edges, the narrower no amplifier's."""
    response = measure_response(played(notched(hertz, quality), noise=1e-5), PLAN)
    edges = [response.edge(1.0, side) for side in (-1, 1)]
    assert edges != [None, None] or response.notch == pytest.approx(hertz, rel=0.03)


@pytest.mark.lengthy
@pytest.mark.parametrize(
    "filters",
    [
        [signal.butter(4, 40, "high", fs=48_000, output="sos")],
        [signal.butter(2, 6_000, fs=48_000, output="sos")],
        [notched(500.0, 0.7)],
        [notched(50.0, 3.0)],
        [notched(10_000.0, 9.0)],
    ],
    ids=["rumble", "transformer", "tone control with its middle down", "a trap for hum", "a trap for whistles"],
)
@pytest.mark.parametrize("hum", [0.0, 1e-3])
def test_what_an_amplifier_makes_is_no_notch(filters, hum):
    samples = played(*filters, noise=1e-5)
    times = np.arange(len(samples)) / 48_000
    samples = samples + hum * sum(np.sin(2 * np.pi * 50.02 * k * times + k) for k in (1, 2, 3, 4, 6))
    assert measure_response(samples, PLAN).notch == 0.0
