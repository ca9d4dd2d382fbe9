"""The valve equations: slopes are those of the currents, cut-off is cut-off, and impossible sets are refused."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.circuit import valves
from checks.circuit.fitting.residuals import as_markdown
from checks.circuit.valves.fitted import FITTED
from checks.circuit.valves.koren import Koren, pentode_current, triode_current
from checks.circuit.valves.types import (
    data,
    find_capacitances,
    find_heater,
    find_koren,
    find_limits,
    find_spread,
    find_type,
)
from checks.errors import ChecksError

TRIODES = [name for name, set_ in FITTED.items() if "kg2" not in set_]
PENTODES = [name for name, set_ in FITTED.items() if "kg2" in set_]


@pytest.mark.lengthy
@given(st.sampled_from(TRIODES), st.floats(20, 400), st.floats(-20, -0.1))
def test_a_triodes_slopes_are_those_of_its_current(name, va, vg):
    k, h = Koren(**FITTED[name]), 1e-4
    ia, by_va, by_vg = triode_current(k, va, vg)
    assert by_va == pytest.approx(
        (triode_current(k, va + h, vg)[0] - triode_current(k, va - h, vg)[0]) / (2 * h), rel=1e-3, abs=1e-9
    )
    assert by_vg == pytest.approx(
        (triode_current(k, va, vg + h)[0] - triode_current(k, va, vg - h)[0]) / (2 * h), rel=1e-3, abs=1e-9
    )
    assert ia >= 0


@pytest.mark.lengthy
@given(st.sampled_from(PENTODES), st.floats(50, 400), st.floats(50, 300), st.floats(-20, -1))
def test_a_pentode_passes_more_with_less_bias_and_never_less_than_nothing(name, va, vs, vg):
    k = Koren(**FITTED[name])
    (ia, *_), (screen, *_rest) = pentode_current(k, va, vs, vg)
    (more, *_), _ = pentode_current(k, va, vs, vg + 0.5)
    assert ia >= 0 and screen >= 0
    assert more >= ia


def test_current_comes_in_arrays():
    ia, *_ = triode_current(Koren(**FITTED["ECC83"]), np.array([100.0, 250.0]), np.array([-1.0, -2.0]))
    assert ia.shape == (2,)


@pytest.mark.parametrize(
    "name", ["ECC81", "ECC82", "ECC83", "6SN7", "EL84", "EL34", "6V6", "6L6", "300B", "2A3", "EZ81", "GZ34", "5Y3"]
)
def test_the_usual_types_are_known_with_their_heaters(name):
    assert find_type(name)
    assert find_heater(name).volts > 0


def test_a_type_goes_by_any_of_its_names():
    assert find_koren("12AX7", {}) == find_koren("ECC83", {}) == find_koren("ecc83", {})


@pytest.mark.parametrize(
    ("type_", "kind", "volts", "milliamps"),
    [  # makers' sheets, from memory: typical operation that is no point of the fit, or one written again from the sheet
        ("ECC88", "twin triode", (90.0, -1.3), 15.0),  # Philips
        ("ECC85", "twin triode", (250.0, -2.3), 10.0),  # Philips
        ("6N23P", "twin triode", (90.0, -1.3), 15.0),  # its reference card: the E88CC's
        ("EF86", "pentode", (250.0, 140.0, -2.2), 3.0),  # Mullard
        ("6BM8", "triode", (100.0, 0.0), 3.5),  # Philips ECL82
        ("PCL82", "pentode", (200.0, 200.0, -16.0), 35.0),  # Philips ECL82
        ("6GW8", "pentode", (250.0, 250.0, -7.0), 36.0),  # Philips ECL86
        ("KT88", "pentode", (250.0, 250.0, -15.0), 140.0),  # GEC
        ("6005", "pentode", (250.0, 250.0, -12.5), 45.0),  # RCA 6AQ5
    ],
)
def test_a_type_common_in_kits_passes_its_sheets_current(type_, kind, volts, milliamps):
    k = find_koren(type_, {}, kind)
    amps = pentode_current(k, *volts)[0][0] if kind == "pentode" else triode_current(k, *volts)[0]
    assert 1e3 * amps == pytest.approx(milliamps, rel=0.05)


def test_a_bulb_with_two_systems_has_a_model_and_limits_for_each():
    """Philips ECL82: the triode may dissipate 1 W, the pentode 7 W (from memory)."""
    assert find_koren("ECL82", {}, "triode").kg2 is None and find_koren("ECL82", {}, "pentode").kg2
    assert [find_limits("6BM8", {}, kind)["anode_watts"] for kind in ("triode", "pentode")] == [1, 7]
    assert find_limits("6BM8", {"anode_watts": 5}, "pentode")["anode_watts"] == 5


def test_a_series_heater_is_not_fed_like_its_sister_and_an_unknown_one_is_not_guessed():
    """PCL82 16 V 0.3 A, PCC88 7 V 0.3 A, by the makers' sheets (from memory)."""
    assert (find_heater("ECL82").volts, find_heater("PCL82").volts, find_heater("PCC88").volts) == (6.3, 16, 7)
    assert find_heater("PCL86") is None and find_heater("ECL86").volts == 6.3


def test_the_older_6l6_is_not_held_to_the_limits_of_the_later_one():
    """RCA 6L6: 19 W and 360 V; the 6L6GC's 30 W would let it overheat (design centre, from memory)."""
    assert find_limits("6L6", {})["anode_watts"] == 19 and find_limits("6L6GC", {})["anode_watts"] == 30


def test_a_type_without_listed_capacitances_has_none():
    assert find_capacitances("ECC88", {}) is None and find_capacitances("ECC83", {})


def test_a_spread_is_the_sheets_where_it_has_one():
    assert all(0.1 < side < 0.5 for side in find_spread("EL34"))
    assert find_spread("unheard of") == (0.30, 0.30)


@pytest.mark.parametrize(
    ("name", "low", "high"), [("6SN7", 7.0, 13.0), ("300B", 45.0, 90.0), ("EL34", 80.0, 120.0), ("6V6", 33.0, 59.0)]
)
def test_the_weakest_and_strongest_valve_stand_at_their_sheets_limits(name, low, high):
    """Acceptance limits of anode current in mA at the sheet's test point: Electro-Harmonix data sheets."""
    volts = {
        "6SN7": (250.0, -8.0),
        "300B": (303.0, -58.0),
        "EL34": (250.0, 265.0, -13.5),
        "6V6": (250.0, 250.0, -12.5),
    }[name]
    result = (
        pentode_current(find_koren(name, {}), *volts)[0][0]
        if len(volts) == 3
        else triode_current(find_koren(name, {}), *volts)[0]
    )
    minus, plus = find_spread(name)
    assert (1000 * result * (1 - minus), 1000 * result * (1 + plus)) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.lengthy
@given(st.sampled_from(PENTODES), st.floats(-200, 400), st.floats(-200, 400), st.floats(-30, 30))
def test_a_screen_never_delivers_power(name, va, vs, vg):
    """Passivity: whatever the grid does, no electrode's current flows out of it against its own volts."""
    (ia, *_), (screen, *_rest) = pentode_current(Koren(**FITTED[name]), va, vs, vg)
    assert va * ia >= -1e-6  # a nanoampere below 0 V keeps the slope from vanishing
    assert vs * screen >= 0


@pytest.mark.lengthy
@given(st.sampled_from(PENTODES), st.floats(5, 400), st.floats(5, 400), st.floats(-30, 5))
def test_a_screens_slopes_are_those_of_its_current(name, va, vs, vg):
    k, h = Koren(**FITTED[name]), 1e-4
    _, (_is, by_va, by_vs, by_vg) = pentode_current(k, va, vs, vg)
    for slope, step in ((by_va, (h, 0, 0)), (by_vs, (0, h, 0)), (by_vg, (0, 0, h))):
        up, down = (
            pentode_current(k, *(x + sign * s for x, s in zip((va, vs, vg), step, strict=True)))[1][0]
            for sign in (1, -1)
        )
        assert slope == pytest.approx((up - down) / (2 * h), rel=2e-3, abs=1e-8)


def test_a_screen_takes_more_when_the_anode_is_lost():
    """An open primary leaves the screen all of the cathode's electrons: common practice, it glows."""
    for name in PENTODES:
        k, point = Koren(**FITTED[name]), data()["valves"][name]["points"][0]
        vs, vg = float(point["vg2"]), float(point["vg1"])
        least = 1.3 if point["ia"] > 0.02 else 1.1  # of small ones the screen's points say less of a lost anode
        assert pentode_current(k, 0.0, vs, vg)[1][0] > least * pentode_current(k, point["va"], vs, vg)[1][0], name


def test_a_screen_near_cut_off_still_passes_current_as_its_anode_does():
    """Philips EL34, class B, 425 V, -38 V: 30 mA and 4.4 mA; a screen that ends at -Vs/mu would pass none (memory)."""
    (ia, *_), (screen, *_rest) = pentode_current(find_koren("EL34", {}), 425.0, 416.0, -38.0)
    assert 0.10 < screen / ia < 0.20


@pytest.mark.lengthy
@given(st.sampled_from(PENTODES), st.floats(0.5, 60), st.floats(-2, 10))
def test_a_starved_screens_slopes_are_those_of_its_current(name, vs, vg):
    k, h = Koren(**FITTED[name]), 1e-5
    _, (_is, _by_va, by_vs, by_vg) = pentode_current(k, 100.0, vs, vg)
    up, down = (pentode_current(k, 100.0, vs + s, vg)[1][0] for s in (h, -h))
    assert by_vs == pytest.approx((up - down) / (2 * h), rel=1e-3, abs=1e-8)
    up, down = (pentode_current(k, 100.0, vs, vg + s)[1][0] for s in (h, -h))
    assert by_vg == pytest.approx((up - down) / (2 * h), rel=1e-3, abs=1e-6)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: find_koren("no such type", {}),
        lambda: find_koren("", {"mu": 20}),
        lambda: Koren(0, 1.4, 1000, 300, 300),
        lambda: Koren(9, 1.4, 1000, 30, 30, kg2=4000, fall=9),
    ],
)
def test_an_unknown_valve_or_an_impossible_set_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


@pytest.mark.lengthy
def test_the_table_of_residuals_in_the_docs_is_the_models_own():
    assert (Path(valves.__file__).parent / "VALVES.md").read_text() == as_markdown()
