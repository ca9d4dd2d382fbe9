"""The builder's line against the guide's."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.mains import (
    SUPPLIES,
    HertzRemark,
    LineRemark,
    best_tap,
    in_outlet_range,
    in_range,
    line_for,
    remark_on_hertz,
    remark_on_line,
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
    assert not in_range(120, 112) and in_outlet_range(120, 112)
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
