"""In-circuit resistance with the power off, against closed forms."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checks.circuit import Condition, predict
from checks.errors import ChecksError
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor

OFF = Condition(power="off")
OHMS = st.floats(1, 1e6)


def ohms(rows, red, black="chassis", measure="resistance"):
    return predict(parts_of(*rows), OFF, [(red, black, measure)])[0]


def typed(value: float) -> str:
    return f"{value:.9g}"


@pytest.mark.lengthy
@settings(max_examples=60)
@given(st.lists(OHMS, min_size=1, max_size=6))
def test_series_add(values):
    nodes = ["a", *(f"n{n}" for n in range(len(values) - 1)), "chassis"]
    rows = [resistor(f"R{n}", nodes[n], nodes[n + 1], typed(v)) for n, v in enumerate(values)]
    assert ohms(rows, "a").value == pytest.approx(sum(values), rel=1e-6)


@pytest.mark.lengthy
@settings(max_examples=60)
@given(st.lists(OHMS, min_size=1, max_size=6))
def test_parallel_conductances_add(values):
    rows = [resistor(f"R{n}", "a", "chassis", typed(v)) for n, v in enumerate(values)]
    assert ohms(rows, "a").value == pytest.approx(1 / sum(1 / v for v in values), rel=1e-6)


@pytest.mark.lengthy
@settings(max_examples=60)
@given(OHMS, OHMS, OHMS, OHMS, OHMS)
def test_a_bridge_follows_from_star_and_delta(r1, r2, r3, r4, r5):
    """An unbalanced bridge by the delta-star transformation (textbook)."""
    rows = [
        resistor("R1", "a", "b", typed(r1)),
        resistor("R2", "a", "c", typed(r2)),
        resistor("R3", "b", "c", typed(r3)),
        resistor("R4", "b", "chassis", typed(r4)),
        resistor("R5", "c", "chassis", typed(r5)),
    ]
    whole = r1 + r2 + r3
    star_a, star_b, star_c = r1 * r2 / whole, r1 * r3 / whole, r2 * r3 / whole
    left, right = star_b + r4, star_c + r5
    assert ohms(rows, "a").value == pytest.approx(star_a + left * right / (left + right), rel=1e-5)


def test_valves_diodes_and_capacitors_are_open():
    rows = [
        resistor("R1", "a", "chassis", "10k"),
        diode("D1", "a", "b"),
        resistor("R2", "b", "chassis", "1k"),
        kits.triode("V1", "a", "g", "k"),
        resistor("R3", "k", "chassis", "100"),
        resistor("R4", "g", "chassis", "1M"),
        capacitor("C1", "a", "c"),
        resistor("R5", "c", "chassis", "10"),
    ]
    assert ohms(rows, "a").value == pytest.approx(10e3)


def test_points_that_nothing_joins_read_open_and_say_so():
    reading = ohms([resistor("R1", "a", "b", "10k"), resistor("R2", "c", "chassis", "1k")], "a")
    assert reading.value is None
    assert reading.reason


def test_a_large_capacitor_in_the_way_takes_its_time():
    reading = ohms([resistor("R1", "ht", "chassis", "100k"), capacitor("C1", "ht", "chassis", "47u")], "ht")
    assert reading.value == pytest.approx(100e3)
    assert reading.settle[0].ref == "C1"
    assert reading.settle[0].seconds == pytest.approx(5 * 100e3 * 47e-6, rel=0.01)


def test_a_winding_is_read_by_its_dc_resistance():
    rows = [kits.transformer(("ht", "200 V", "240R", ("ht.a", "chassis", "ht.b")), primary="30R")]
    assert ohms(rows, "ht.a").value == pytest.approx(120)
    assert ohms(rows, "ht.a", "ht.b").value == pytest.approx(240)
    assert ohms(rows, "mains.live", "mains.neutral").value == pytest.approx(30)


def test_a_pin_reads_as_its_node():
    rows = [
        resistor("R2", "k", "chassis", "1k5"),
        resistor("R3", "g", "chassis", "1M"),
        kits.triode("V1", "a", "g", "k"),
        resistor("R1", "a", "chassis", "47k"),
    ]
    assert ohms(rows, "V1.1").value == pytest.approx(1500)


def test_an_unknown_point_is_refused():
    with pytest.raises(ChecksError, match="not a node"):
        ohms([resistor("R1", "a", "chassis", "10k")], "nowhere")
