"""Bands as guides write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.band import Band, parse_band
from checks.errors import ChecksError


def test_a_percentage_about_a_figure():
    band = parse_band(unit="V", expected="330 V", band="8%", stop_above="400 V")
    assert (band.low, band.high, band.stop_above) == pytest.approx((303.6, 356.4, 400))


def test_an_amount_about_a_negative_figure():
    band = parse_band(unit="V", expected="-7.3 V", band="1 V")
    assert (band.low, band.high) == pytest.approx((-8.3, -6.3))


@pytest.mark.parametrize(
    ("figures", "limits"),
    [({"low": "1 V", "high": "3 V"}, (1, 3)), ({"at_least": "2 V"}, (2, None)), ({"at_most": "0.5 V"}, (None, 0.5))],
)
def test_other_ways_to_say_it(figures, limits):
    band = parse_band(unit="V", **figures)
    assert (band.low, band.high) == limits


@pytest.mark.parametrize(
    ("figures", "argument"),
    [
        ({}, "band"),
        ({"expected": "5 V"}, "band"),
        ({"band": "5%"}, "expected"),
        ({"low": "3 V", "high": "1 V"}, "low"),
        ({"low": "3 V"}, "high"),
        ({"at_least": "1 V", "at_most": "2 V"}, "at_most"),
        ({"expected": "x", "band": "5%"}, "expected"),
        ({"expected": "330 V", "band": "8%", "stop_above": "340 V"}, "stop_above"),
        ({"expected": "330 V", "band": "8%", "stop_below": "320 V"}, "stop_below"),
        ({"expected": "9 V", "low": "1 V", "high": "3 V"}, "expected"),
    ],
)
def test_figures_that_contradict_each_other_are_refused(figures, argument):
    with pytest.raises(ChecksError) as caught:
        parse_band(unit="V", **figures)
    assert caught.value.argument == argument


def test_stop_limits_do_not_move_with_the_mains():
    band = Band(300, 330, 315, stop_above=400).scaled(1.1, 1)
    assert (band.low, band.high, band.stop_above) == pytest.approx((330, 363, 400))


def test_a_scaled_band_never_passes_its_stop_limit():
    band = Band(300, 380, 340, stop_above=400).scaled(1.3, 1)
    assert band.high < 400


@given(st.floats(0.5, 0.99), st.floats(-500, 500), st.floats(0.1, 50))
def test_an_unknown_line_only_widens(spread, centre, half):
    band = Band(centre - half, centre + half)
    wide = band.scaled(1.0, 1.0, spread)
    assert wide.low <= band.low and wide.high >= band.high


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e3), st.floats(-1e6, 1e6))
def test_a_deviation_is_finite_and_tells_in_from_out(centre, half, value):
    band = Band(centre - half, centre + half)
    deviation = band.deviation(value)
    assert abs(deviation) <= 99
    if abs(deviation) < 0.999:
        assert band.contains(value)
    if abs(deviation) > 1.001:
        assert not band.contains(value)


def test_a_zero_needs_an_amount_for_its_width():
    band = parse_band(unit="V", expected="0 V", band="50 mV")
    assert (band.low, band.high) == pytest.approx((-0.05, 0.05))
    with pytest.raises(ChecksError, match="no width"):
        parse_band(unit="V", expected="0 V", band="5%")


def test_at_most_counts_the_size_whatever_the_sign():
    band = parse_band(unit="V", at_most="0.1 V")
    assert band.contains(-0.05)
    assert not band.contains(-3.0)
    assert band.deviation(-3.0) == pytest.approx(30)


def test_an_upper_limit_below_zero_keeps_its_sign():
    band = parse_band(unit="V", at_most="-30 V")
    assert band.contains(-40.0) and not band.contains(-20.0)


def test_points_that_must_not_be_connected():
    assert parse_band(unit="Ω", expected="open") == Band(1e6, None, is_open=True)
    assert parse_band(unit="Ω", expected="not connected", at_least="100k").low == 100e3


@pytest.mark.parametrize(
    "figures",
    [
        {"unit": "V", "expected": "open"},
        {"unit": "Ω", "expected": "open", "band": "5%"},
        {"unit": "Ω", "expected": "open", "stop_above": "2M"},
    ],
)
def test_open_takes_ohms_and_no_other_figure(figures):
    with pytest.raises(ChecksError) as caught:
        parse_band(**figures)
    assert caught.value.code == "open"


@pytest.mark.parametrize(
    "stop", [{"stop_above": 330.0}, {"stop_above": 310.0}, {"stop_below": 300.0}, {"stop_below": 310.0}]
)
def test_a_stop_limit_on_or_inside_the_band_is_refused(stop):
    with pytest.raises(ChecksError):
        Band(300.0, 330.0, **stop)


def test_a_plus_minus_sign_without_a_figure_is_refused_at_the_band():
    with pytest.raises(ChecksError) as refused:
        parse_band(unit="V", expected="330 V", band="±")
    assert (refused.value.argument, refused.value.code) == ("band", "empty")
