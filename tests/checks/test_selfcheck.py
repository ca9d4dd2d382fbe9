"""Is the meter in trim?"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.meter import PRESETS, half_width
from checks.quantity import Quantity, Tolerance, parse_quantity
from checks.selfcheck import Piece, Trim, self_check

SPEC = PRESETS["handheld"]  # ±(0.8 % + 3) on ohms
RESISTOR = Piece("resistance", 100e3, Tolerance(0.01, 0.01))
BATTERY = Piece("dc volts", 1.6, Tolerance(0.04, 0.04))


@pytest.mark.parametrize(
    ("typed", "piece", "expected"),
    [
        ("100.2k", RESISTOR, Trim.IN_TRIM),
        ("99.6k", RESISTOR, Trim.TOO_CLOSE),
        ("102.5k", RESISTOR, Trim.OUT_OF_TRIM),
        ("96.0k", RESISTOR, Trim.OUT_OF_TRIM),
        ("OL", RESISTOR, Trim.OUT_OF_TRIM),
        ("1.70 V", BATTERY, Trim.OUT_OF_TRIM),
    ],
)
def test_a_reading_is_judged_against_the_piece_and_the_meters_own_statement(typed, piece, expected):
    precise = Piece("resistance", 100e3, Tolerance(0.0005, 0.0005)) if typed == "100.2k" else piece
    checked = self_check(parse_quantity(typed, "Ω" if piece.function == "resistance" else "V"), precise, SPEC)
    assert checked.trim is expected
    assert (checked.params["off"] is None) == (typed == "OL")


def test_a_piece_of_no_tolerance_decides_by_the_statement_alone():
    exact = Piece("resistance", 1000.0, Tolerance(0, 0))
    limit = half_width(1010, SPEC.ohms, 1) + 0.5
    assert self_check(Quantity(1000 + limit - 1, "Ω", 1), exact, SPEC).trim is Trim.IN_TRIM
    assert self_check(Quantity(1000 + limit + 1.5, "Ω", 1), exact, SPEC).trim is Trim.OUT_OF_TRIM


def test_the_finding_says_how_far_off_and_what_is_allowed():
    checked = self_check(parse_quantity("104.0k", "Ω"), RESISTOR, SPEC)
    assert checked.params["off"] == pytest.approx(0.04)
    assert checked.params["allowed"] == pytest.approx(0.008 * 104e3 + 3 * 100 + 50)


@pytest.mark.lengthy
@given(st.floats(-0.2, 0.2), st.floats(0.0001, 0.1))
def test_the_probability_is_one_and_falls_with_the_error(error, tolerance):
    piece = Piece("resistance", 1e4, Tolerance(tolerance, tolerance))
    near, far = (self_check(Quantity(1e4 * (1 + f * error), "Ω", 1.0), piece, SPEC).probability for f in (0.5, 1.0))
    assert 0 <= far <= near + 0.02 <= 1.02


def test_a_meter_that_keeps_its_statement_is_never_called_out_of_trim():
    """The worst that a good piece and a good meter can do together stays short of “out of trim”."""
    for piece_off in (-0.01, 0.01):
        true = 100e3 * (1 + piece_off)
        shown = true * (1 + math.copysign(0.008, piece_off))
        assert self_check(Quantity(shown, "Ω", 100.0), RESISTOR, SPEC).trim is not Trim.OUT_OF_TRIM


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Piece("current", 1, Tolerance(0, 0)),
        lambda: Piece("dc volts", 0, Tolerance(0, 0)),
        lambda: self_check(Quantity(5.0, "V", 1.0), RESISTOR, SPEC),
    ],
)
def test_what_cannot_be_checked_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()
