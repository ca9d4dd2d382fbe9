"""Figures taken from recordings of known content, in their units."""

import numpy as np
import pytest

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.tone.analysis import analyse
from checks.tone.requests import find_figure, request_from
from checks.tone.sources import make_signal
from tests.checks.tone.signals import in_blocks, sines

VOLTS = Estimate(10.0, 0.05)  # of full scale


def figure(measure, row, samples, scale=VOLTS):
    request = request_from(measure, row)
    return find_figure(request, analyse(request.plan, 48_000, 1, in_blocks(samples, 65_536))[0], scale)


@pytest.fixture(scope="module")
def tone():
    hertz = request_from("distortion", {"signal": "tone"}).plan.exact_hertz[0]
    parts = [(0.2, hertz, 0), (0.002, 2 * hertz, 0.5), (0.0006, 3 * hertz, 1)]
    return sines(4, 48_000, parts) + 1e-6 * np.random.default_rng(1).standard_normal(4 * 48_000)


@pytest.mark.parametrize(
    ("measure", "expected"),
    [
        ("output volts", 2.0),
        ("output power", 0.5),
        ("distortion", 100 * np.hypot(0.01, 0.003)),
        ("distortion less 2nd", 0.3),
        ("distortion and noise", 100 * np.hypot(0.01, 0.003)),
        ("second harmonic", -40.0),
        ("third harmonic", -50.4576),
    ],
)
def test_each_figure_of_a_tone_comes_in_its_unit(tone, measure, expected):
    row = {"signal": "tone"} | ({"load": "8 ohm"} if measure == "output power" else {})
    result = figure(measure, row, tone)
    assert result.value == pytest.approx(expected, rel=2e-3)
    assert result.u > 0


@pytest.mark.lengthy
def test_a_harmonic_lost_in_noise_is_claimed_no_lower_than_a_codec_may_have_erased_one():
    """MP3 at a high rate took a third harmonic of -84 dBr and left no trace of it."""
    hertz = request_from("distortion", {"signal": "tone"}).plan.exact_hertz[0]
    x = sines(4, 48_000, [(0.2, hertz, 0), (2e-5, 2 * hertz, 0.5)])
    x += 1e-6 * np.random.default_rng(1).standard_normal(4 * 48_000)
    assert figure("third harmonic", {"signal": "tone"}, x).value == pytest.approx(-80, abs=0.01)
    assert figure("second harmonic", {"signal": "tone"}, x).value == pytest.approx(-80, abs=0.05)
    distortion = figure("distortion", {"signal": "tone"}, x)
    assert distortion.u > 0.005 and distortion.value == pytest.approx(0.01, rel=0.05)


def test_volts_want_a_calibration_and_shares_do_not(tone):
    with pytest.raises(ChecksError) as refused:
        figure("output volts", {"signal": "tone"}, tone, scale=None)
    assert refused.value.code == "no-calibration"
    assert figure("distortion", {"signal": "tone"}, tone, scale=None).value > 1


@pytest.mark.lengthy
def test_silence_gives_hum_and_noise_in_volts():
    rng = np.random.default_rng(3)
    x = sines(6, 48_000, [(1e-4, 50, 0), (2e-4, 100, 0)]) + 1e-5 * rng.standard_normal(6 * 48_000)
    hum = figure("hum volts", {"signal": "silence"}, x)
    assert hum.value == pytest.approx(10 * np.hypot(1e-4, 2e-4), rel=0.01)
    assert (
        figure("weighted noise", {"signal": "silence"}, x).value < figure("noise volts", {"signal": "silence"}, x).value
    )


def test_a_recording_with_a_fatal_doubt_gives_no_figure(tone):
    with pytest.raises(ChecksError) as refused:
        figure("distortion", {"signal": "tone"}, np.clip(6 * tone, -1, 1))
    assert refused.value.code == "unusable"


@pytest.mark.lengthy
def test_power_at_a_distortion_and_at_clipping():
    row = {"signal": "stepped level", "load": "8 ohm"}
    x = make_signal(request_from("output power", row).plan)
    noise = 1e-5 * np.random.default_rng(1).standard_normal(len(x))
    clipped = np.clip(0.9 * x, -0.5, 0.5) + noise
    at_clipping = figure("output power", row, clipped).value
    at_one = figure("output power", row | {"at": "1%"}, clipped)
    whole = (10 * 0.5) ** 2 / 2 / 8  # a sine as high as the clipping level
    assert at_one.value == pytest.approx(whole, rel=0.12) and abs(at_one.value - whole) < 2 * at_one.u
    assert at_one.value < at_clipping * 1.2
    with pytest.raises(ChecksError) as refused:
        figure("output power", row | {"at": "1%"}, 0.2 * x + noise)
    assert refused.value.code == "not-reached"
