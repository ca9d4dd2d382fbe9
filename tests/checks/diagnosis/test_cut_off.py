"""A cathode whose resistor is open rises until its valve hardly conducts, and real valves let go slowly.

Data sheets of the ECC81 (from memory) give a tenth of a milliampere and less at two to three times the grid volts that
anode volts over amplification would come to; of the 6SN7 at one and a half times.
"""

import numpy as np
import pytest

from checks.diagnosis import Observation, fault_list, prepare, rank
from checks.diagnosis.cut_off import HELD_BY_VALVE, TAIL, add_tails
from tests.checks.diagnosis.test_faults import PARTS, STAGES

CATHODE = next(p for p in PARTS if p.ref == "V1").joins["b.cathode"]
RESISTOR = next(p.ref for p in PARTS if p.kind == "resistor" and set(p.joins.values()) == {CATHODE, "chassis"})


def checks(*rows):
    return [dict(zip(("key", "measure", "red", "black"), row, strict=True), through="") for row in rows]


@pytest.fixture(scope="module")
def kit():
    faults = [f for f in fault_list(PARTS) if set(f.refs) & {RESISTOR, "V1"}]
    at = checks(("k", "dc volts", CATHODE, "chassis"), ("g", "dc volts", "V1.7", "chassis"))
    return prepare(PARTS, [{**STAGES[1], "checks": at}], samples=24, faults=faults)


@pytest.mark.lengthy
def test_an_open_cathode_resistor_is_found_though_the_cathode_stands_higher_than_the_model_says(kit):
    row = [f.key for f in kit.faults].index(f"{RESISTOR} open") + 1
    n = kit.index["hot/k"]
    said = float(np.sinh(kit.mean[row, n]) * kit.units[n])
    seen = [Observation("hot/k", 1.8 * said, 0.02 * said, repeated=True), Observation("hot/g", 0.0, 0.01)]
    ranking = rank(kit, seen)
    assert f"{RESISTOR} open" in {f.key for f in ranking.groups[0].faults}
    assert ranking.other < 0.2


def test_only_what_a_valve_near_cut_off_holds_is_doubted():
    over = np.array([[2.0, 2.0], [2.0, 2.0], [2.0, np.nan], [-2.0, 2.0]])
    held = 3 * HELD_BY_VALVE
    source = np.array([[500.0, held], [held, held], [500.0, held], [held, 500.0]])
    doubted = add_tails(np.zeros((4, 2, 2)), over, source, np.ones(2))
    expected = np.zeros((4, 2, 2))
    expected[1, 0, 0] = (TAIL * 2.0) ** 2  # raised, and not held as a good kit's is
    assert (doubted == expected).all()
