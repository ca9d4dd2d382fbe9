"""What a meter reading is worth."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.meter import PRESETS, Accuracy, MeterSpec, measure
from checks.quantity import Quantity, parse_quantity

DIGITAL, ANALOGUE = PRESETS["handheld"][1], PRESETS["analogue"][1]


def test_accuracy_and_resolution_make_the_uncertainty():
    found = measure(parse_quantity("300.0", "V"), "dc volts", DIGITAL)
    assert found.u == pytest.approx(math.hypot((0.005 * 300 + 2 * 0.1) / math.sqrt(3), 0.1 / math.sqrt(12)))


def test_fewer_digits_typed_are_worth_less():
    coarse, fine = (measure(parse_quantity(t, "V"), "dc volts", DIGITAL).u for t in ("300", "300.0"))
    assert coarse > fine


def test_an_analogue_meter_is_judged_by_its_full_scale():
    found = measure(parse_quantity("60 V", "V"), "dc volts", ANALOGUE)
    assert found.u == pytest.approx(math.hypot(0.03 * 250 / math.sqrt(3), 1 / math.sqrt(12)))


@given(st.floats(1, 900), st.floats(0, 1e6))
def test_correcting_for_loading_undoes_the_divider(true, source):
    shown = true * 10e6 / (10e6 + source)
    found = measure(Quantity(shown, "V", 0.1), "dc volts", DIGITAL, source_ohms=source)
    assert found.value == pytest.approx(true, rel=1e-9)


def test_a_large_correction_is_less_sure_than_a_small_one():
    low, high = (measure(parse_quantity("150.0", "V"), "dc volts", DIGITAL, source_ohms=r).u for r in (1e3, 1e6))
    assert high > 2 * low


def test_over_range_is_no_number():
    found = measure(parse_quantity("OL", "Ω"), "resistance", DIGITAL)
    assert (found.value, found.over_range) == (None, True)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Accuracy(-1),
        lambda: measure(parse_quantity("1", "V"), "inductance", DIGITAL),
        lambda: MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1)),
        lambda: MeterSpec.from_dict({"kind": "digital"}),
        lambda: MeterSpec("steam", Accuracy(1), Accuracy(1), Accuracy(1), input_ohms=1e7),
        lambda: MeterSpec("analogue", Accuracy(3), Accuracy(4), Accuracy(5), ohms_per_volt=2e4),
        lambda: measure(parse_quantity("1", "V"), "current", DIGITAL),
    ],
)
def test_a_meter_that_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


def test_a_measurement_over_range_has_no_number():
    meter = PRESETS["handheld"][1]
    assert measure(parse_quantity("285.0 V", "V"), "dc volts", meter).number == 285.0
    with pytest.raises(ChecksError):
        _ = measure(parse_quantity("OL", "V"), "dc volts", meter).number


def test_a_meter_given_by_ohms_per_volt_has_no_resistance_without_its_range():
    meter = PRESETS["analogue"][1]
    assert meter.resistance_on(50) == 1e6  # 20 kΩ per volt times 50 V
    with pytest.raises(ChecksError):
        meter.resistance_on(None)
