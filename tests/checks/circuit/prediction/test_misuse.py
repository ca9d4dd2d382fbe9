"""Semiconductors and regulators the wrong way round are named; the right way round nothing is said."""

import pytest

from checks.circuit import Condition, devices_misused, predict
from checks.circuit.netlist.remark import RemarkCode
from tests.checks.circuit.devices.test_sources import adaptor, regulator
from tests.checks.circuit.devices.test_transistors import SQUARE, bipolar, mosfet
from tests.checks.circuit.kits import bench_supply, parts_of, resistor

LOAD = resistor("R1", "out", "chassis", "1k")
NEGATIVE = adaptor("24 V", "chassis", "in")


def named(*rows):
    parts = parts_of(*rows)
    remarks = devices_misused(parts, Condition())
    (figure,) = predict(parts, Condition(), [(parts[-1].nodes[0], "chassis", "dc volts")])
    assert set(map(str, remarks)) <= set(map(str, figure.notes))  # said beside every figure too
    return [(remark.code, remark.params["ref"]) for remark in remarks]


def turned(row, one, other):
    joins = row["joins"]
    return row | {"joins": joins | {one: joins[other], other: joins[one]}}


@pytest.mark.lengthy
def test_a_regulator_that_does_not_hold_its_output_is_named():
    """A 12 V part: common practice is 2 V to 3 V of headroom, so 24 V feeds it well and 11 V does not."""
    negative = regulator("12 V", kind="negative regulator")
    off = [(RemarkCode.REGULATOR_OFF, "U1")]
    assert named(adaptor("24 V"), regulator("12 V"), LOAD) == []
    assert named(NEGATIVE, negative, LOAD) == []
    assert named(adaptor("11 V"), regulator("12 V"), LOAD) == off
    assert named(adaptor("24 V"), turned(regulator("12 V"), "input", "output"), LOAD) == off
    assert named(adaptor("24 V"), negative, LOAD) == named(NEGATIVE, regulator("12 V"), LOAD) == off


def clamp(*zeners):
    return [*bench_supply(100.0), resistor("R1", "ht", "z", "10k"), *zeners, resistor("R2", "z", "chassis", "1M")]


def zener(ref, anode, cathode):
    return {"ref": ref, "kind": "zener", "value": "15 V", "joins": {"anode": anode, "cathode": cathode}}


@pytest.mark.lengthy
def test_a_zener_that_conducts_forwards_is_named_unless_another_faces_it():
    assert named(*clamp(zener("Z1", "chassis", "z"))) == []
    assert named(*clamp(zener("Z1", "z", "chassis"))) == [(RemarkCode.ZENER_FORWARD, "Z1")]
    assert named(*clamp(zener("Z1", "z", "m"), zener("Z2", "chassis", "m"))) == []
    assert named(*clamp(zener("Z1", "m", "z"), zener("Z2", "m", "chassis"))) == []


def follower(transistor):
    return [
        *bench_supply(100.0),
        resistor("R1", "ht", "g", "1M"),
        resistor("R2", "g", "chassis", "1M"),
        transistor,
        resistor("R3", "s", "chassis", "10k"),
    ]


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("right", "turn", "code"),
    [
        (mosfet("Q1", "g", "ht", "s", model=SQUARE), ("drain", "source"), RemarkCode.MOSFET_BACKWARDS),
        (bipolar("Q1", "g", "ht", "s"), ("collector", "emitter"), RemarkCode.TRANSISTOR_TURNED),
    ],
)
def test_a_transistor_the_wrong_way_round_is_named(right, turn, code):
    assert named(*follower(right)) == []
    assert named(*follower(turned(right, *turn))) == [(code, "Q1")]


def test_a_p_channel_mosfet_where_an_n_channel_belongs_is_named():
    other = mosfet("Q1", "g", "ht", "s", "p-channel mosfet", model=SQUARE | {"threshold": -1.0})
    assert named(*follower(other)) == [(RemarkCode.MOSFET_BACKWARDS, "Q1")]
