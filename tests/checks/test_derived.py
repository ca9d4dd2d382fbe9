"""Currents and dissipations worked out from readings."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.circuit import part_from_mapping
from checks.derived import Derived, Estimate, current_through, derive, heater_current, propagate
from checks.errors import ChecksError


def resistor(ref, value, a, b, tolerance="5%"):
    return part_from_mapping({"ref": ref, "kind": "resistor", "value": value, "tolerance": tolerance, "joins": [a, b]})


EL84 = part_from_mapping(
    {
        "ref": "V2",
        "kind": "pentode",
        "type": "EL84",
        "base": "B9A",
        "joins": {"anode": "a", "screen": "s", "grid": "g", "cathode": "k", "heater": ["h1", "h2"]},
        "pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3", "heater": ["4", "5"]},
        "limits": {"anode_watts": 12, "screen_watts": 2},
    }
)
STAGE = [EL84, resistor("R10", "180", "k", "chassis"), resistor("R11", "1k", "s", "ht")]
VOLTS = {"a": Estimate(258.0, 1.0), "k": Estimate(8.2, 0.03), "s": Estimate(255.0, 0.3), "ht": Estimate(260.0, 0.3)}


def found(parts=STAGE, volts=VOLTS, **more) -> dict[str, Derived]:
    return {d.what: d for d in derive(parts, volts, **more)}


def test_a_pentodes_currents_and_watts_follow_from_its_resistors():
    by = found()
    cathode, screen = 8.2 / 180, 5.0 / 1000
    assert by["cathode current"].value == pytest.approx(cathode)
    assert by["anode dissipation"].value == pytest.approx((258 - 8.2) * (cathode - screen))
    assert by["screen dissipation"].value == pytest.approx((255 - 8.2) * screen)
    assert by["anode dissipation"].outcome == "within"
    assert by["anode dissipation"].system == "design centre"


def test_uncertainty_is_that_of_the_resistor_and_the_meter_together():
    u = found()["cathode current"].u
    assert u == pytest.approx(8.2 / 180 * math.hypot(0.05 / math.sqrt(3), 0.03 / 8.2), rel=1e-3)


def test_without_the_screens_current_the_anodes_is_only_a_bound():
    by = found(parts=STAGE[:2])
    assert by["anode dissipation"].at_most
    assert by["anode dissipation"].value == pytest.approx((258 - 8.2) * 8.2 / 180)


def test_a_bound_above_the_limit_is_not_called_over():
    by = found(parts=STAGE[:2], volts=VOLTS | {"k": Estimate(9.8, 0.03)})
    assert by["anode dissipation"].value > 12
    assert by["anode dissipation"].outcome == "cannot tell"
    assert by["anode dissipation"].limit == 12


def test_a_valve_that_is_worked_too_hard_is_over_its_limit():
    by = found(volts=VOLTS | {"k": Estimate(11.9, 0.03)})
    assert by["anode dissipation"].outcome == "over"


def test_a_small_drop_between_two_large_readings_is_not_built_on():
    by = found(volts=VOLTS | {"s": Estimate(258.0, 1.0)})
    assert "screen dissipation" not in by
    assert by["anode dissipation"].at_most


def test_nothing_is_worked_out_from_readings_that_are_not_there():
    assert found(volts={"a": Estimate(258.0)}) == {}


def test_a_node_fed_by_two_resistors_says_nothing_of_the_current():
    two = [*STAGE, resistor("R12", "1k", "k", "chassis")]
    assert "cathode current" not in found(parts=two)


def test_a_heaters_current_follows_its_volts():
    by = found(heaters={"V2": Estimate(6.3, 0.05)})
    assert by["heater current"].value == pytest.approx(0.76)
    assert by["heater power"].value == pytest.approx(0.76 * 6.3)
    low = heater_current(Estimate(5.4, 0.05), 6.3, 0.76)
    assert low.value == pytest.approx(0.76 * (5.4 / 6.3) ** 0.6)


@pytest.mark.lengthy
@given(st.floats(1, 500), st.floats(0.01, 5), st.floats(0.1, 100), st.floats(0.01, 1))
def test_a_product_adds_relative_uncertainties_in_squares(x, ux, y, uy):
    got = propagate(lambda a, b: a * b, Estimate(x, ux), Estimate(y, uy))
    assert got.u == pytest.approx(math.hypot(y * ux, x * uy), rel=1e-6)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: current_through(Estimate(1.0), 0.0, 0.05),
        lambda: Estimate(math.nan),
        lambda: Estimate(1.0, -1.0),
        lambda: heater_current(Estimate(6.3), 0.0, 0.3),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()
