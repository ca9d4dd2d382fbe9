"""Touch limits, discharge times and stored energy."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.safety import discharge_seconds, energy_class, stored_energy


def test_the_time_is_rc_ln():
    assert discharge_seconds(100e3, 47e-6, 350) == pytest.approx(4.7 * math.log(350 / 60))


@pytest.mark.parametrize(
    ("volts", "ac", "wanted"),
    [(60, 0, "ES1"), (60.1, 0, "ES2"), (121, 0, "ES3"), (0, 30, "ES1"), (0, 51, "ES3"), (-300, 0, "ES3")],
)
def test_classes_by_voltage(volts, ac, wanted):
    assert energy_class(dc_volts=volts, ac_volts_rms=ac) == wanted


@given(st.floats(1, 1e6), st.floats(1e-9, 1e-2), st.floats(61, 1000))
def test_after_that_time_the_voltage_is_the_end_voltage(ohms, farads, start):
    t = discharge_seconds(ohms, farads, start)
    assert start * math.exp(-t / (ohms * farads)) == pytest.approx(60.0)


def test_energy_is_half_cv_squared():
    assert stored_energy(100e-6, 450) == pytest.approx(10.125)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: discharge_seconds(0, 1e-6, 300),
        lambda: discharge_seconds(1e3, -1, 300),
        lambda: stored_energy(-1e-6, 300),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()
