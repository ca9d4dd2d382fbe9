"""The builder's line against the guide's."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.mains import SUPPLIES, best_tap, hertz_words, line_for, line_words


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
    assert line_words(230, 241) == ""


@pytest.mark.parametrize(
    ("nominal", "volts", "said"), [(230, 197, "short time"), (230, 190, "plug-in meter"), (120, 131, "plug-in meter")]
)
def test_a_line_outside_its_range_is_remarked_on(nominal, volts, said):
    assert said in line_words(nominal, volts)


def test_the_other_mains_frequency_changes_ripple_and_the_transformer():
    assert hertz_words(50, 50) == ""
    assert "60 Hz and 120 Hz" in hertz_words(50, 60)
    assert "runs hotter" in hertz_words(60, 50)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: hertz_words(50, 400),
        lambda: best_tap(230, []),
        lambda: line_words(231, 230),
        lambda: line_for(230, measured_volts=12, nominal_volts=230),
    ],
)
def test_what_is_no_mains_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()
