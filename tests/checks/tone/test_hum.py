"""The mains family and noise, against signals of known content."""

import numpy as np
import pytest

from checks.tone.hum import Origin, measure_hum
from checks.tone.noise import measure_noise
from checks.tone.spectrum import compute_spectrum
from checks.tone.weighting import a_weighting_power
from tests.checks.tone.signals import quantised, sines
from tests.references.reader import row

# Reference rows HUM-1 to HUM-6: full-wave ripple is 2f; heaters, induction and half-wave supplies are f (textbook).
FULL = 0.3


@pytest.mark.parametrize("mains", (49.9, 50.0, 50.07, 59.95, 60.02))
def test_hum_at_90_dbr_is_right_within_a_fifth_of_a_db(mains):
    level = FULL * 10 ** (-90 / 20)
    x = quantised(
        sines(6, 48_000, [(FULL, 997, 0), (level, mains, 0.3), (level, 2 * mains, 1), (level, 6 * mains, 2)]), 24
    )
    hum = measure_hum(compute_spectrum(x, 48_000), [997.0])
    assert hum.mains == pytest.approx(mains, abs=0.02)
    assert [round(line.hertz / mains) for line in hum.lines] == [1, 2, 6]
    for line in hum.lines:
        assert 20 * np.log10(line.rms / level) == pytest.approx(0, abs=0.2)


@pytest.mark.parametrize(
    ("lines", "origin"),
    [
        (((1, 1.0), (3, 0.5)), Origin.INDUCED),
        (((2, 1.0), (4, 0.4)), Origin.RECTIFIED),
        (((1, 1.0), (2, 1.0)), Origin.BOTH),
    ],
)
@pytest.mark.parametrize("mains", (50, 60))
def test_the_multiples_say_where_hum_is_from(lines, origin, mains):
    assert row("HUM-1")["expected"] == 100 and row("HUM-4")["expected"] == 60
    x = quantised(sines(5, 48_000, [(1e-3 * a, k * mains, k) for k, a in lines]), 16)
    hum = measure_hum(compute_spectrum(x, 48_000))
    assert hum.origin is origin and hum.nominal == mains
    assert hum.total == pytest.approx(1e-3 * np.sqrt(sum(a * a for _, a in lines)), rel=0.01)


def test_noise_alone_shows_no_family():
    rng = np.random.default_rng(5)
    hum = measure_hum(compute_spectrum(1e-3 * rng.standard_normal(48_000 * 6), 48_000))
    assert hum.total < 1e-4


def test_a_tone_near_a_mains_line_is_not_taken_for_hum():
    hum = measure_hum(compute_spectrum(sines(6, 48_000, [(0.3, 100.0, 0)]), 48_000), [100.0])
    assert hum.total == 0 and hum.origin is Origin.NONE


def test_white_noise_has_the_power_of_its_band_and_the_weighting_that_follows():
    rng = np.random.default_rng(9)
    x = 1e-3 * rng.standard_normal(48_000 * 20) + sines(20, 48_000, [(0.3, 997, 0)])
    noise = measure_noise(compute_spectrum(x, 48_000), [997.0])
    density = 1e-6 / 24_000
    grid = np.arange(20, 20_000, 0.5)
    weighted = np.sqrt((density * a_weighting_power(grid)).sum() * 0.5)
    assert noise.unweighted == pytest.approx(np.sqrt(density * 19_980), rel=0.01)
    assert noise.a_weighted == pytest.approx(weighted, rel=0.01)
    assert noise.below(0.3) == pytest.approx(20 * np.log10(0.3 / noise.unweighted))
    assert noise.u < 0.1


def test_the_noise_of_16_bits_is_the_converter_s_own():
    r = row("QN-16")
    full = 1 / np.sqrt(2)
    x = quantised(sines(10, 48_000, [(0.2, 997.3, 0)]), 16)
    noise = measure_noise(compute_spectrum(x, 48_000), [997.3], band=(20.0, 23_900.0))
    assert noise.below(full) == pytest.approx(r["expected"]["tpdf"], abs=0.1)
