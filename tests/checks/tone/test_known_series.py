"""Signals whose spectrum is known in closed form: polynomials of sines, clipped and rectified sines, noise, windows."""

from math import asin, cos, pi, sin, sqrt

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.tone.flutter import moving_phase
from checks.tone.harmonics import (
    Distortion,
    band_power,
    find_fundamental,
    mains_lines,
    mark_lines,
    measure_distortion,
)
from checks.tone.hum import Origin, measure_hum
from checks.tone.intermodulation import measure_intermodulation
from checks.tone.lines import measure_line, strongest
from checks.tone.noise import Noise, measure_noise
from checks.tone.spectrum import LONGEST, SHORTEST, SpectrumMaker, compute_spectrum, segment_length
from checks.tone.weighting import a_weighting_power
from checks.tone.windows import COSINES, FLAT_TOP, Window
from tests.checks.tone.signals import sines

RATE, HERTZ = 48_000, 1001.3


def tone(amplitude=1.0, seconds=1.0, hertz=HERTZ, turn=0.0):
    return sines(seconds, RATE, [(amplitude / sqrt(2), hertz, turn)])


def amplitudes(samples, orders, hertz=HERTZ):
    """Peak amplitudes of multiples of a tone; 0 is left to the mean."""
    spectrum = compute_spectrum(samples, RATE)
    return [sqrt(2) * measure_line(spectrum, k * hertz).rms for k in orders]


@pytest.mark.parametrize("a", [0.1, 0.5, 0.9])
def test_a_cubic_term_makes_a_third_harmonic_and_bends_the_fundamental(a):
    """sin³ = (3 sin x - sin 3x)/4: the fundamental of x - b x³ falls by 3bA²/4, the third is bA²/4 of A."""
    b = 0.2
    first, second, third = amplitudes(tone(a) - b * tone(a) ** 3, (1, 2, 3))
    assert first == pytest.approx(a - 3 * b * a**3 / 4, rel=4e-4)
    assert third == pytest.approx(b * a**3 / 4, rel=1e-3)
    assert second < 1e-6 * first


@pytest.mark.parametrize(("power", "series"), [
    (2, {2: 1 / 2}),
    (3, {1: 3 / 4, 3: 1 / 4}),
    (4, {2: 1 / 2, 4: 1 / 8}),
    (5, {1: 10 / 16, 3: 5 / 16, 5: 1 / 16}),
    (6, {2: 15 / 32, 4: 6 / 32, 6: 1 / 32}),
])  # fmt: skip
def test_each_power_of_a_sine_has_the_harmonics_of_the_binomial_series(power, series):
    """Chebyshev: cos^n x = 2^(1-n) Σ C(n, k) cos((n - 2k)x)."""
    found = amplitudes(tone() ** power, range(1, 7))
    for order, level in enumerate(found, 1):
        assert level == pytest.approx(series.get(order, 0), rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("clip", [0.3, 0.5, 0.7, 0.95])
def test_a_sine_clipped_on_both_sides_has_the_harmonics_of_its_fourier_series(clip):
    """b_n of sin clipped at c = sin θ, in closed form; even ones are none."""
    theta = asin(clip)

    def series(n):
        if n == 1:
            return 2 / pi * (theta + clip * cos(theta))
        inner = sin((n - 1) * theta) / (n - 1) - sin((n + 1) * theta) / (n + 1)
        return 2 / pi * inner + 4 * clip * cos(n * theta) / (pi * n)

    low = 53.7  # so low that what folds back at half the rate is weak
    found = amplitudes(np.clip(tone(hertz=low, seconds=3), -clip, clip), range(1, 8), low)
    for n in (1, 3, 5, 7):
        assert found[n - 1] == pytest.approx(abs(series(n)), rel=3e-3, abs=2e-5)
    for n in (2, 4, 6):
        assert found[n - 1] < 1e-4


def test_a_half_wave_has_its_fundamental_and_even_harmonics_and_a_full_wave_even_ones_alone():
    """Half: 1/2 at the fundamental, 2/(π(n² - 1)) at even n. Full: twice those, no fundamental."""
    low = 53.7
    half, full = (amplitudes(f(tone(hertz=low, seconds=3)), range(1, 7), low) for f in (lambda x: np.maximum(x, 0),
                                                                                        np.abs))  # fmt: skip
    assert half[0] == pytest.approx(0.5, rel=1e-3) and full[0] < 1e-4
    for n in (2, 4, 6):
        assert half[n - 1] == pytest.approx(2 / (pi * (n * n - 1)), rel=2e-3)
        assert full[n - 1] == pytest.approx(4 / (pi * (n * n - 1)), rel=2e-3)
    assert half[2] < 1e-4


TWO = (1500.0, 9000.0)


def two_tones(a1, a2, low, high):
    return sines(1, RATE, [(a1 / sqrt(2), low, 0.3), (a2 / sqrt(2), high, 1.1)])


@pytest.mark.parametrize(("a1", "a2"), [(0.4, 0.1), (0.2, 0.2), (0.1, 0.4)])
def test_a_squared_term_puts_a_sideband_on_both_sides_of_the_upper_tone(a1, a2):
    """2 sin a sin b = cos(a - b) - cos(a + b): each of amplitude c·A₁·A₂, both added over the upper tone 2cA₁."""
    c, (low, high) = 0.03, TWO
    x = two_tones(a1, a2, low, high)
    found = measure_intermodulation(compute_spectrum(x + c * x**2, RATE), low, high)
    assert sqrt(2) * found.lines[1, 1].rms == pytest.approx(c * a1 * a2, rel=2e-3)
    assert sqrt(2) * found.lines[-1, 1].rms == pytest.approx(c * a1 * a2, rel=2e-3)
    assert found.second == pytest.approx(2 * c * a1, rel=2e-3)
    assert found.third < 1e-5 and found.total == pytest.approx(found.second, rel=1e-6)


@pytest.mark.parametrize(("a1", "a2"), [(0.4, 0.1), (0.1, 0.4)])
def test_a_cubed_term_puts_sidebands_two_low_tones_away(a1, a2):
    """3 x₁² x₂ of (x₁ + x₂)³: 3/4·c·A₁²·A₂ on each side of the upper tone, which itself becomes
    A₂(1 + c(3A₁²/2 + 3A₂²/4))."""
    c, (low, high) = 0.05, TWO
    x = two_tones(a1, a2, low, high)
    found = measure_intermodulation(compute_spectrum(x + c * x**3, RATE), low, high)
    upper = a2 * (1 + c * (1.5 * a1**2 + 0.75 * a2**2))
    assert sqrt(2) * found.high.rms == pytest.approx(upper, rel=1e-3)
    assert found.third == pytest.approx(2 * 0.75 * c * a1**2 * a2 / upper, rel=2e-3)
    assert found.second < 1e-5


def test_near_tones_are_judged_by_their_difference_over_the_sum_of_both():
    """f₂ - f₁ of a square: c·A₁·A₂ over A₁ + A₂ (IEC 60268-3's difference-frequency distortion)."""
    c, a = 0.02, 0.3
    x = two_tones(a, a, 8000.0, 9000.0)
    found = measure_intermodulation(compute_spectrum(x + c * x**2, RATE), 8000.0, 9000.0)
    assert set(found.lines) == {(-1, 1), (2, -1), (-1, 2)}
    assert found.second == pytest.approx(c * a / 2, rel=2e-3)
    cubed = measure_intermodulation(compute_spectrum(x + c * x**3, RATE), 8000.0, 9000.0)
    assert {round(cubed.lines[key].hertz) for key in ((2, -1), (-1, 2))} == {7000, 10_000}
    one = a * (1 + c * (1.5 + 0.75) * a**2)
    assert cubed.third == pytest.approx(2 * 0.75 * c * a**3 / (2 * one), rel=2e-3)


@pytest.mark.parametrize(("low", "high"), [(1000.0, 1000.0), (1000.0, 1020.0), (9000.0, 1500.0)])
def test_tones_that_cannot_be_told_apart_are_refused(low, high):
    with pytest.raises(ChecksError) as error:
        measure_intermodulation(compute_spectrum(tone(), RATE), low, high)
    assert error.value.code == "tones too close"


def test_a_missing_upper_tone_is_refused():
    with pytest.raises(ChecksError) as error:
        measure_intermodulation(compute_spectrum(np.zeros(RATE), RATE), 1500.0, 9000.0)
    assert error.value.code == "no tone"


@pytest.mark.parametrize("hertz", [5.0, 24_000.0, 30_000.0])
def test_a_line_outside_the_recording_is_refused(hertz):
    with pytest.raises(ChecksError) as error:
        measure_line(compute_spectrum(tone(), RATE), hertz)
    assert error.value.code == "outside band"


def test_the_strongest_tone_of_a_band_is_found_and_an_empty_band_refused():
    x = tone(0.5) + tone(0.05, hertz=5003.0)
    spectrum = compute_spectrum(x, RATE)
    assert strongest(spectrum, 20, 20_000) == pytest.approx(HERTZ, abs=spectrum.bin_width)
    assert strongest(spectrum, 4000, 6000) == pytest.approx(5003, abs=spectrum.bin_width)
    for low, high in ((500, 400), (30_000, 20_000)):
        with pytest.raises(ChecksError):
            strongest(spectrum, low, high)


@pytest.mark.parametrize("turn", [0.0, 1.0, 2.5])
@pytest.mark.parametrize("off", [0.0, 0.25, 0.5])
def test_a_tone_between_two_bins_shows_its_level_all_the_same(turn, off):
    length = segment_length(RATE, RATE)
    hertz = (300 + off) * RATE / length
    assert amplitudes(tone(0.7, hertz=hertz, turn=turn), [1], hertz)[0] == pytest.approx(0.7, rel=4e-4)


def test_levels_of_direct_current_and_of_half_the_rate_are_not_counted_twice():
    flat = compute_spectrum(np.full(RATE, 0.25), RATE)
    assert flat.power[0] == pytest.approx(0.25**2, rel=1e-9)
    fastest = compute_spectrum(0.25 * (-1.0) ** np.arange(RATE), RATE)
    assert fastest.power[-1] == pytest.approx(0.25**2, rel=1e-9)


@pytest.mark.parametrize(
    ("samples", "rate", "length"),
    [(8192, 48_000, 4096), (48_000, 48_000, 16_384), (10**6, 48_000, 65_536), (10**7, 192_000, LONGEST)],
)
def test_a_segment_is_a_power_of_two_of_which_two_fit_at_least(samples, rate, length):
    assert segment_length(samples, rate) == length
    assert SHORTEST <= length <= samples // 2


@pytest.mark.parametrize("samples", [0, 100, 2 * SHORTEST - 1])
def test_a_recording_too_short_for_two_segments_is_refused(samples):
    with pytest.raises(ChecksError) as error:
        segment_length(samples, RATE)
    assert error.value.code == "too short"
    with pytest.raises(ChecksError):
        SpectrumMaker(RATE, 1, SHORTEST).finish()


def test_the_size_of_the_blocks_changes_nothing():
    x = tone() + 0.01 * np.random.default_rng(1).standard_normal(RATE)
    whole = compute_spectrum(x, RATE)
    for size in (1023, 4096, 30_000):
        maker = SpectrumMaker(RATE, 2, whole.length)
        for at in range(0, len(x), size):
            maker.add(np.column_stack([x, -2 * x])[at : at + size])
        one, other = maker.finish()
        assert np.array_equal(one.power, whole.power) and np.allclose(other.power, 4 * whole.power)


@pytest.mark.parametrize("width", [(1000.0, 3000.0), (200.0, 20_000.0)])
def test_white_noise_has_the_power_of_its_share_of_the_band(width):
    """σ² over rate/2, times the width."""
    x = 0.1 * np.random.default_rng(4).standard_normal(4 * RATE)
    spectrum = compute_spectrum(x, RATE)
    power = band_power(spectrum, width, np.zeros(len(spectrum.power), dtype=bool))
    assert power == pytest.approx(0.01 * (width[1] - width[0]) / (RATE / 2), rel=0.05)
    assert float(np.median(spectrum.density)) == pytest.approx(0.01 / (RATE / 2), rel=0.1)


def test_a_tone_in_noise_is_taken_out_of_the_noise_with_what_lies_under_it():
    x = 0.01 * np.random.default_rng(5).standard_normal(4 * RATE)
    with_tone = compute_spectrum(x + tone(1.0, 4), RATE)
    clear, marked = measure_noise(compute_spectrum(x, RATE)), measure_noise(with_tone, [HERTZ])
    assert marked.unweighted == pytest.approx(clear.unweighted, rel=0.01)
    assert marked.a_weighted == pytest.approx(clear.a_weighted, rel=0.01)
    assert measure_noise(with_tone).unweighted > 10 * clear.unweighted
    assert measure_noise(with_tone, hum_lines=[HERTZ]).without_hum == pytest.approx(clear.unweighted, rel=0.01)


def test_the_weighted_noise_of_a_band_is_the_integral_of_the_curve():
    x = 0.1 * np.random.default_rng(6).standard_normal(6 * RATE)
    noise = measure_noise(compute_spectrum(x, RATE))
    hertz = np.arange(20.0, 20_000.0)
    expected = 0.1 * sqrt(float(a_weighting_power(hertz).sum()) / (RATE / 2))
    assert noise.a_weighted == pytest.approx(expected, rel=0.02)
    assert noise.below(1.0, weighted=True) == pytest.approx(-20 * np.log10(noise.a_weighted))
    assert noise.below(1.0) < noise.below(1.0, weighted=True)


@pytest.mark.parametrize(("hertz", "decibels"), [(31.5, -39.4), (63, -26.2), (125, -16.1), (250, -8.6), (500, -3.2),
                                                 (1000, 0.0), (2000, 1.2), (4000, 1.0), (8000, -1.1),
                                                 (16_000, -6.6)])  # fmt: skip
def test_the_octaves_of_the_a_curve_are_those_of_the_standard(hertz, decibels):
    """IEC 61672-1:2013, table 3."""
    nominal = 1000 * 10 ** (0.3 * round(np.log2(hertz / 1000)))  # the exact frequency of the octave
    assert 10 * np.log10(float(a_weighting_power(nominal))) == pytest.approx(decibels, abs=0.051)


def test_noise_that_is_none_lies_infinitely_far_below():
    silent = Noise(0.0, 0.0, 0.0, (20.0, 20_000.0), 0.0)
    assert silent.below(1.0) == silent.below(1.0, weighted=True) == float("inf")
    with pytest.raises(ChecksError):
        Noise(-1.0, 0.0, 0.0, (20.0, 20_000.0), 0.0)


@pytest.mark.parametrize(("name", "bandwidth"), [("rectangle", 1.0), ("hann", 1.5), ("blackman", 1.7268)])
def test_the_noise_bandwidth_of_a_window_is_that_of_harris(name, bandwidth):
    """F. J. Harris, "On the use of windows for harmonic analysis" (1978), table 1 (from memory)."""
    window = Window(name)
    assert window.noise_bandwidth == pytest.approx(bandwidth, rel=1e-4)
    samples = window.samples(4096)
    assert len(samples) * float(samples @ samples) / samples.sum() ** 2 == pytest.approx(bandwidth, rel=1e-4)
    assert float(samples.mean()) == pytest.approx(window.coherent_gain, rel=1e-9)


@pytest.mark.parametrize(("name", "at", "gain"), [
    ("rectangle", 0.5, 2 / pi),
    ("rectangle", 1.0, 0.0),
    ("rectangle", 1.5, 2 / (3 * pi)),
    ("hann", 0.5, 8 / (3 * pi)),
    ("hann", 1.0, 0.5),
    ("hann", 2.0, 0.0),
    ("blackman", 1.0, 0.25 / 0.42),
    ("blackman", 3.0, 0.0),
])  # fmt: skip
def test_a_window_shows_a_tone_beside_a_bin_as_its_transform_says(name, at, gain):
    """sinc of the offset, and for a sum of cosines the sum of such (closed form)."""
    assert Window(name).gain_at(at) == pytest.approx(gain, abs=1e-5)


@pytest.mark.parametrize("name", COSINES)
def test_beyond_its_lobe_a_window_shows_nothing_at_whole_bins(name):
    window = Window(name)
    assert window.gain_at(0) == pytest.approx(1, rel=1e-12)
    assert all(window.gain_at(n) < 1e-9 for n in range(window.half_lobe, window.half_lobe + 3))
    assert window.gain_at(window.half_lobe - 1) > 1e-4


def test_the_flat_top_in_use_is_flat_to_three_thousandths_of_a_decibel():
    assert all(abs(20 * np.log10(FLAT_TOP.gain_at(off))) < 0.0031 for off in (0, 0.1, 0.25, 0.4, 0.5))


def test_lines_are_marked_with_their_lobes_and_those_at_the_edge_in_part():
    spectrum = compute_spectrum(tone(), RATE)
    marked = mark_lines(spectrum, [HERTZ])
    assert marked.sum() == 2 * spectrum.window.half_lobe + 1
    assert marked[spectrum.find_bin(HERTZ)] and not marked[0]
    assert mark_lines(spectrum, [0.0]).sum() == spectrum.window.half_lobe + 1
    assert not mark_lines(spectrum, []).any()


@pytest.mark.parametrize(("mains", "reach", "most", "count"), [(50, 24_000, 1300, 26), (60, 24_000, 1300, 21),
                                                               (50, 220, 1300, 4), (0, 24_000, 1300, 0)])  # fmt: skip
def test_the_mains_family_reaches_as_far_as_it_is_heard_and_the_recording_does(mains, reach, most, count):
    lines = mains_lines(mains, reach, most)
    assert len(lines) == count and lines == [mains * k for k in range(1, count + 1)]


@pytest.mark.parametrize(("odd", "even", "origin"), [
    (0.01, 0.001, Origin.INDUCED),
    (0.001, 0.01, Origin.RECTIFIED),
    (0.01, 0.01, Origin.BOTH),
])  # fmt: skip
@pytest.mark.parametrize("mains", [50.0, 60.0, 49.8])
def test_hum_of_the_mains_itself_is_told_from_that_of_the_rectifier(odd, even, origin, mains):
    x = sines(4, RATE, [(odd, mains, 0), (even, 2 * mains, 1)])
    hum = measure_hum(compute_spectrum(x + 1e-6 * np.random.default_rng(1).standard_normal(len(x)), RATE))
    assert hum.origin is origin and hum.mains == pytest.approx(mains, abs=0.1)
    assert hum.odd == pytest.approx(odd, rel=2e-3) and hum.even == pytest.approx(even, rel=2e-3)
    assert hum.total == pytest.approx(sqrt(odd**2 + even**2), rel=2e-3)


def test_a_ratio_to_nothing_is_infinitely_low():
    spectrum = compute_spectrum(tone(0.5), RATE, (HERTZ,))
    found = measure_distortion(spectrum, find_fundamental(spectrum, HERTZ))
    assert isinstance(found, Distortion) and found.relative(found.fundamental) == 0
    nothing = measure_line(compute_spectrum(np.zeros(RATE), RATE), 5000.0)
    assert nothing.rms == 0 and found.relative(nothing) == float("-inf") and not nothing.is_seen


def test_a_steady_tone_does_not_move_and_one_on_tape_does():
    """Phase of β sin(2πft): RMS β/√2 about the mean."""
    frame, hertz = 0.1, 1000.0
    time = frame * np.arange(60)
    steady = np.exp(2j * pi * hertz * time)
    assert moving_phase(steady, hertz, frame)[0] < 1e-6
    fast = 2.0  # Hz: whole turns within a segment of 1.4 s are left where they are
    moved, _apart = moving_phase(steady * np.exp(1j * 0.2 * np.sin(2 * pi * fast * time)), hertz, frame)
    assert 0.05 < moved < 0.2 / sqrt(2)
    assert moving_phase(steady[:5], hertz, frame) == (0.0, 0.0)
    assert moving_phase(np.zeros(60), hertz, frame) == (0.0, 0.0)


def test_a_tone_that_drifts_lies_beside_its_mean():
    frame, hertz, drift = 0.1, 1000.0, 0.05  # Hz a second
    time = frame * np.arange(100)
    levels = np.exp(2j * pi * (hertz * time + drift * time**2 / 2))
    _moved, apart = moving_phase(levels, hertz, frame)
    assert apart == pytest.approx(drift * (10 - 1.4) / 2 / 0.08, rel=0.1)  # the outermost segment, over OFF
