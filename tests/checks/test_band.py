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


@pytest.mark.parametrize(("figures", "limits"), [({"low": "1 V", "high": "3 V"}, (1, 3)), ({"at_least": "2 V"}, (2, None)),
                                                 ({"at_most": "0.5 V"}, (None, 0.5))])
def test_other_ways_to_say_it(figures, limits):
    band = parse_band(unit="V", **figures)
    assert (band.low, band.high) == limits


@pytest.mark.parametrize(("figures", "argument"), [
    ({}, "band"), ({"expected": "5 V"}, "band"), ({"band": "5%"}, "expected"), ({"low": "3 V", "high": "1 V"}, "low"),
    ({"low": "3 V"}, "high"), ({"at_least": "1 V", "at_most": "2 V"}, "at_most"), ({"expected": "x", "band": "5%"}, "expected"),
    ({"expected": "330 V", "band": "8%", "stop_above": "340 V"}, "stop_above"),
    ({"expected": "330 V", "band": "8%", "stop_below": "320 V"}, "stop_below"),
    ({"expected": "9 V", "low": "1 V", "high": "3 V"}, "expected")])
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
