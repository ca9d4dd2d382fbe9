"""Preferred values and the codes on parts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks import codes
from checks.errors import ChecksError

E24 = st.tuples(st.sampled_from(codes.series("E24")), st.integers(0, 6)).map(lambda x: float(f"{x[0]}e{x[1]}"))


@pytest.mark.lengthy
@given(E24, st.sampled_from([1, 2, 5, 10]), st.sampled_from([4, 5]))
def test_colours_say_what_was_put_in(ohms, tolerance, bands):
    decoded = codes.decode_colours(codes.colour_bands(ohms, tolerance, bands))
    assert decoded.ohms == pytest.approx(ohms)
    assert decoded.tolerance == tolerance


@given(
    st.tuples(st.sampled_from(codes.series("E96")), st.integers(1, 5)).map(lambda x: float(f"{x[0]:.2f}e{x[1]}")),
    st.sampled_from(sorted(codes.TCR.values())),
)
def test_six_bands_carry_the_temperature_coefficient(ohms, tcr):
    decoded = codes.decode_colours(codes.colour_bands(ohms, 1, 6, tcr))
    assert (decoded.ohms, decoded.tcr) == (pytest.approx(ohms), tcr)


def test_three_bands_stand_for_twenty_per_cent():
    assert codes.colour_bands(3900, 20, 3) == ("orange", "white", "red")
    assert codes.decode_colours(("orange", "white", "red")).tolerance == 20


@given(E24)
def test_a_capacitors_letter_stands_for_the_point(figure):
    code = codes.capacitor_letter_code(figure * 1e-12)
    (letter,) = set(code) & set(codes.CAPACITOR_LETTERS)
    assert float(code.replace(letter, ".") + f"e{codes.CAPACITOR_LETTERS[letter]}") == pytest.approx(figure * 1e-12)


@given(st.integers(10, 99), st.integers(-1, 7))
def test_three_digits_say_picofarads_and_noughts(figures, noughts):
    code = codes.three_digit_code(float(f"{figures}e{noughts - 12}"))
    assert code == f"{figures}{9 if noughts < 0 else noughts}"


@given(st.floats(1e-3, 1e9), st.sampled_from(["E6", "E12", "E24", "E96"]))
def test_neighbours_embrace_the_value_and_the_nearest_is_one_of_them(value, name):
    below, above = codes.neighbours(value, name)
    assert below <= value * (1 + 1e-6) and above >= value * (1 - 1e-6)
    assert codes.nearest(value, name) in (below, above)


def test_misreadings_are_ranked_and_hold_the_usual_three_kinds():
    misread = codes.misreadings(("brown", "green", "red", "gold"))
    assert {150.0, 15000.0} <= {m.ohms for m in misread}  # decade slips
    assert {m.slip for m in misread} >= {codes.Slip.COLOUR, codes.Slip.DECADE}
    assert ("brown", "red") in {m.colours for m in misread}
    assert [m.weight for m in misread] == sorted((m.weight for m in misread), reverse=True)
    assert not any(math.isclose(m.ohms, 1500.0) for m in misread)


def test_misreadings_include_bands_read_from_the_wrong_end():
    """Brown-black-black-brown-brown is 1 kΩ one way and 110 Ω the other."""
    misread = codes.misreadings(("brown", "black", "black", "brown", "brown"))
    assert any(m.ohms == pytest.approx(110) and m.slip is codes.Slip.WRONG_END for m in misread)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: codes.series("E7"),
        lambda: codes.nearest(-1, "E12"),
        lambda: codes.colour_bands(1234, 5, 4),
        lambda: codes.colour_bands(1000, 3, 4),
        lambda: codes.colour_bands(1000, 1, 6),
        lambda: codes.colour_bands(1000, 1, 7),
        lambda: codes.decode_colours(("mauve", "red", "red", "gold")),
        lambda: codes.decode_colours(("red",)),
        lambda: codes.three_digit_code(1.25e-10),
        lambda: codes.three_digit_code(47e-3),
    ],
)
def test_markings_that_break_their_code_are_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()
