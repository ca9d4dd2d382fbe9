"""Touch limits, stored energy and classes of energy sources."""

import math

import pytest

from checks.errors import ChecksError
from checks.meter import Measurement
from checks.safety import energy_class, is_safe_to_touch, stored_energy


@pytest.mark.parametrize(
    ("volts", "ac", "expected"),
    [(60, 0, "ES1"), (60.1, 0, "ES2"), (121, 0, "ES3"), (0, 30, "ES1"), (0, 51, "ES3"), (-300, 0, "ES3")],
)
def test_classes_by_voltage(volts, ac, expected):
    assert energy_class(dc_volts=volts, ac_volts_rms=ac) == expected


def test_energy_is_half_cv_squared():
    assert stored_energy(100e-6, 450) == pytest.approx(10.125)


def measured(value, raw=None, share=0.0, counts=0.0, step=0.0):
    return Measurement(value, 0.1, value if raw is None else raw, share=share, counts=counts, step=step)


@pytest.mark.parametrize(
    ("measurement", "safe"),
    [
        (measured(59.9), True),
        (measured(60.0), False),  # "below 60 V": the limit itself is not safe
        (measured(-60.0), False),
        (measured(-59.9), True),
        (measured(59.0, share=0.6, counts=0.5), False),  # 1.1 V of accuracy may hide what is missing
        (measured(58.0, share=0.6, counts=0.5), True),
        (measured(59.6, step=1.0), False),  # 59.6 as shown to whole volts may be 60.1
        (measured(59.4, step=1.0), True),
        (measured(50.0, raw=60.0), False),  # the higher of what was shown and what was corrected counts
        (measured(60.0, raw=50.0), False),
        (Measurement(None, 0.0, None, over_range=True), False),  # over range is not safe
    ],
)
def test_safe_to_touch_is_below_the_limit_whatever_the_meter_may_hide(measurement, safe):
    """IEC 62368-1:2018, table 4: ES1 ends at 60 V DC."""
    assert is_safe_to_touch(measurement) is safe


@pytest.mark.parametrize(
    ("dc", "ac", "expected"),
    [
        (0.0, 30.0, "ES1"),
        (0.0, 30.1, "ES2"),
        (0.0, 50.0, "ES2"),
        (0.0, 50.1, "ES3"),
        (120.0, 0.0, "ES2"),
        (120.1, 0.0, "ES3"),
        (30.0, 15.0, "ES1"),  # half of each limit
        (31.0, 15.0, "ES2"),
        (60.0, 26.0, "ES3"),
    ],
)
def test_ac_on_top_of_dc_counts_with_it(dc, ac, expected):
    """IEC 62368-1:2018, table 4, combined AC and DC (from memory)."""
    assert energy_class(dc_volts=dc, ac_volts_rms=ac) == expected


def test_no_capacitance_stores_nothing_and_no_voltage_is_known_of_infinity():
    assert stored_energy(0.0, 300.0) == 0.0
    assert energy_class() == "ES1"


@pytest.mark.parametrize(
    ("wrong", "argument"),
    [
        (lambda: stored_energy(-1e-6, 300), "farads"),
        (lambda: stored_energy(math.inf, 1), "farads"),
        (lambda: stored_energy(1e-6, math.nan), "volts"),
        (lambda: energy_class(dc_volts=math.nan), "dc_volts"),
        (lambda: energy_class(ac_volts_rms=-1.0), "ac_volts_rms"),
        (lambda: energy_class(ac_volts_rms=math.inf), "ac_volts_rms"),
    ],
)
def test_a_refusal_names_what_is_wrong(wrong, argument):
    with pytest.raises(ChecksError) as caught:
        wrong()
    assert caught.value.argument == argument
