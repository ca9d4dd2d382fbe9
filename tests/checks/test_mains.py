"""The builder's line against the guide's."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.mains import (
    SUPPLIES,
    HertzRemark,
    Line,
    LineRemark,
    Supply,
    best_tap,
    in_outlet_range,
    line_for,
    remark_on_hertz,
    remark_on_line,
    tap_for,
)


@pytest.mark.parametrize(("nominal", "tap"), [(120, 115), (110, 115), (230, 230), (240, 230), (220, 230), (100, 115)])
def test_the_tap_that_suits_is_the_nearest_as_a_ratio(nominal, tap):
    assert best_tap(nominal, [115, 230]) == tap


@given(st.sampled_from(sorted(SUPPLIES)))
def test_an_unmeasured_line_may_lie_anywhere_in_its_permitted_range(nominal):
    line, supply = line_for(float(nominal), measured_volts=None, nominal_volts=nominal), SUPPLIES[nominal]
    assert line.factor * (1 + line.spread) >= supply.high / nominal - 1e-12
    assert line.factor * (1 - line.fall) <= supply.low / nominal + 1e-12


def test_a_measured_line_is_taken_at_its_word_with_the_plug_in_meters_uncertainty():
    line = line_for(230.0, measured_volts=241.5, nominal_volts=230)
    assert (line.factor, line.spread) == (pytest.approx(1.05), 0.0)
    assert line.u > 0


def test_a_line_inside_its_range_needs_no_words():
    assert remark_on_line(230, 241) is None


def test_an_outlet_of_112_volts_at_120_nominal_is_no_dip():
    """ANSI C84.1-2020, range A: 114 V to 126 V service, 108 V to 126 V utilisation (the latter from memory)."""
    assert SUPPLIES[120].low > 112 and in_outlet_range(120, 112)
    assert remark_on_line(120, 112) is None
    assert remark_on_line(120, 107) is LineRemark.DIP


@pytest.mark.parametrize(
    ("nominal", "volts", "said"),
    [(230, 197, LineRemark.DIP), (230, 190, LineRemark.DOUBTFUL), (120, 131, LineRemark.DOUBTFUL)],
)
def test_a_line_outside_its_range_is_remarked_on(nominal, volts, said):
    assert remark_on_line(nominal, volts) is said


def test_the_other_mains_frequency_changes_ripple_and_the_transformer():
    assert remark_on_hertz(50, 50) is None
    assert remark_on_hertz(50, 60) is HertzRemark.HIGHER
    assert remark_on_hertz(60, 50) is HertzRemark.LOWER


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: remark_on_hertz(50, 400),
        lambda: best_tap(230, []),
        lambda: remark_on_line(231, 230),
        lambda: line_for(230, measured_volts=12, nominal_volts=230),
    ],
)
def test_what_is_no_mains_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


def test_the_tap_in_use_is_what_the_line_is_compared_with():
    """120 V on a 115 V tap gives every winding 120/115 of its volts, whatever mains the guide is written for."""
    line = line_for(230.0, measured_volts=120.0, nominal_volts=120, tap_volts=115.0)
    assert line.factor == pytest.approx(120 / 115)
    unmeasured = line_for(230.0, measured_volts=None, nominal_volts=120, tap_volts=115.0)
    assert unmeasured.factor == pytest.approx(120 / 115)


def test_a_plug_in_meters_half_width_is_rectangular():
    """JCGM 100:2008, 4.3.7: a half-width a has the standard uncertainty a/√3; 1 % here (common practice)."""
    assert line_for(230.0, measured_volts=230.0, nominal_volts=230).u == pytest.approx(0.01 / 3**0.5)


def test_an_unmeasured_line_reaches_the_ends_of_its_range_and_not_beyond():
    line = line_for(230.0, measured_volts=None, nominal_volts=240, tap_volts=230.0)
    ends = (line.factor * (1 - line.fall), line.factor * (1 + line.spread))
    assert ends == pytest.approx((216 / 240, 264 / 240))


# Nominal, permitted at the supply terminals, permitted at the outlet. 230 V: EN 50160:2010 and IEC 60038:2009 (207 V
# to 253 V at the terminals); 120 V: ANSI C84.1-2020 range A (114 V to 126 V service, 108 V to 126 V utilisation);
# 100 V: Japan's rules, 101 V ± 6 V. The rest by the same shares, as the tables of the supplies say. From memory.
RANGES = [
    (100, 95, 107, 91),
    (110, 99, 121, 94.6),
    (115, 109.25, 120.75, 103.5),
    (120, 114, 126, 108),
    (127, 114.3, 139.7, 109.22),
    (220, 198, 242, 189.2),
    (230, 207, 253, 197.8),
    (240, 216, 264, 206.4),
]


@pytest.mark.parametrize(("nominal", "low", "high", "outlet"), RANGES)
def test_each_supply_keeps_to_its_range_and_its_ends_belong_to_it(nominal, low, high, outlet):
    assert (SUPPLIES[nominal].low, SUPPLIES[nominal].high) == (low, high)
    assert in_outlet_range(nominal, outlet) and in_outlet_range(nominal, high)
    assert not in_outlet_range(nominal, outlet - 0.01) and not in_outlet_range(nominal, high + 0.01)


def test_every_supply_has_been_checked_against_its_range():
    assert {row[0] for row in RANGES} == set(SUPPLIES)


@pytest.mark.parametrize(("nominal", "reach"), [(230, 0.1), (120, 0.05), (100, 0.07), (115, 0.05)])
def test_the_reach_of_a_supply_is_its_further_end(nominal, reach):
    assert SUPPLIES[nominal].reach == pytest.approx(reach)
    assert SUPPLIES[nominal].share(nominal) == 1.0


@pytest.mark.parametrize(
    "ends", [(210, 253, 220), (207, 253, 240), (231, 253, 200), (207, 229, 197), (207, math.inf, 197), (207, 253, 0)]
)
def test_a_supply_whose_ranges_do_not_lie_about_its_nominal_is_refused(ends):
    low, high, outlet = ends
    with pytest.raises(ChecksError):
        Supply(230, low, high, outlet, "made up")


@pytest.mark.parametrize(("volts", "taken"), [(50, True), (300, True), (49.9, False), (300.1, False)])
def test_a_mains_voltage_is_one_that_a_plug_in_meter_may_show(volts, taken):
    if taken:
        assert line_for(230.0, measured_volts=volts, nominal_volts=230).factor > 0
        return
    with pytest.raises(ChecksError) as caught:
        line_for(230.0, measured_volts=volts, nominal_volts=230)
    assert caught.value.code == "mains"


def test_a_misread_line_moves_a_band_no_further_than_an_outlet_may_lie():
    for nominal, _low, high, outlet in RANGES:
        most = line_for(float(nominal), measured_volts=299.0, nominal_volts=nominal).factor
        least = line_for(float(nominal), measured_volts=50.0, nominal_volts=nominal).factor
        assert (least, most) == (pytest.approx(outlet / nominal), pytest.approx(high / nominal))


@pytest.mark.parametrize(
    ("nominal", "taps", "tap"), [(230, [115, 230], 230), (220, [230], 230), (120, [115, 127], 115)]
)
def test_a_tap_within_the_permitted_range_serves_the_supply(nominal, taps, tap):
    assert tap_for(float(nominal), taps) == tap


@pytest.mark.parametrize(("nominal", "taps"), [(230, [115]), (120, [230]), (240, [270]), (240, [200])])
def test_a_supply_that_no_tap_serves_is_refused_with_what_there_is(nominal, taps):
    with pytest.raises(ChecksError) as caught:
        tap_for(float(nominal), taps)
    assert (caught.value.code, caught.value.params["supply"]) == ("no-tap", nominal)


def test_a_tap_at_the_upper_end_of_the_range_still_serves():
    assert tap_for(230.0, [253.0]) == 253.0 and tap_for(240.0, [264.0]) == 264.0


def test_a_tap_at_the_lower_end_of_the_range_still_serves():
    assert tap_for(120.0, [114.0]) == 114.0 and tap_for(100.0, [95.0]) == 95.0
    with pytest.raises(ChecksError):
        tap_for(120.0, [113.9])


def test_a_tap_that_overheats_the_heaters_at_the_nominal_line_serves_nobody():
    """Valves' sheets allow a heater 10 % over its volts (common practice): 6.3 V on 127/115 of the line are 6.96 V."""
    for nominal, taps in ((127.0, [115.0]), (127.0, [115.0, 230.0]), (240.0, [216.0])):
        with pytest.raises(ChecksError):
            tap_for(nominal, taps)
    assert [tap_for(127.0, [115.0, 120.0]), tap_for(240.0, [220.0]), tap_for(120.0, [115.0])] == [120.0, 220.0, 115.0]


@pytest.mark.parametrize("reference", [0.0, -230.0, math.nan, math.inf])
def test_a_guide_without_a_mains_voltage_gives_no_line(reference):
    with pytest.raises(ChecksError):
        line_for(reference, measured_volts=230.0, nominal_volts=230)


@pytest.mark.parametrize(("field", "value"), [("u", -0.1), ("u", 1.0), ("spread", 1.0), ("fall", 1.0), ("fall", -0.1)])
def test_a_lines_shares_are_shares(field, value):
    with pytest.raises(ChecksError) as caught:
        Line(1.0, **{field: value})
    assert caught.value.argument == field


def test_a_known_line_adds_nothing_by_itself():
    assert (Line(1.0).u, Line(1.0).spread, Line(1.0).fall) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("volts", "remark"),
    [(195.5, LineRemark.DIP), (195.4, LineRemark.DOUBTFUL), (197.8, None), (253.1, LineRemark.DOUBTFUL)],
)
def test_a_dip_reaches_to_85_per_cent_and_no_further(volts, remark):
    """EN 50160:2010: 5 % of ten-minute means may fall to -15 % of nominal: 195.5 V of 230 V (from memory)."""
    assert remark_on_line(230, volts) is remark
