"""The mains family and the response of two recordings, figure by figure."""

import pytest

from builds.review.amplifier.compared_curves import mains_rows, response_rows
from checks.tone.comparison import Better


def hum(mains, **rms):
    return {"mains": mains, "lines": [{"hertz": int(k[1:]) * mains, "rms": v, "u": 0.02} for k, v in rms.items()]}


def test_mains_lines_are_compared_by_their_multiple_whatever_the_mains():
    """A tenth of the volts is 20 dB."""
    rows = list(mains_rows(hum(49.98, x1=2e-3, x2=1e-2), hum(60.0, x2=1e-3, x3=1e-3), 0.05))
    (row,) = rows
    assert row.difference.value == pytest.approx(20) and row.difference.better is Better.SECOND


def response(levels, u=0.01, hertz=(10.0, 20.0, 40.0, 80.0)):
    return {"hertz": list(hertz), "levels": levels, "u": [u] * len(levels)}


def test_responses_are_compared_at_octaves_with_both_uncertainties():
    first, second = response([-9.0, -6.0, -3.0, 0.0]), response([-9.0, -4.0, -3.0, 0.0], u=0.3)
    rows = list(response_rows(first, second))
    assert [row.difference.value for row in rows] == pytest.approx([-2.0, 0.0, 0.0])
    assert all(row.difference.u > 0.3 for row in rows)
    assert [row.difference.better is Better.NEITHER for row in rows] == [False, True, True]


def test_an_octave_that_noise_lies_over_is_left_out():
    assert not list(response_rows(response([-9.0, -6.0, -3.0, 0.0]), response([0.0] * 4, u=3.0)))
