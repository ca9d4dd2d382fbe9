"""Faults of semiconductors and DC sources: each is thought of, and reads as its closed form says."""

import numpy as np
import pytest

from checks.diagnosis import coverage, fault_list, prepare
from checks.diagnosis.codes import FaultCode
from tests.checks.circuit.kits import parts_of, resistor


def adaptor(kind="dc supply", value="24 V"):
    joins = {"plus": "in", "minus": "chassis"}
    return {"ref": "PS1", "kind": kind, "value": value, "ohms": "0.5R", "joins": joins}


def follower():
    joins = {"gate": "g", "drain": "in", "source": "out"}
    return [
        adaptor(),
        resistor("R1", "in", "g", "100k"),
        resistor("R2", "g", "chassis", "100k"),
        resistor("R3", "out", "chassis", "1k"),
        {"ref": "Q1", "kind": "n-channel mosfet", "joins": joins, "pins": {"gate": "1", "drain": "2", "source": "3"}},
    ]


def regulated(kind="regulator"):
    joins = {"input": "in", "output": "out", "common": "chassis"}
    return [
        adaptor(),
        resistor("R3", "out", "chassis", "1k"),
        {"ref": "U1", "kind": kind, "value": "12 V", "joins": joins},
    ]


def shunt():
    joins = {"anode": "chassis", "cathode": "out"}
    return [
        adaptor(),
        resistor("R1", "in", "out", "470R"),
        {"ref": "Z1", "kind": "zener", "value": "12 V", "joins": joins},
    ]


def readings(rows, red="out"):
    check = {"key": "out", "measure": "dc volts", "red": red, "black": "chassis", "through": ""}
    stages = [{"key": "on", "power": "on", "not_fitted": [], "checks": [check]}]
    prepared = prepare(parts_of(*rows), stages, samples=24)
    at = prepared.index["on/out"]
    values = np.sinh(prepared.mean[:, at]) * prepared.units[at]
    return {"": values[0]} | {f.key: values[n + 1] for n, f in enumerate(prepared.faults)}, prepared


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # A Zener diode the wrong way round: 0.7 V and up to a volt in its series resistance.
        # (24 V behind 0.5 ohms on 1 kilohm; the gate's divider beside it moves nothing by a tenth of a volt)
        (follower(), {"Q1 drain-source short": 24.0, "Q1 open": 0.0, "Q1 gate-source short": 0.24, "PS1 dead": 0.0}),
        (regulated(), {"U1 passes its input": 24.0, "U1 dead": 0.0, "PS1 dead": 0.0}),
        (shunt(), {"Z1 open": 24.0, "Z1 anode-cathode short": 0.03, "Z1 reversed": 1.2}),
    ],
)
def test_a_failed_device_leaves_what_the_circuit_without_it_gives(rows, expected):
    result, _ = readings(rows)
    for key, volts in expected.items():
        assert result[key] == pytest.approx(volts, abs=0.5), key
    assert all(abs(result[""] - volts) > 3 for volts in expected.values())


@pytest.mark.lengthy
def test_every_device_fault_of_a_regulated_supply_shows_at_its_output():
    _, prepared = readings(regulated())
    shown = {fault.key for fault, *_ in coverage(prepared).shown}
    assert shown >= {"U1 passes its input", "U1 dead", "PS1 dead"}


def test_a_battery_runs_down_and_an_adaptor_has_another_voltage():
    flat = {f.code for f in fault_list(parts_of(adaptor("battery"), resistor("R1", "in", "chassis", "1k")))}
    other = {f.code for f in fault_list(parts_of(adaptor(), resistor("R1", "in", "chassis", "1k")))}
    assert FaultCode.BATTERY_FLAT in flat - other and FaultCode.SUPPLY_VOLTS in other - flat


def test_terminals_on_one_node_cannot_short():
    joins = {"base": "b", "collector": "b", "emitter": "chassis"}
    rows = [adaptor(), resistor("R1", "in", "b", "1k"), {"ref": "Q1", "kind": "npn transistor", "joins": joins}]
    keys = {f.key for f in fault_list(parts_of(*rows))}
    assert "Q1 base-emitter short" in keys and not any("collector-base" in key for key in keys)


@pytest.mark.lengthy
def test_an_adaptor_of_the_other_polarity_turns_its_volts_round():
    """The MOSFET's gate then stands 12 V above its drain: the channel conducts backwards."""
    assert readings(follower(), "in")[0]["PS1 reversed"] == pytest.approx(-24, abs=0.2)
    assert readings(follower())[0]["PS1 reversed"] == pytest.approx(-24, abs=0.2)
    assert readings(shunt(), "in")[0]["PS1 reversed"] == pytest.approx(-24, abs=0.2)


@pytest.mark.lengthy
def test_exchanged_leads_leave_a_bipolar_transistor_hardly_any_gain():
    """A base of 12 V behind 50 kilohms: 11.3 V (gain + 1) 1 kΩ / ((gain + 1) 1 kΩ + 50 kΩ) at the emitter."""
    joins = {"base": "b", "collector": "in", "emitter": "out"}
    rows = [row | {"kind": "npn transistor", "joins": joins, "pins": {}} for row in follower() if row["ref"] == "Q1"]
    rows += [resistor("R1", "in", "b", "100k"), resistor("R2", "b", "chassis", "100k"), adaptor()]
    result, prepared = readings([*rows, resistor("R3", "out", "chassis", "1k")])
    assert result[""] == pytest.approx(11.35 * 101 / 151, abs=0.6)  # of a mean over gains
    assert result["Q1 leads exchanged"] == pytest.approx(11.4 * 4 / 54, abs=0.2)
    assert "Q1 leads exchanged" in {fault.key for fault, *_ in coverage(prepared).shown}


@pytest.mark.lengthy
def test_exchanged_leads_of_a_mosfet_conduct_whatever_its_gate_says():
    assert readings(follower())[0]["Q1 leads exchanged"] == pytest.approx(24, abs=0.8)
