"""A tone whose frequency moves while it is recorded: what that takes from its harmonics is never passed for theirs.

A sine whose phase moves by β radians at most, to and fro, keeps J0(β) of its level, and its k-th harmonic J0(kβ): the
Bessel function of frequency modulation (Abramowitz and Stegun, 9.1.42; from memory), by scipy.
"""

import math

import numpy as np
import pytest
import soundfile
from scipy.special import j0

from checks.tone.analysis import analyse
from checks.tone.sources import FULL, STEPS, Signal, SignalPlan, make_signal
from checks.tone.trust import Doubt

pytestmark = pytest.mark.slow  # simulations

RATE = 48_000
TONE = SignalPlan(Signal.TONE, RATE, (1000.0,), 6.0)


def analysed(plan, *channels):
    samples = np.column_stack(channels)
    return analyse(plan, RATE, len(channels), lambda: iter([samples]))


def moved(share, hertz, seconds=8.0, second=0.02, third=0.01):
    """1 kHz with two harmonics, whose frequency moves by a share of itself, `hertz` times a second."""
    random, time = np.random.default_rng(5), np.arange(round(seconds * RATE)) / RATE
    beta = share * TONE.exact_hertz[0] / hertz
    phase = 2 * math.pi * TONE.exact_hertz[0] * time + beta * np.sin(2 * math.pi * hertz * time)
    wave = np.sin(phase) + second * np.sin(2 * phase + 1) + third * np.sin(3 * phase + 2)
    return 0.3 * wave + 1e-5 * random.standard_normal(len(time)), beta


@pytest.mark.parametrize(("share", "hertz"), [(1e-3, 1.0), (1e-3, 3.0), (3e-4, 2.0), (1e-4, 0.2)])
def test_a_tone_that_flutters_gives_no_figure(share, hertz):
    wave, _beta = moved(share, hertz)
    (found,) = analysed(TONE, wave)
    assert Doubt.FLUTTER in {remark.doubt for remark in found.remarks}
    assert not found.is_usable


@pytest.mark.parametrize(("share", "hertz"), [(2e-4, 6.0), (1e-3, 40.0), (2e-5, 0.5)])
def test_what_is_let_through_has_its_harmonics_right(share, hertz):
    """Within 0.1 dB of what is left of the third where the movement is too fast for its side lines to be taken with it,
    and remarked where they count as noise."""
    wave, beta = moved(share, hertz)
    (found,) = analysed(TONE, wave)
    third = next(h for h in found.distortion.harmonics if h.order == 3)
    assert found.is_usable and abs(20 * math.log10(j0(3 * beta))) < 0.1 or hertz < 1
    assert found.distortion.relative(third.line) == pytest.approx(20 * math.log10(0.01), abs=0.1)


def test_crystals_drift_too_little_to_be_refused():
    """A part in a million over ten seconds: ten times what a crystal does (common practice)."""
    time = np.arange(RATE * 10) / RATE
    phase = 2 * math.pi * TONE.exact_hertz[0] * (time + 0.5e-7 * time**2)
    wave = 0.3 * (np.sin(phase) + 0.01 * np.sin(3 * phase)) + 1e-5 * np.random.default_rng(6).standard_normal(len(time))
    (found,) = analysed(TONE, wave)
    assert found.remarks == ()


def test_steps_that_flutter_give_no_power():
    played = make_signal(STEPS) / FULL
    time = np.arange(len(played)) / RATE
    warped = np.interp(time + 2e-4 / (2 * math.pi) * np.sin(2 * math.pi * time), time, played)
    noise = 1e-5 * np.random.default_rng(7).standard_normal(len(played))
    for samples, is_usable in ((played, True), (warped, False)):
        (found,) = analysed(STEPS, 0.5 * np.tanh(samples) + noise)
        assert found.is_usable is is_usable, found.remarks


@pytest.mark.parametrize("plan", [SignalPlan(Signal.SWEEP, RATE, (8.0, 22_000.0), 4.0), STEPS])
@pytest.mark.parametrize("noise", [0.0, 1e-4])
def test_a_channel_that_nothing_is_connected_to_spoils_none_but_itself(plan, noise):
    random = np.random.default_rng(8)
    wave = 0.3 * make_signal(plan)
    wave += 1e-5 * random.standard_normal(len(wave))
    left, right = analysed(plan, wave, noise * random.standard_normal(len(wave)))
    assert left.is_usable
    assert not right.is_usable and right.remarks
    left, right = analysed(plan, noise * random.standard_normal(len(wave)), wave)
    assert not left.is_usable and right.is_usable


def test_distortion_and_noise_of_10_khz_does_not_hang_on_the_cards_clock(tmp_path):
    """Its second harmonic lies at the end of the band."""
    shares, exact = [], SignalPlan(Signal.TONE, RATE, (10_000.0,), 4.0)
    for ppm in (-300, -20, 0, 20, 300):
        time = np.arange(RATE * 5) / RATE
        phase = 2 * math.pi * exact.exact_hertz[0] * (1 + ppm * 1e-6) * time
        file = tmp_path / "tone.wav"
        soundfile.write(file, 0.3 * np.sin(phase) + 0.003 * np.sin(2 * phase), RATE, subtype="FLOAT")
        wave = soundfile.read(file)[0] + 1e-5 * np.random.default_rng(9).standard_normal(len(time))
        shares.append(analysed(exact, wave)[0].distortion.thd_plus_noise)
    assert shares == pytest.approx([0.01] * 5, rel=0.01)
