"""Sources down to micro-ohms, stiff loads and every single-part fault: they settle, or say why they do not."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checks.circuit import Condition, predict, predict_scatter
from checks.diagnosis import prepare
from tests.checks.circuit import kits
from tests.checks.circuit.kits import bench_supply, capacitor, diode, parts_of, resistor
from tests.slow import slow


def stage(type_, anode_ohms, cathode_ohms):
    """A stage of one valve on "ht"."""
    parts = [
        resistor("R1", "ht", "a", f"{anode_ohms:.6g}"),
        resistor("R2", "k", "chassis", f"{cathode_ohms:.6g}"),
        resistor("R3", "g", "chassis", "1M"),
    ]
    valve = kits.triode if type_ in ("ECC83", "2A3") else kits.pentode
    ends = ("a", "g", "k") if valve is kits.triode else ("a", "ht", "g", "k")
    return [*parts, valve("V1", *ends, type_)]


def powers(low, high):
    return st.floats(low, high).map(lambda x: 10.0**x)


@pytest.mark.lengthy
@settings(max_examples=15, deadline=None)
@given(
    powers(-6, -1),
    powers(-7, 1.5),
    st.floats(20, 600),
    powers(0.5, 6),
    st.sampled_from(["ECC83", "2A3", "EL84", "EL34"]),
    powers(1, 5),
    powers(0, 4.5),
)
def test_a_source_of_micro_ohms_settles_at_kirchhoffs_law(source, primary, volts, load, type_, anode, cathode):
    rows = [*bench_supply(volts, ohms=f"{source:.3e}"), resistor("R9", "ht", "chassis", f"{load:.6g}")]
    rows[0]["winding"][0]["ohms"] = f"{primary:.3e}"
    parts = parts_of(*rows, *stage(type_, anode, cathode))
    supply, k = predict(parts, Condition(), [("ht", "chassis", "dc volts"), ("k", "chassis", "dc volts")])
    assert 0 < k.value < supply.value <= volts + 0.01
    (spread,) = predict_scatter(parts, Condition(), [("ht", "chassis", "dc volts")], samples=100)
    assert len(spread.samples) == 100 and np.isfinite(spread.samples).all()


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["line-preamp", *slow("five-watt")])
def test_every_single_fault_of_a_demonstration_kit_settles(name):
    guide = kits.guide(name)
    stages = [{**stage_, "checks": stage_.get("check", [])} for stage_ in guide["stage"]]
    prepared = prepare(parts_of(*guide["part"]), stages, guide["kit"]["mains"], samples=8)
    assert len(prepared.faults) > 200
    unsettled = [f.key for f, row in zip(prepared.faults, prepared.mean[1:], strict=True) if np.isnan(row).any()]
    assert unsettled == []


@pytest.mark.parametrize("missing", ["D1", "D2", "D3", "D4"])
def test_a_bridge_with_an_open_diode_settles(missing):
    four = [diode("D1", "a", "p"), diode("D2", "b", "p"), diode("D3", "chassis", "a"), diode("D4", "chassis", "b")]
    rows = [kits.transformer(("ht", "200 V", "1e-5", ("a", "b"))), *four, capacitor("C1", "p", "chassis")]
    rows.append(resistor("R1", "p", "chassis", "1k"))
    (reading,) = predict(parts_of(*rows), Condition(not_fitted={missing}), [("p", "chassis", "dc volts")])
    assert 220 < reading.value < 282


def test_a_fault_whose_supply_is_not_calculated_says_why():
    """A supply without any reservoir is refused by name, not guessed; one whose reservoir is open is calculated."""
    rows = [kits.transformer(("ht", "200 V", "10R", ("a", "chassis"))), diode("D1", "a", "p")]
    rows += [resistor("R1", "p", "chassis", "5k")]
    (reading,) = predict(parts_of(*rows), Condition(), [("p", "chassis", "dc volts")])
    assert reading.value is None and reading.reason.params["refs"] == "D1"


def bare_supply(kind, volts, ohms):
    """A supply of micro-ohms whose node no resistance joins: a DC supply, or a bridge on a winding."""
    if kind == "bridge":
        return bench_supply(volts, ohms=ohms)
    joins = {"plus": "ht", "minus": "chassis"}
    return [{"ref": "PS1", "kind": "dc supply", "value": f"{volts} V", "ohms": ohms, "joins": joins}]


@pytest.mark.parametrize("ohms", ["1e-6", "1e-5", "1e-3"])
@pytest.mark.parametrize("kind", ["dc supply", "bridge"])
@pytest.mark.parametrize("what", ["valve", "mosfet", "regulator"])
def test_a_source_of_micro_ohms_that_feeds_devices_alone_settles(what, kind, ohms):
    """A 1 kilohm load carries what its device lets through: V/R of it in every case, and within each one's own law."""
    load = resistor("R3", "out", "chassis", "1k")
    rows = {
        "valve": (250, (30, 50), [kits.triode("V1", "ht", "g", "out"), resistor("R1", "g", "chassis", "1M")]),
        "mosfet": (
            48,
            (8, 24),
            [
                {
                    "ref": "Q1",
                    "kind": "n-channel mosfet",
                    "joins": {"gate": "g", "drain": "ht", "source": "out"},
                },
                *(resistor(ref, "g", end, "100k") for ref, end in (("R1", "ref"), ("R2", "chassis"))),
                {"ref": "B1", "kind": "battery", "value": "48 V", "joins": {"plus": "ref", "minus": "chassis"}},
            ],
        ),
        "regulator": (
            20,
            (11.9, 12.1),
            [
                {
                    "ref": "U1",
                    "kind": "regulator",
                    "value": "12 V",
                    "joins": {"input": "ht", "output": "out", "common": "chassis"},
                }
            ],
        ),
    }
    volts, (low, high), device = rows[what]
    parts = parts_of(*bare_supply(kind, volts, ohms), *device, load)
    out, source = predict(parts, Condition(), [("out", "chassis", "dc volts"), ("ht", "chassis", "dc volts")])
    assert low < out.value < high
    assert source.value == pytest.approx(volts, rel=8e-3)  # a bridge sags a little, and its diodes have ohms
