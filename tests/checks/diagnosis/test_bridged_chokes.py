"""A smoothing choke that solder or a stray lead bridges: its ohms are gone, and what they dropped comes on top."""

import numpy as np
import pytest

from checks.diagnosis import fault_list, prepare, rank
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.ranking import Observation
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer

CHOKE = {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "400R", "joins": ["r", "p"]}
LOAD = resistor("R2", "p", "chassis", "5k", power="20W")
ROWS = [
    transformer(("ht", "250 V", "100R", ("a", "chassis", "b"))),
    diode("D1", "a", "r"),
    diode("D2", "b", "r"),
    CHOKE,
]
RESERVOIR, SECOND = capacitor("C1", "r", "chassis"), capacitor("C2", "p", "chassis")
OHMS = {"key": "ohms", "red": "r", "black": "p", "measure": "resistance", "through": ""}
VOLTS = [
    {"key": key, "red": node, "black": "chassis", "measure": "dc volts", "through": ""}
    for key, node in (("b1", "r"), ("b2", "p"))
]
STAGES = [{"key": power, "power": power, "checks": checks} for power, checks in (("off", [OHMS]), ("on", VOLTS))]


def listed(*rows):
    return {fault.key: fault for fault in fault_list(parts_of(*ROWS, *rows))}


def test_a_choke_between_two_capacitors_may_be_bridged():
    assert listed(RESERVOIR, SECOND, LOAD)["L1 short"].code is FaultCode.SHORT


@pytest.mark.parametrize("rows", [(SECOND, LOAD), (RESERVOIR, LOAD)], ids=["choke input", "no second capacitor"])
def test_one_that_a_rectifier_feeds_or_that_nothing_holds_is_not_told_by_its_ohms_alone(rows):
    assert "L1 short" not in listed(*rows)


@pytest.fixture(scope="module")
def kit():
    parts = parts_of(*ROWS, RESERVOIR, SECOND, LOAD)
    wanted = ("L1 short", "L1 open", "L1 ohms", "R2 open", "D1 open")
    return prepare(parts, STAGES, samples=4, faults=[f for f in fault_list(parts) if f.key in wanted])


def value(kit, key, name):
    row = 0 if not key else 1 + [f.key for f in kit.faults].index(key)
    return float(np.sinh(kit.mean[row, kit.index[name]]) * kit.units[kit.index[name]])


@pytest.mark.lengthy
def test_what_the_choke_dropped_comes_on_top(kit):
    """By Ohm's law: 400 Ω before 5 kΩ take 400/5400 of the reservoir's volts; warm by up to 60 K, copper has 1.24 times
    its ohms (0.39 % a kelvin)."""
    before, after = (value(kit, "", f"on/{k}") for k in ("b1", "b2"))
    assert before * 5000 / (5000 + 1.24 * 400) < after < before * 5000 / 5400
    bridged = [value(kit, "L1 short", f"on/{k}") for k in ("b1", "b2")]
    assert bridged[1] == pytest.approx(bridged[0], rel=1e-3) and bridged[1] > 1.03 * after
    assert value(kit, "L1 short", "off/ohms") < 1.0 < value(kit, "", "off/ohms")


@pytest.mark.lengthy
def test_a_bridged_choke_is_told_first(kit):
    volts = value(kit, "L1 short", "on/b2")
    ranking = rank(
        kit, [Observation("off/ohms", 0.4, 0.1), *(Observation(f"on/{k}", volts, 1.0) for k in ("b1", "b2"))]
    )
    assert ranking.groups[0].faults[0].key == "L1 short" and ranking.groups[0].probability > 0.8
