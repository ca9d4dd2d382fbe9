"""Op-amps at DC: closed forms of the feedback circuits, saturation at the supplies, limits, refusals."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import fsolve

from checks.circuit import Condition, component_stresses, predict
from checks.circuit.devices.op_amps import OpAmp
from checks.circuit.netlist.transistors import Figure, assumed_figures
from checks.circuit.validation.problems import circuit_errors
from checks.errors import ChecksError
from tests.checks.circuit.kits import parts_of, resistor


def cell(ref, volts, plus, minus="chassis", ohms="0.01R"):
    return {"ref": ref, "kind": "dc supply", "value": volts, "ohms": ohms, "joins": {"plus": plus, "minus": minus}}


def op_amp(plus="p", minus="m", output="out", high="v+", low="v-", **more):
    joins = {"plus_input": plus, "minus_input": minus, "output": output, "plus_supply": high, "minus_supply": low}
    return {"ref": "U1", "kind": "op-amp", "type": "dual audio type", "joins": joins, **more}


def rails(volts="15 V"):
    return [cell("B1", volts, "v+"), cell("B2", volts, "chassis", "v-")]


def volts(rows, *nodes):
    parts = parts_of(*rows)
    assert not circuit_errors(parts)
    return [f.value for f in predict(parts, Condition(), [(n, "chassis", "dc volts") for n in nodes])]


@pytest.mark.lengthy
def test_an_inverting_stage_gives_minus_r2_over_r1():
    rows = [
        *rails(), cell("B3", "1 V", "in"), op_amp("chassis"),
        resistor("R1", "in", "m", "10k"), resistor("R2", "m", "out", "47k"), resistor("R3", "out", "chassis", "10k"),
    ]  # fmt: skip
    reading, virtual = volts(rows, "out", "m")
    assert reading == pytest.approx(-4.7, rel=1e-3) and abs(virtual) < 1e-3


def test_a_non_inverting_stage_gives_one_plus_r2_over_r1():
    rows = [
        *rails(), cell("B3", "1 V", "p"), op_amp(),
        resistor("R1", "chassis", "m", "10k"), resistor("R2", "m", "out", "47k"),
    ]  # fmt: skip
    (reading,) = volts(rows, "out")
    assert reading == pytest.approx(5.7, rel=1e-3)


@pytest.mark.lengthy
def test_a_follower_on_one_supply_sits_at_half_of_it():
    rows = [
        cell("B1", "24 V", "v+"), op_amp(minus="out", low="chassis"),
        resistor("R1", "v+", "p", "100k"), resistor("R2", "p", "chassis", "100k"),
        resistor("R3", "out", "chassis", "10k"),
    ]  # fmt: skip
    (reading,) = volts(rows, "out")
    assert reading == pytest.approx(12.0, abs=0.01)


@pytest.mark.parametrize(("asked", "rail"), [("5 V", 13.5), ("-5 V", -13.5)])
def test_an_output_asked_for_too_much_stops_a_headroom_before_its_supply(asked, rail):
    turned = asked.startswith("-")
    source = cell("B3", "5 V", "chassis", "p") if turned else cell("B3", "5 V", "p")
    rows = [
        *rails(), source, op_amp(),
        resistor("R1", "chassis", "m", "1k"), resistor("R2", "m", "out", "47k"),
    ]  # fmt: skip
    (reading,) = volts(rows, "out")
    assert reading == pytest.approx(rail, abs=0.1)


def test_a_rail_to_rail_type_comes_as_near_as_its_sheet_says():
    rows = [*rails("5 V"), cell("B3", "4 V", "p"), op_amp(model={"headroom": 0.05}),
            resistor("R1", "chassis", "m", "1k"), resistor("R2", "m", "out", "47k")]  # fmt: skip
    (reading,) = volts(rows, "out")
    assert reading == pytest.approx(4.95, abs=0.05)


def test_a_heavy_load_is_left_with_the_output_s_greatest_current():
    rows = [*rails(), cell("B3", "10 V", "p"), op_amp(minus="out", model={"amps": 0.02}),
            resistor("R3", "out", "chassis", "100R")]  # fmt: skip
    (reading,) = volts(rows, "out")
    assert reading == pytest.approx(2.0, rel=0.02)  # 20 mA in 100 ohms


def test_supplies_carry_the_quiescent_and_the_load_s_current():
    rows = [cell("B1", "15 V", "v+", ohms="100R"), cell("B2", "15 V", "chassis", "v-", ohms="100R"),
            cell("B3", "5 V", "p"), op_amp(minus="out", model={"quiescent": 0.004}),
            resistor("R3", "out", "chassis", "1k")]  # fmt: skip
    high, low, out = volts(rows, "v+", "v-", "out")
    assert out == pytest.approx(5.0, abs=0.01)
    assert (15 - high) / 100 == pytest.approx(0.004 + 0.005, rel=0.02)
    assert (15 + low) / 100 == pytest.approx(0.004, rel=0.02)


@pytest.mark.lengthy
def test_a_series_regulator_with_a_transistor_agrees_with_equations_written_apart():
    """An op-amp that drives an npn follower and compares a share of its output: gain equation solved by scipy."""
    rows = [
        cell("B1", "24 V", "v+"), cell("B3", "5 V", "p"), op_amp(output="b", low="chassis"),
        {"ref": "Q1", "kind": "npn transistor", "joins": {"base": "b", "collector": "v+", "emitter": "out"},
         "model": {"gain": 100.0, "volts": 0.65, "amps": 0.005}},
        resistor("R1", "out", "m", "10k"), resistor("R2", "m", "chassis", "10k"),
        resistor("R3", "out", "chassis", "1k"),
    ]  # fmt: skip
    out, base = volts(rows, "out", "b")

    def miss(x):
        vb, ve = x
        collector = 0.005 * np.exp((vb - ve - 0.65) / 0.02585)
        return [1e3 * (collector * 1.01 - ve / 1e3 - ve / 20e3), (5 - ve / 2) * 1e5 - (vb - 12) * 1.0]

    vb, ve = fsolve(miss, [10.7, 10.0])
    assert out == pytest.approx(ve, abs=2e-3) and base == pytest.approx(vb, abs=0.02)


@pytest.mark.lengthy
@given(st.floats(-0.01, 0.01), st.floats(-1, 40), st.floats(0.5, 40), st.floats(10, 1e6), st.floats(0.02, 3))
def test_slopes_are_the_derivatives_of_the_currents(inputs, out, supply, gain, headroom):
    assume(supply > 2 * headroom + 0.5)
    device = OpAmp("U1", 0, 1, 2, 3, 4, gain, headroom, 0.02, 0.002, 3e6, 0, 0)
    u, m = np.array([[inputs, out, supply]]), np.ones((1, 1))
    current, slopes = device.law(u, m, None)
    assert np.isfinite(current).all() and np.isfinite(slopes).all()
    for port, step in enumerate((1e-4 / gain, 1e-6, 1e-6)):
        moved = u.copy()
        moved[0, port] += step
        back = u.copy()
        back[0, port] -= step
        numeric = (device.law(moved, m, None)[0] - device.law(back, m, None)[0])[0] / (2 * step)
        assert slopes[0, :, port] == pytest.approx(numeric, rel=2e-2, abs=1e-6 + 1e-3 * abs(numeric).max())


def test_assumed_figures_are_listed_and_given_ones_are_not():
    results = {row.of for row in assumed_figures(parts_of(op_amp(model={"headroom": 0.1})))}
    assert Figure.OPEN_LOOP_GAIN in results and Figure.HEADROOM not in results


@pytest.mark.lengthy
def test_ratings_of_supply_and_output_are_judged():
    rows = [*rails("20 V"), cell("B3", "5 V", "p"), op_amp(minus="out", volts="36 V", amps="10 mA"),
            resistor("R3", "out", "chassis", "200R")]  # fmt: skip
    over = {(s.what, s.over) for s in component_stresses(parts_of(*rows), Condition(), samples=100)}
    assert ("supply voltage", True) in over and ("output current", True) in over


@pytest.mark.parametrize("wrong", [{"model": {"gain": 100.0}}, {"model": {"headroom": 0.0}}])
def test_a_wrong_figure_is_refused_by_name(wrong):
    with pytest.raises(ChecksError) as refused:
        parts_of(op_amp(**wrong))
    assert refused.value.params["ref"] == "U1"


def test_an_input_that_hangs_on_a_capacitor_alone_is_refused():
    rows = [*rails(), op_amp(minus="out"), resistor("R3", "out", "chassis", "10k"),
            {"ref": "C1", "kind": "capacitor", "value": "100n", "joins": ["p", "chassis"]}]  # fmt: skip
    assert "electrode-without-dc" in {e.code for e in circuit_errors(parts_of(*rows))}


def test_supplies_left_out_are_refused():
    rest = [resistor("R3", "m", "out", "1k"), resistor("R4", "m", "chassis", "1k")]
    rows = [
        op_amp(high="no", low="chassis"),
        resistor("R1", "p", "chassis", "1k"),
        resistor("R2", "no", "chassis", "1k"),
    ]
    rows += rest
    assert "not-fed" in {e.code for e in circuit_errors(parts_of(*rows))}
