"""The scale drawing: its figures stay on the page and apart, and no stop goes without its number."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.ui.drawings.scale import make_scale
from builds.ui.drawings.scale_marks import LETTER, WIDTH, figures_on, list_marks

VOLTS = st.floats(-500, 500).map(lambda x: round(x, 2))


def drawn(low, high, value=None, stop_above=None, stop_below=None, u=0.5):
    scale = make_scale(
        low, high, stop_above=stop_above, stop_below=stop_below, values=[] if value is None else [value], u=u
    )
    figures = figures_on("V", low=low, high=high, stop_above=stop_above, stop_below=stop_below, value=value)
    return scale, list_marks(scale, figures, value)


@pytest.mark.lengthy
@given(VOLTS, st.floats(0.05, 400), VOLTS, st.floats(0.1, 400))
def test_figures_of_one_line_never_meet_nor_leave_the_drawing(low, width, value, beyond):
    high = low + width
    _scale, figure = drawn(low, high, value, stop_above=high + beyond, stop_below=low - beyond)
    for y in {mark.y for mark in figure.marks}:
        row = sorted((m.x - LETTER * len(m.text) / 2, m.x + LETTER * len(m.text) / 2) for m in figure.marks if m.y == y)
        assert row[0][0] >= -1e-6 and row[-1][1] <= WIDTH + 1e-6
        assert all(a[1] <= b[0] for a, b in zip(row, row[1:], strict=False))


def test_every_stop_is_numbered_and_hatched_near_or_far():
    near_scale, near = drawn(270, 330, 300, stop_above=360)
    far_scale, far = drawn(-0.5, 0.3, 12.0, stop_above=5.0)
    assert near_scale.stop_from and not far_scale.stop_from
    assert "off above 360 V" in [m.text for m in near.marks] and "off above 5.00 V →" in [m.text for m in far.marks]
    assert all(path.startswith("M") and width > 5 for m in (near, far) for _x, width, path in m.hatched)


def test_a_value_beyond_the_scale_points_the_way():
    _scale, figure = drawn(-0.5, 0.3, 12.0, stop_above=5.0)
    assert "12.0 V →" in [m.text for m in figure.marks]


def test_an_uncertainty_is_drawn_on_the_scale_and_not_past_its_ends():
    scale, _found = drawn(10, 20, 12, u=100)
    needle = scale.needles[0]
    assert needle.left >= 0 and needle.left + needle.width <= WIDTH


def test_below_zero_is_written_with_a_minus_sign():
    _scale, figure = drawn(-0.5, 0.3)
    assert "−500 mV" in [m.text for m in figure.marks]
