"""Bands as guides write them."""

import math

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
def test_a_band_can_be_given_as_limits_at_least_or_at_most(figures, limits):
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


@pytest.mark.parametrize(
    ("band", "value", "deviation"),
    [
        (Band(270, 330), 300, 0.0),
        (Band(270, 330), 330, 1.0),
        (Band(270, 330), 240, -2.0),
        (Band(5, 5), 5, 0.0),  # a band of no width: on it or far off
        (Band(5, 5), 5.1, 99.0),
        (Band(5, 5), 4.9, -99.0),
        (Band(None, 10), 5, 0.5),
        (Band(None, 10), -5, 0.5),  # the size counts
        (Band(None, -10), -20, 2.0),
        (Band(None, 0), -1, 0.0),
        (Band(None, 0), 0, 0.0),
        (Band(None, 0), 0.1, 99.0),
        (Band(10, None), 20, -0.5),
        (Band(10, None), 5, -2.0),
        (Band(10, None), 0, -99.0),
        (Band(10, None), -1, -99.0),
        (Band(0, None), 0, 0.0),
        (Band(0, None), 1, 0.0),
        (Band(0, None), -0.1, -99.0),
        (Band(None, None), 7, 0.0),
        (Band(None, None), -7, 0.0),  # without a limit nothing is off, on either side
        (Band(0, 1e-9), 1, 99.0),  # never further than 99
        (Band(0, 1e-9), -1, -99.0),
    ],
)
def test_a_deviation_counts_half_widths_from_the_middle(band, value, deviation):
    assert band.deviation(value) == pytest.approx(deviation)


@pytest.mark.parametrize(
    ("band", "value", "stops"),
    [
        (Band(None, None, stop_above=5.0), -5.0, False),  # at the limit itself, probes swapped
        (Band(None, None, stop_above=5.0), -5.1, True),
        (Band(None, 0.3, stop_above=0.5), -0.6, True),
        (Band(None, 0.0, stop_above=5.0), -6.0, False),  # good readings lie below zero
        (Band(None, 0.1, stop_above=5.0), -6.0, True),
        (Band(-5.0, -1.0, stop_above=5.0), -6.0, True),  # none lies further below zero than the limit above it
        (Band(-5.1, -1.0, stop_above=5.0), -6.0, False),
        (Band(-30, -20, stop_above=-5.0), -100.0, False),  # a limit below zero has no mirror
        (Band(-30, -20, stop_above=0.0), -100.0, False),
        (Band(-64, -52, stop_below=-80), 80.0, False),  # a negative supply at its limit, probes swapped
        (Band(-64, -52, stop_below=-80), 80.1, True),
        (Band(None, -52, stop_below=-80), 90.0, True),
        (Band(-64, None, stop_below=-80), 90.0, False),  # good readings lie above zero
        (Band(-5, 0.0, stop_below=-80), 80.0, False),
        (Band(-5, 0.0, stop_below=-80), 90.0, True),
        (Band(-5, 5, stop_below=-50), 50.1, True),  # a point about zero, whose sign says nothing of its danger
        (Band(-5, 5, stop_below=-50), 50.0, False),
        (Band(-5, 50, stop_below=-50), 50.1, True),
        (Band(-5, 60, stop_below=-50), 300.0, False),  # good readings lie that far above zero
        (Band(-5, 5, stop_below=-50, stop_above=100), 60.0, False),  # the designer says how far it may rise
        (Band(None, 5, stop_below=-50), 60.0, True),
        (Band(0, 5, stop_below=-50), 60.0, True),
        (Band(0.1, 5, stop_below=-50), 60.0, False),
        (Band(285, 315, stop_below=-10), 300.0, False),  # a limit across zero from the band
    ],
)
def test_swapped_probes_are_past_a_stop_where_no_good_reading_lies_there(band, value, stops):
    assert band.is_swapped_stop(value) is stops
    assert band.stops(value) is stops


@pytest.mark.parametrize(
    ("band", "factor", "expected"),
    [
        (Band(200, 380, stop_above=400), 1.2, (240, 400 * (1 - 1e-6))),
        (Band(-380, -200, stop_below=-400), 1.2, (-400 * (1 - 1e-6), -240)),
        (Band(200, 380, stop_below=190), 0.9, (190 * (1 + 1e-6), 342)),
        (Band(-380, -200, stop_above=-190), 0.9, (-342, -190 * (1 + 1e-6) - 1e-9)),
        (Band(1, 2, stop_below=0.0), 1.1, (1.1, 2.2)),
    ],
)
def test_a_moved_band_is_cut_off_just_short_of_its_stop_limit(band, factor, expected):
    """Parts fail at volts: the stop stays where it is, and the band ends before it."""
    moved = band.scaled(factor, 1.0)
    assert (moved.low, moved.high) == pytest.approx(expected, rel=1e-9)
    assert (moved.stop_below, moved.stop_above) == (band.stop_below, band.stop_above)
    assert moved.stop_above is None or moved.high < moved.stop_above
    assert moved.stop_below is None or moved.low > moved.stop_below


def test_a_band_moved_exactly_onto_its_stop_ends_before_it():
    assert Band(100, 200, stop_above=400).scaled(2.0, 1.0).high < 400
    assert Band(100, 200, stop_below=50).scaled(0.5, 1.0).low > 50


@pytest.mark.parametrize(
    ("spread", "fall", "expected"), [(0.1, 0.0, (270, 363)), (0.0, 0.1, (243, 330)), (0.1, 0.2, (216, 363))]
)
def test_an_unknown_line_widens_a_band_to_its_side(spread, fall, expected):
    moved = Band(270, 330, 300).scaled(1.0, 1.0, spread, fall)
    assert (moved.low, moved.high, moved.expected) == pytest.approx((*expected, 300))


def test_a_band_below_zero_widens_away_from_zero_on_both_sides():
    moved = Band(-330, -270, -300).scaled(1.0, 1.0, 0.1, 0.2)
    assert (moved.low, moved.high) == pytest.approx((-363, -216))


def test_a_falling_reading_goes_the_other_way():
    """Exponent -1: at 10 % more line it reads 1/1.1 of the figure."""
    moved = Band(270, 330, 300).scaled(1.1, -1.0)
    assert (moved.low, moved.high) == pytest.approx((270 / 1.1, 330 / 1.1))


def test_nothing_moves_without_an_exponent_or_at_the_guides_own_line():
    band = Band(270, 330, 300)
    assert band.scaled(1.2, 0.0, 0.1, 0.1) is band and band.scaled(1.0, 1.0) is band
    assert band.scaled(1.0, 1.0, spread=0.01) is not band and band.scaled(1.0, 1.0, fall=0.01) is not band


@pytest.mark.parametrize(
    "how", [(0.0, 1.0), (math.inf, 1.0), (1.0, math.nan), (1.0, 1.0, -0.1), (1.0, 1.0, 0.0, 1.0), (1.0, 1.0, 0.0, -0.1)]
)
def test_what_is_no_line_moves_no_band(how):
    with pytest.raises(ChecksError):
        Band(270, 330).scaled(*how)


@pytest.mark.parametrize(
    ("limits", "argument"),
    [
        ({"stop_above": 330.0}, "stop_above"),  # a stop at the limit itself lies inside
        ({"stop_below": 270.0}, "stop_below"),
        ({"stop_above": 300.0}, "stop_above"),
        ({"stop_below": 300.0}, "stop_below"),
    ],
)
def test_a_stop_limit_lies_outside_its_band(limits, argument):
    with pytest.raises(ChecksError) as caught:
        Band(270, 330, 300, **limits)
    assert (caught.value.argument, caught.value.code) == (argument, "stop-inside")
    assert Band(270, 330, stop_above=330.1, stop_below=269.9).stop_above == 330.1


def test_a_refusal_of_a_stop_says_which_side_it_is_about():
    for limits, above in (({"stop_above": 1.0}, True), ({"stop_below": 999.0}, False)):
        with pytest.raises(ChecksError) as caught:
            Band(270, 330, 300, **limits)
        assert caught.value.params["above"] is above


@pytest.mark.parametrize(
    ("value", "inside"),
    [(270 * (1 - 5e-10), True), (270 * (1 - 2e-9), False), (330 * (1 + 5e-10), True), (330.001, False)],
)
def test_what_binary_fractions_make_of_a_limit_still_counts_as_on_it(value, inside):
    assert Band(270, 330).contains(value) is inside


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({"expected": "300 V"}, "ways"),
        ({"band": "8%", "at_most": "3 V", "expected": "2 V"}, "ways"),
        ({"low": "1 V"}, "ways"),
        ({"high": "1 V"}, "ways"),
        ({"band": "8%"}, "missing"),
        ({"expected": "300 V", "band": "0%"}, "no-width"),
        ({"at_most": "OL"}, "over"),
        ({"expected": "open"}, "open"),
    ],
)
def test_figures_that_say_no_band_are_refused_by_their_code(figures, code):
    with pytest.raises(ChecksError) as caught:
        parse_band(unit="V", **figures)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("band", "low", "high"),
    [
        (Band(0.2, 0.5), 0.18, 0.55),
        (Band(-0.5, -0.2), -0.55, -0.18),
        (Band(-0.5, 0.5), -0.55, 0.55),
        (Band(200.0, 500.0), 180.0, 550.0),
    ],
)
def test_a_line_that_nobody_measured_widens_a_band_at_both_ends(band, low, high):
    """By 10 % either way, whatever the sign and the size of its limits."""
    wide = band.scaled(1.0, 1.0, 0.1, 0.1)
    assert (wide.low, wide.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("figures", "argument", "is_pair"),
    [
        ({"low": "1 V"}, "high", True),
        ({"high": "1 V"}, "low", True),
        ({"expected": "300 V"}, "band", False),
        ({"low": "1 V", "high": "2 V", "at_most": "3 V"}, "at_most", False),
    ],
)
def test_a_band_said_by_halves_or_twice_names_the_figure_that_is_missing_or_too_many(figures, argument, is_pair):
    with pytest.raises(ChecksError) as caught:
        parse_band(unit="V", **figures)
    assert (caught.value.argument, caught.value.params["pair"]) == (argument, is_pair)


@pytest.mark.parametrize(
    ("figures", "low", "high"),
    [
        ({"expected": "-300 V", "band": "10%"}, -330, -270),
        ({"expected": "300 V", "band": "± 5 V"}, 295, 305),
        ({"expected": "300 V", "band": "2,5 %"}, 292.5, 307.5),
        ({"at_most": "500 mV"}, None, 0.5),
        ({"at_least": "2 V"}, 2.0, None),
        ({"low": "1 V", "high": "2 V"}, 1.0, 2.0),
    ],
)
def test_a_band_is_said_in_one_of_four_ways(figures, low, high):
    band = parse_band(unit="V", **figures)
    assert (band.low, band.high, band.is_open) == (
        pytest.approx(low) if low else low,
        pytest.approx(high) if high else high,
        False,
    )


def test_points_not_to_be_connected_read_a_megohm_or_what_the_guide_says():
    """1 MΩ is common practice."""
    assert parse_band(unit="Ω", expected=" Open ").low == 1e6
    named = parse_band(unit="Ω", expected="not connected", at_least="100k")
    assert (named.low, named.high, named.is_open) == (100e3, None, True)
    with pytest.raises(ChecksError) as caught:
        parse_band(unit="Ω", expected="open", at_most="5")
    assert (caught.value.code, caught.value.params["alone"]) == ("open", True)
    with pytest.raises(ChecksError) as caught:
        parse_band(unit="V", expected="open")
    assert caught.value.params["alone"] is False
