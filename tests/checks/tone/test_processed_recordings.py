"""Recordings through what laptops and chat programs do to their inputs: gates, expanders, level control, noise
suppression, echo cancelling. Each makes an amplifier look quieter than it is, and most of them leave a tone as it was.

The processors are textbook forms made here: an envelope follower with a gain law (gate, expander, level control),
spectral subtraction over a short-time Fourier transform (Boll, 1979), and a normalised LMS filter (Widrow and Hoff) as
echo canceller.
"""

import math

import numpy as np
import pytest
from scipy.signal import istft, stft

from checks.tone.analysis import analyse
from checks.tone.sources import Signal, SignalPlan, make_signal
from checks.tone.trust import Doubt

pytestmark = pytest.mark.slow  # simulations

RATE = 48_000
TONE = SignalPlan(Signal.TONE, RATE, (1000.0,), 3.0)
LOW = SignalPlan(Signal.TONE, RATE, (40.0,), 3.0)
TWO = SignalPlan(Signal.TWO_TONE, RATE, (250.0, 8000.0), 3.0)
SILENCE = SignalPlan(Signal.SILENCE, RATE, (), 5.0)


def played(plan, level=0.5, early=0.2, late=0.4):
    """The test signal, recorded from a little before it until a little after."""
    sent = make_signal(plan)
    return level * np.concatenate([np.zeros(round(early * RATE)), sent, np.zeros(round(late * RATE))])


def amplifier(sent, hiss=3e-5, hum=(3e-4, 5e-4, 1e-4), ripple=1.0):
    """With 2 % of second harmonic or so; `ripple` is how many times the hum while it is driven."""
    time = np.arange(len(sent)) / RATE
    lines = sum(math.sqrt(2) * rms * np.sin(2 * math.pi * 50.02 * k * time + k) for k, rms in enumerate(hum, 1))
    driven = np.convolve(np.abs(sent) > 0.02, np.hanning(4801) / np.hanning(4801).sum(), "same")
    noise = hiss * np.random.default_rng(1).standard_normal(len(sent))
    return sent + 0.08 * sent**2 + lines * (1 + (ripple - 1) * driven) + noise


def stored(samples, bits=24):
    random, step = np.random.default_rng(3), 2.0 ** (1 - bits)
    dither = (random.random(len(samples)) - random.random(len(samples))) * step
    return np.clip(np.round((samples + dither) / step) * step, -1, 1)


def envelope(samples, attack, release):
    """Peaks of every millisecond, followed quickly upwards and slowly downwards."""
    follow, levels = 0.0, []
    for peak in np.abs(samples[: len(samples) // 48 * 48]).reshape(-1, 48).max(axis=1):
        follow += (peak - follow) * (1 - math.exp(-0.001 / (attack if peak > follow else release)))
        levels.append(follow)
    return np.interp(np.arange(len(samples)), (np.arange(len(levels)) + 0.5) * 48, levels)


def gated(samples, floor=0.1, threshold=0.01, release=0.2):
    gain = np.where(envelope(samples, 0.005, release) > threshold, 1.0, floor)
    smooth = np.hanning(2401) / np.hanning(2401).sum()
    return samples * np.convolve(np.pad(gain, 1200, mode="edge"), smooth, "valid")


def expanded(samples, ratio=1.5, threshold=0.02):
    return samples * np.clip((envelope(samples, 0.005, 0.2) / threshold) ** (ratio - 1), 0.01, 1)


def levelled(samples, target=0.2):
    return np.clip(samples * np.minimum(20.0, target / np.maximum(envelope(samples, 0.02, 1.0), 1e-6)), -1, 1)


def suppressed(samples, floor=0.2, knows_noise=True):
    """Spectral subtraction; the noise is known from before, or learned from the quietest that comes."""
    _f, _t, bins = stft(samples, RATE, nperseg=1024, noverlap=768)
    power = np.abs(bins) ** 2
    noise = power[:, 4:40].mean(axis=1) if knows_noise else np.full(len(power), 1e-14)
    gain, out = np.ones(len(power)), np.empty_like(bins)
    for n in range(power.shape[1]):
        noise = noise if knows_noise else np.minimum(noise * 1.01 + 1e-16, 0.7 * noise + 0.3 * power[:, n])
        wanted = np.sqrt(np.maximum(1 - 1.5 * noise / np.maximum(power[:, n], 1e-30), floor**2))
        gain = 0.6 * gain + 0.4 * wanted
        out[:, n] = bins[:, n] * gain
    return istft(out, RATE, nperseg=1024, noverlap=768)[1][: len(samples)]


def without_echo(samples, sent, taps=128, block=64):
    """What the computer plays is taken out of what it records."""
    weights, out = np.zeros(taps), samples.copy()
    before = np.lib.stride_tricks.sliding_window_view(np.concatenate([np.zeros(taps - 1), sent]), taps)
    for start in range(0, len(samples) - block, block):
        rows = before[start : start + block]
        error = samples[start : start + block] - rows @ weights
        out[start : start + block] = error
        weights = weights + 0.5 * rows.T @ error / (1e-3 + float((rows**2).sum()))
    return out


def measured(samples, plan):
    (found,) = analyse(plan, RATE, 1, lambda: [samples[n : n + 60_000, None] for n in range(0, len(samples), 60_000)])
    return found


def doubts(samples, plan):
    return {remark.doubt for remark in measured(stored(samples), plan).remarks}


@pytest.mark.parametrize("process", [gated, expanded, lambda x: gated(x, 0.3), lambda x: gated(x, 0.001)])
@pytest.mark.parametrize("plan", [TONE, LOW, TWO], ids=["tone", "low tone", "two tones"])
def test_a_gate_that_a_tone_opens_is_seen_in_the_pauses_about_it(plan, process):
    """A silence behind such a gate hums a tenth as much as it does, steadily; the tone that calibrates it was fine."""
    assert Doubt.GATED in doubts(process(amplifier(played(plan))), plan)


@pytest.mark.parametrize(("early", "late"), [(0.2, -0.45), (-0.95, 0.4)])
def test_a_pause_on_one_side_is_enough(early, late):
    sent = 0.5 * make_signal(TONE)
    sent = sent[max(0, round(-early * RATE)) : len(sent) + min(0, round(late * RATE))]
    assert Doubt.GATED in doubts(gated(amplifier(sent), release=0.03), TONE)


def test_a_gate_is_seen_in_16_bits_though_rounding_hides_the_hiss():
    found = measured(stored(gated(amplifier(played(TONE), hiss=1e-5)), 16), TONE)
    assert Doubt.GATED in {remark.doubt for remark in found.remarks}


@pytest.mark.parametrize("plan", [TONE, LOW, TWO], ids=["tone", "low tone", "two tones"])
@pytest.mark.parametrize("bits", [16, 24])
@pytest.mark.parametrize("hiss", [1e-6, 1e-5, 1e-4])
def test_an_amplifier_is_no_gate(plan, bits, hiss):
    """Its ripple rises threefold while it is driven, and the player mutes its converter in the pauses."""
    sent = played(plan)
    converter = 8e-6 * np.random.default_rng(9).standard_normal(len(sent)) * (sent != 0)
    found = measured(stored(amplifier(sent + converter, hiss, (1e-4, 2e-4), ripple=3.0), bits), plan)
    assert found.is_usable, found.remarks


@pytest.mark.parametrize("plan", [TONE, TWO], ids=["tone", "two tones"])
def test_noise_suppression_that_leaves_the_tone_is_seen_in_the_noise_beside_it(plan):
    """It took 1.6 dB from the third harmonic and 12 dB from the noise."""
    assert Doubt.PATCHY in doubts(suppressed(amplifier(played(plan))), plan)


def test_noise_suppression_that_has_not_learned_the_noise_changes_little_or_is_refused():
    honest = amplifier(played(TONE))
    found, right = (measured(stored(x), TONE) for x in (suppressed(honest, knows_noise=False), honest))
    if found.is_usable:
        assert found.distortion.thd == pytest.approx(right.distortion.thd, rel=0.02)
        assert found.noise.unweighted > 0.9 * right.noise.unweighted


@pytest.mark.parametrize("process", [levelled, suppressed], ids=["level control", "noise suppression"])
def test_a_processed_silence_is_refused_or_reads_too_much(process):
    """Level control that has settled only turns it up: a wrong refusal, never a wrong pass."""
    honest = amplifier(np.zeros(5 * RATE))
    found = measured(stored(process(honest)), SILENCE)
    assert not found.is_usable or found.hum.total > 0.9 * measured(stored(honest), SILENCE).hum.total


def test_level_control_gives_no_tone():
    assert not measured(stored(levelled(amplifier(played(TONE)))), TONE).is_usable


@pytest.mark.parametrize("plan", [TONE, TWO], ids=["tone", "two tones"])
def test_an_echo_canceller_leaves_nothing_to_measure(plan):
    sent = played(plan)
    assert not measured(stored(without_echo(amplifier(sent), sent)), plan).is_usable


@pytest.mark.parametrize("decibels", [2.5, 5.0, -4.0])
@pytest.mark.parametrize("hum", [(3e-4, 5e-4, 1e-4), (3e-6, 5e-6, 1e-6)])
def test_two_silences_of_other_levels_that_were_joined_are_refused(decibels, hum):
    """Their mean would pass for the louder one. At the joint the hum goes on as if nothing had happened."""
    quiet = amplifier(np.zeros(6 * RATE), hum=hum)
    gain = np.where(np.arange(len(quiet)) < 2.7 * RATE, 1.0, 10 ** (decibels / 20))
    assert Doubt.LEVEL_CONTROLLED in doubts(quiet * gain, SILENCE)
    assert not doubts(quiet, SILENCE)


def test_a_silence_whose_hum_alone_steps_is_refused():
    quiet = amplifier(np.zeros(6 * RATE))
    hum = quiet - amplifier(np.zeros(6 * RATE), hum=())
    assert Doubt.LEVEL_CONTROLLED in doubts(quiet - 0.4 * hum * (np.arange(6 * RATE) > 3 * RATE), SILENCE)


def test_an_amplifier_that_warms_up_and_crackles_does_not_step():
    quiet, random = amplifier(np.zeros(6 * RATE)), np.random.default_rng(4)
    quiet *= np.linspace(0.85, 1.1, len(quiet))
    for at in random.integers(0, 5 * RATE, 6):
        quiet[at : at + 400] += 3e-3 * np.exp(-np.arange(400) / 60) * np.sin(0.3 * np.arange(400))
    assert Doubt.LEVEL_CONTROLLED not in doubts(quiet, SILENCE)
