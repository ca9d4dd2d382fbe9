"""Supplies that nothing loads, and reservoirs that are open, as the fault dictionary reads them."""

import math

import numpy as np
import pytest

from checks.diagnosis import fault_list, prepare
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer, twin

pytestmark = pytest.mark.lengthy

HT, LOW = ("ht", "250 V", "100R", ("a", "chassis", "b")), ("low", "9 V", "0.1R", ("l", "chassis"))
ROWS = [
    transformer(HT, LOW),
    diode("D1", "a", "r"),
    diode("D2", "b", "r"),
    capacitor("C1", "r", "chassis"),
    resistor("R1", "r", "p", "1k", power="5W"),
    capacitor("C2", "p", "chassis"),
    resistor("R2", "p", "chassis", "22k", power="5W"),
    diode("D3", "l", "h"),
    {"ref": "C3", "kind": "capacitor", "value": "10u", "joins": ["h", "chassis"]},
    twin("V1", ("p", "chassis", "k"), ("p", "chassis", "k"), heater=["h", "chassis"]),
]
AT = [("reservoir", "r"), ("rail", "p"), ("low", "h")]


def prepared(key=""):
    rows = [*ROWS]
    rows[-1] = {**rows[-1], "joins": {**rows[-1]["joins"], "heater": ["h", "h"], "heater_centre": "chassis"}}
    rows[-1]["pins"] = {**rows[-1]["pins"], "heater": ["4", "5"], "heater_centre": "9"}
    parts = parts_of(*rows, resistor("R3", "k", "chassis", "10k"))
    checks = [{"key": k, "red": node, "black": "chassis", "measure": "dc volts", "through": ""} for k, node in AT]
    stage = {"key": "on", "power": "on", "not_fitted": ["V1"], "checks": checks}
    return prepare(parts, [stage], samples=4, faults=[f for f in fault_list(parts) if f.key == key])


def volts(kit, row, key):
    n = kit.index[f"on/{key}"]
    return float(np.sinh(kit.mean[row, n]) * kit.units[n])


def test_a_supply_without_a_load_is_held_by_its_own_capacitor():
    """It charges to the crest, √2 of the winding's volts less a diode, and what creeps from the high tension over the
    socket is nothing beside that."""
    assert volts(prepared(), 0, "low") == pytest.approx(9 * math.sqrt(2) - 0.7, rel=0.02)


def test_an_open_reservoir_is_told_with_what_a_full_wave_rectifier_leaves():
    """0.9 of the winding's volts and more (textbook), since the next can helps a little; a reservoir holds 1.41."""
    kit = prepared("C1 open")
    assert 0.9 * 250 < volts(kit, 1, "reservoir") < 0.9 * volts(kit, 0, "reservoir")


def test_a_film_reservoir_that_is_open_leaves_its_supply_without_one():
    """E/π of a half wave that nothing holds, less half of the diode's drop."""
    kit = prepared("C3 open")
    assert volts(kit, 1, "low") == pytest.approx(9 * math.sqrt(2) / math.pi - 0.35, rel=0.01)
