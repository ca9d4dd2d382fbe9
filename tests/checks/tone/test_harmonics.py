"""Harmonics, distortion, exact frequency: signals of known content and closed forms."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.tone.harmonics import find_fundamental, measure_distortion
from checks.tone.lines import measure_line
from checks.tone.spectrum import compute_spectrum, segment_length
from tests.checks.tone.signals import quantised, sines
from tests.references.reader import named, row, rows

LEVELS = {2: -60.0, 3: -80.0, 4: -100.0}


def distortion_of(samples, rate, near):
    spectrum = compute_spectrum(samples, rate, (near,))
    return measure_distortion(spectrum, find_fundamental(spectrum, near, spectrum.tracked[0]))


@pytest.mark.parametrize("rate", (44_100, 48_000, 96_000, 192_000))
@pytest.mark.parametrize("hertz", (41.3, 997.0, 1003.77))
@pytest.mark.parametrize("turn", (0.0, 1.1))
def test_harmonics_are_right_within_a_twentieth_of_a_db_to_100_dbr(rate, hertz, turn):
    parts = [(0.3, hertz, turn)] + [(0.3 * 10 ** (db / 20), hertz * k, k * turn + 0.4) for k, db in LEVELS.items()]
    distortion = distortion_of(quantised(sines(8, rate, parts), 24), rate, hertz)
    measured = {h.order: distortion.relative(h.line) for h in distortion.harmonics}
    assert {k: measured[k] for k in LEVELS} == pytest.approx(LEVELS, abs=0.05)
    assert distortion.fundamental.rms == pytest.approx(0.3, rel=3e-4)


@pytest.mark.lengthy
@settings(max_examples=25)
@given(hertz=st.floats(200, 5000), turn=st.floats(0, 6.28), seconds=st.floats(1.0, 3.0))
def test_the_frequency_is_right_to_a_millionth_from_one_second(hertz, turn, seconds):
    distortion = distortion_of(quantised(sines(seconds, 48_000, [(0.3, hertz, turn)]), 16), 48_000, round(hertz))
    assert distortion.frequency.hertz == pytest.approx(hertz, rel=1e-6)


@pytest.mark.parametrize("r", rows("THD-"), ids=named)
def test_thd_of_given_amplitudes(r):
    parts = [(0.2 * a, 500.3 * (k + 1), 0.3 * k) for k, a in enumerate(r["inputs"]["rms"])]
    distortion = distortion_of(sines(4, 48_000, parts), 48_000, 500)
    assert 100 * distortion.thd == pytest.approx(r["expected"]["THD_F_pct"], rel=1e-3)
    total = distortion.thd / np.hypot(1, distortion.thd)
    assert 100 * total == pytest.approx(r["expected"]["THD_R_pct"], rel=1e-3)


def test_a_clipped_sine_has_the_distortion_of_its_fourier_series():
    r = row("CLIP-90")
    clipped = np.clip(sines(4, 192_000, [(1 / np.sqrt(2), 200.7, 0.0)]), -0.9, 0.9)
    spectrum = compute_spectrum(clipped, 192_000, (200.7,))
    distortion = measure_distortion(spectrum, find_fundamental(spectrum, 200.7), order=80)
    assert 100 * distortion.thd == pytest.approx(r["expected"], rel=2e-3)


def test_a_squared_term_makes_a_second_harmonic_of_half_its_size():
    """(a sin x)² = a²/2 - a²/2 cos 2x: trigonometry."""
    x = sines(4, 48_000, [(0.5 / np.sqrt(2), 701.3, 0.2)])
    distortion = distortion_of(x + 0.04 * x**2, 48_000, 701)
    assert distortion.harmonics[0].line.rms * np.sqrt(2) == pytest.approx(0.04 * 0.25 / 2, rel=1e-3)
    assert distortion.thd_without_second < 1e-6 < distortion.thd


def test_distortion_with_noise_counts_both():
    r = row("SINAD")
    i = r["inputs"]
    rng = np.random.default_rng(3)
    noise = (
        rng.standard_normal(12 * 48_000) * 0.3 * i["n"] * np.sqrt(24_000 / 19_980)
    )  # the share within 20 Hz to 20 kHz
    x = sines(12, 48_000, [(0.3 * i["s"], 997, 0), (0.3 * i["d"], 1994, 1)]) + noise
    assert 100 * distortion_of(x, 48_000, 997).thd_plus_noise == pytest.approx(
        r["expected"]["THDN_pct_total"], rel=0.01
    )


def test_a_harmonic_on_a_mains_line_is_named():
    x = sines(6, 48_000, [(0.3, 40.0, 0), (0.001, 200.0, 1)])
    spectrum = compute_spectrum(x, 48_000, (40.0,))
    distortion = measure_distortion(spectrum, find_fundamental(spectrum, 40.0), mains=50.0)
    assert [h.order for h in distortion.harmonics if h.mains_order] == [5, 10]
    assert [h.mains_order for h in distortion.harmonics if h.mains_order] == [4, 8]


@pytest.mark.lengthy
def test_the_doubt_of_a_level_covers_its_error():
    """Over repeated noise, errors of a weak harmonic in units of their own doubt have a spread of about one."""
    errors = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        x = sines(3, 48_000, [(0.3, 997, 0), (3e-5, 1994, 1)]) + 1e-3 * rng.standard_normal(3 * 48_000)
        line = distortion_of(x, 48_000, 997).harmonics[0].line
        errors.append(20 * np.log10(line.rms / 3e-5) / line.u)
    assert 0.6 < np.std(errors) < 1.6 and abs(np.mean(errors)) < 0.6


def test_what_is_lost_in_noise_is_not_seen():
    rng = np.random.default_rng(2)
    x = sines(3, 48_000, [(0.3, 997, 0)]) + 0.01 * rng.standard_normal(3 * 48_000)
    spectrum = compute_spectrum(x, 48_000)
    line = measure_line(spectrum, 1994)
    assert not line.is_seen and line.greatest > 0


def test_a_recording_too_short_is_refused():
    with pytest.raises(ChecksError) as refused:
        segment_length(5000, 48_000)
    assert refused.value.code == "too short"
    with pytest.raises(ChecksError):
        measure_line(compute_spectrum(sines(1, 48_000, [(0.1, 997, 0)]), 48_000), 30_000)
