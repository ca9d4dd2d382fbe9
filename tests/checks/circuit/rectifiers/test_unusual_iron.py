"""Transformers that are not fed as their windings say: refused by name, never given kilovolts."""

import pytest

from checks.circuit import Condition, predict, read_condition
from checks.circuit.netlist.remark import RemarkCode, remark
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, parts_of, resistor

BRIDGE = {"ref": "D1", "kind": "bridge", "joins": {"ac1": "x.a", "ac2": "x.b", "plus": "p", "minus": "chassis"}}


def back_to_back(first="primary", wires=()):
    """12 V of T1 drives T2 the wrong way round, for 230 V behind the mains' 230 V."""
    ends = ["l.c", "l.d"] if wires else ["l.a", "l.b"]
    other = {
        "ref": "T2",
        "kind": "mains transformer",
        "regulation": "8%",
        "winding": [
            {"name": "primary", "volts": "230 V", "ohms": "20R", "joins": ["x.a", "x.b"]},
            {"name": "low", "volts": "12 V", "amps": "1 A", "ohms": "0.5R", "joins": ends},
        ],
    }
    if first == "low":  # the winding on T1 called the primary: 230/12 of 230 V, by the names alone
        other["winding"] = [
            {"name": "primary", "volts": "12 V", "ohms": "0.5R", "joins": ends},
            {"name": "ht", "volts": "230 V", "amps": "50 mA", "ohms": "20R", "joins": ["x.a", "x.b"]},
        ]
    return [
        kits.transformer(("low", "12 V", "0.5R", ("l.a", "l.b")), regulation="8%", primary="20R"),
        other,
        *wires,
        BRIDGE,
        capacitor("C1", "p", "chassis"),
        resistor("R1", "p", "chassis", "10k"),
    ]


FUSES = [
    {"ref": "F1", "kind": "fuse", "value": "1 A", "joins": ["l.a", "l.c"]},
    {"ref": "F2", "kind": "link", "joins": ["l.b", "l.d"]},
]


@pytest.mark.parametrize("first", ["primary", "low"])
@pytest.mark.parametrize("wires", [(), FUSES])
def test_two_transformers_back_to_back_are_refused_by_name(first, wires):
    (reading,) = predict(parts_of(*back_to_back(first, wires)), Condition(), [("p", "chassis", "dc volts")])
    assert reading.value is None
    assert reading.reason.code == RemarkCode.BACK_TO_BACK
    assert {reading.reason.params["ref"], reading.reason.params["other"]} == {"T1", "T2"}


def test_two_transformers_side_by_side_on_the_mains_are_not_back_to_back():
    second = kits.transformer(("low", "12 V", "0.5R", ("m.a", "chassis"))) | {"ref": "T2"}
    rows = [kits.transformer(("low", "12 V", "0.5R", ("l.a", "chassis"))), second]
    rows += [resistor("R1", "l.a", "chassis", "100R"), resistor("R2", "m.a", "chassis", "100R")]
    for result in predict(parts_of(*rows), Condition(), [(n, "chassis", "ac volts") for n in ("l.a", "m.a")]):
        assert result.value == pytest.approx(12, rel=0.01)


def with_primary(volts):
    iron = kits.transformer(("low", "12 V", "0.5R", ("l.a", "chassis")))
    iron["winding"][0]["volts"] = volts
    return parts_of(iron, resistor("R1", "l.a", "chassis", "100R"))


@pytest.mark.parametrize(("volts", "solved"), [("115 V", False), ("12 V", False), ("220 V", True), ("240 V", True)])
def test_a_primary_for_another_mains_is_refused_instead_of_doubled(volts, solved):
    (reading,) = predict(with_primary(volts), Condition(), [("l.a", "chassis", "ac volts")])
    assert (reading.value is not None) == solved
    if not solved:
        assert reading.reason == remark(RemarkCode.OTHER_MAINS, ref="T1", rated=float(volts[:-2]), mains=230.0)


def test_on_the_tap_that_suits_the_mains_windings_give_their_own_volts():
    condition = read_condition({"power": "on"}, {"volts": 115, "taps": [115, 230]})
    (reading,) = predict(with_primary("230 V"), condition, [("l.a", "chassis", "ac volts")])
    assert reading.value == pytest.approx(12, rel=0.01)
