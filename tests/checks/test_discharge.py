"""How long a kit takes to discharge, from its parts list."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from checks.circuit import part_from_mapping
from checks.discharge import discharge
from checks.errors import ChecksError


def part(ref, kind, value, joins, **more):
    return part_from_mapping({"ref": ref, "kind": kind, "value": value, "joins": joins, **more})


def supply(*more, farads="47u", ohms="100k"):
    return [
        part("C1", "electrolytic", farads, ["ht", "chassis"], volts="450 V", tolerance="20%"),
        part("R1", "resistor", ohms, ["ht", "chassis"], tolerance="5%"),
        *more,
    ]


def test_one_capacitor_and_one_bleeder_take_rc_ln():
    discharged = discharge(supply(), 350.0)
    assert discharged.seconds == pytest.approx(100e3 * 1.05 * 47e-6 * 1.2 * math.log(350 / 60), rel=1e-6)
    assert (discharged.bleeders, discharged.capacitors) == (("R1",), ("C1",))
    assert discharged.joules == pytest.approx(0.5 * 47e-6 * 1.2 * 350**2)


def test_two_capacitors_behind_a_dropper_take_as_long_as_the_equations_integrated():
    parts = supply(
        part("R2", "resistor", "10k", ["ht", "far"], tolerance="5%"),
        part("C2", "electrolytic", "22u", ["far", "chassis"], volts="450 V", tolerance="20%"),
    )
    discharged = discharge(parts, 400.0)
    c1, c2, r1, r2 = 47e-6 * 1.2, 22e-6 * 1.2, 105e3, 10.5e3

    def slope(_t, v):
        between = (v[1] - v[0]) / r2
        return [(between - v[0] / r1) / c1, -between / c2]

    def below(_t, v):
        return max(v) - 60.0

    below.terminal = True
    solved = solve_ivp(slope, (0, 200), [400.0, 400.0], events=below, rtol=1e-9, atol=1e-9)
    assert discharged.seconds == pytest.approx(solved.t_events[0][0], rel=1e-5)


def rail(*more, value="470k", ends=("chassis", "bias"), kind="electrolytic"):
    return supply(
        part("C9", kind, "100u", [*ends], volts="160 V", tolerance="20%"),
        part("R9", "resistor", value, ["bias", "chassis"], tolerance="5%"),
        *more,
    )


def test_a_negative_rail_is_waited_for_too():
    """Its capacitor has its plus on the chassis; here it holds its charge ten times as long as the reservoir."""
    discharged = discharge(rail(), 350.0)
    assert discharged.seconds == pytest.approx(470e3 * 1.05 * 100e-6 * 1.2 * math.log(350 / 60), rel=1e-6)
    assert discharged.bleeders == ("R9", "R1")


@pytest.mark.parametrize("ends", [("chassis", "bias"), ("bias", "chassis")])
def test_a_film_capacitor_beside_an_electrolytic_takes_none_of_its_charge(ends):
    film = part("C8", "capacitor", "50u", [*ends], volts="250 V", tolerance="10%")
    farads = 100e-6 * 1.2 + 50e-6 * 1.1
    wanted = 470e3 * 1.05 * farads * math.log(350 / 60)
    assert discharge(rail(film), 350.0).seconds == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("ends", [("chassis", "bias"), ("bias", "chassis")])
def test_film_capacitors_alone_hold_a_charge_whichever_end_is_named_first(ends):
    wanted = 470e3 * 1.05 * 100e-6 * 1.2 * math.log(350 / 60)
    assert discharge(rail(kind="capacitor", ends=ends), 350.0).seconds == pytest.approx(wanted, rel=1e-6)


def test_capacitors_in_series_each_hold_their_charge():
    """A doubler's two: its output stands at twice what each holds, and each has its own resistor."""
    parts = [
        part("C1", "electrolytic", "47u", ["ht", "middle"], volts="350 V", tolerance="20%"),
        part("C2", "electrolytic", "47u", ["middle", "chassis"], volts="350 V", tolerance="20%"),
        part("R1", "resistor", "470k", ["ht", "middle"], tolerance="5%"),
        part("R2", "resistor", "220k", ["middle", "chassis"], tolerance="5%"),
    ]
    wanted = 470e3 * 1.05 * 47e-6 * 1.2 * math.log(300 / 60)
    assert discharge(parts, 300.0).seconds == pytest.approx(wanted, rel=1e-6)
    assert discharge(parts, 300.0).bleeders  # those on the chassis


def test_a_supply_that_nothing_bleeds_never_discharges_by_itself():
    parts = [
        part("C1", "electrolytic", "47u", ["ht", "chassis"], volts="450 V"),
        part("D1", "diode", "", {"anode": "ac", "cathode": "ht"}),
    ]
    assert discharge(parts, 350.0).seconds == math.inf


def test_a_kit_without_a_supply_capacitor_has_no_discharge():
    small = [
        part("C1", "electrolytic", "47u", ["k", "chassis"], volts="25 V"),
        part("R1", "resistor", "180", ["k", "chassis"]),
    ]
    assert discharge(small, 350.0) is None


def test_below_the_touch_limit_there_is_nothing_to_wait_for():
    assert discharge(supply(), 50.0).seconds == 0.0


def test_no_volts_are_refused():
    with pytest.raises(ChecksError, match="above zero"):
        discharge(supply(), 0.0)


@pytest.mark.lengthy
@settings(max_examples=25)
@given(st.floats(80, 500), st.integers(1, 400), st.integers(10, 1000))
def test_more_volts_more_farads_and_more_ohms_only_take_longer(volts, micro, kilo):
    base = discharge(supply(farads=f"{micro}u", ohms=f"{kilo}k"), volts).seconds
    longer = [
        discharge(supply(farads=f"{micro * 2}u", ohms=f"{kilo}k"), volts).seconds,
        discharge(supply(farads=f"{micro}u", ohms=f"{kilo * 2}k"), volts).seconds,
        discharge(supply(farads=f"{micro}u", ohms=f"{kilo}k"), volts * 1.5).seconds,
    ]
    assert np.all(np.array(longer) > base)
