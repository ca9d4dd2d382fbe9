"""DC supplies, batteries and regulators: closed forms, a data sheet's formula, dropout, ratings, refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.circuit import Condition, component_stresses, predict, predict_scatter
from checks.circuit.devices.sources import Regulator
from checks.circuit.netlist.transistors import Figure, assumed_figures
from checks.circuit.validation.problems import circuit_errors
from checks.errors import ChecksError
from tests.checks.circuit.kits import bench_supply, parts_of, resistor, triode


def adaptor(volts="24 V", plus="in", minus="chassis", kind="dc supply", **more):
    return {"ref": "PS1", "kind": kind, "value": volts, "joins": {"plus": plus, "minus": minus}, **more}


def regulator(value, common="chassis", kind="regulator", **more):
    joins = {"input": "in", "output": "out", "common": common}
    return {"ref": "U1", "kind": kind, "value": value, "joins": joins, **more}


def volts(rows, *nodes):
    parts = parts_of(*rows)
    assert not circuit_errors(parts)
    return [f.value for f in predict(parts, Condition(), [(n, "chassis", "dc volts") for n in nodes])]


def test_an_adaptor_stands_behind_its_own_ohms():
    (reading,) = volts([adaptor(ohms="2R"), resistor("R1", "in", "chassis", "22R")], "in")
    assert reading == pytest.approx(24 * 22 / 24, rel=1e-9)


def test_batteries_in_series_add_and_a_turned_one_makes_a_negative_supply():
    rows = [
        adaptor("9 V", "p", "m", "battery") | {"ref": "B1"},
        adaptor("9 V", "m", "chassis", "battery") | {"ref": "B2"},
        adaptor("9 V", "chassis", "n", "battery") | {"ref": "B3"},
        resistor("R1", "p", "chassis", "1k"),
        resistor("R2", "m", "chassis", "100k"),
        resistor("R3", "n", "chassis", "10k"),
    ]
    read_volts = volts(rows, "p", "n")
    assert read_volts == pytest.approx([18.0, -9.0], rel=5e-3)


def test_a_valve_may_hang_on_an_adaptor_with_no_mains_transformer():
    rows = [
        adaptor("48 V"),
        resistor("R1", "in", "a", "47k"),
        resistor("R2", "k", "chassis", "1k"),
        resistor("R3", "g", "chassis", "1M"),
        triode("V1", "a", "g", "k", "ECC82"),
    ]
    anode, cathode = volts(rows, "a", "k")
    assert (48 - anode) / 47e3 == pytest.approx(cathode / 1e3, rel=1e-3) and 5 < anode < 43


def test_a_fixed_regulator_holds_its_output_and_follows_its_input_below_the_dropout():
    load = resistor("R1", "out", "chassis", "100R")
    for supply, expected in (("24 V", 12.0), ("15 V", 12.0), ("12 V", 10.0), ("9 V", 7.0)):
        (reading,) = volts([adaptor(supply, ohms="0.01R"), regulator("12 V"), load], "out")
        assert reading == pytest.approx(expected, abs=0.03)


def test_an_adjustable_regulator_follows_its_sheets_formula():
    """Vout = 1.25 V (1 + R2/R1) + 50 µA R2: National Semiconductor and others, LM317 data sheet (from memory)."""
    rows = [
        adaptor("30 V"),
        regulator("1.25 V", "adj"),
        resistor("R1", "out", "adj", "240R"),
        resistor("R2", "adj", "chassis", "2k7"),
    ]
    (reading,) = volts(rows, "out")
    assert reading == pytest.approx(1.25 * (1 + 2700 / 240) + 50e-6 * 2700, rel=2e-3)


def test_a_negative_regulator_mirrors_a_positive_one():
    load = resistor("R1", "out", "chassis", "100R")
    (up,) = volts([adaptor("24 V"), regulator("12 V"), load], "out")
    (down,) = volts([adaptor("24 V", "chassis", "in"), regulator("12 V", kind="negative regulator"), load], "out")
    assert down == pytest.approx(-up, rel=1e-6)


def test_a_heater_regulator_behind_a_rectifier_settles_and_scatters_by_its_tolerance():
    rows = [
        *bench_supply(12.0, "in", ohms="0.1R"),
        regulator("6 V", tolerance="5%"),
        resistor("R1", "out", "chassis", "12R", power="10W"),
    ]
    (spread,) = predict_scatter(parts_of(*rows), Condition(), [("out", "chassis", "dc volts")], samples=400)
    assert spread.nominal == pytest.approx(6.0, abs=0.05)
    assert spread.high - spread.low == pytest.approx(0.6 * 0.95, rel=0.1)


def test_what_is_over_its_amps_watts_or_volts_is_told():
    rows = [
        adaptor("30 V", amps="0.5 A"),
        regulator("12 V", power="5 W", volts="25 V", amps="1 A"),
        resistor("R1", "out", "chassis", "10R", power="50W"),
    ]
    over = {(s.ref, s.what) for s in component_stresses(parts_of(*rows), Condition(), samples=100) if s.over}
    assert {("PS1", "current"), ("U1", "dissipation"), ("U1", "input voltage"), ("U1", "current")} <= over


def test_what_no_sheet_was_quoted_for_is_listed():
    rows = [adaptor(), regulator("12 V", model={"dropout": 1.5}), regulator("1.25 V", "adj") | {"ref": "U2"}]
    results = {(row.of, row.value): row.refs for row in assumed_figures(parts_of(*rows))}
    assert results[Figure.OHMS, 0.1] == ("PS1",) and results[Figure.DROPOUT, 2.0] == ("U2",)
    assert results[Figure.QUIESCENT, 0.005] == ("U1",) and results[Figure.QUIESCENT, 50e-6] == ("U2",)


@pytest.mark.lengthy
@given(st.one_of(st.floats(-5, -0.01), st.floats(0.01, 30)), st.floats(-1, 30))
def test_a_regulators_slopes_are_those_of_its_currents(given_, out):
    device, h, m = Regulator("U1", 0, 1, 2, False, 12.0, 2.0, 0.005, 0), 1e-7, np.ones((1, 1))
    _, slopes = device.law(np.array([[given_, out]]), m, None)
    for column, (a, b) in enumerate(((h, 0), (0, h))):
        up, down = (device.law(np.array([[given_ + s * a, out + s * b]]), m, None)[0][0] for s in (1, -1))
        assert slopes[0, :, column] == pytest.approx((up - down) / (2 * h), rel=1e-3, abs=1e-3)


@pytest.mark.parametrize(
    ("row", "key"),
    [
        (adaptor(""), "value"),
        (adaptor(minus=""), "joins.minus"),
        (regulator("12 V", ""), "joins.common"),
        (regulator("12 V", model={"gain": 3}), "model.gain"),
        (regulator("12 V", model={"dropout": 0}), "model.dropout"),
    ],
)
def test_an_incomplete_source_is_refused_by_key(row, key):
    with pytest.raises(ChecksError) as refused:
        parts_of(row)
    assert refused.value.argument == key
