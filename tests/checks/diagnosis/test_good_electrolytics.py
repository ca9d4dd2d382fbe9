"""Good electrolytics that have stood for long: what they pass at an ohmmeter's few tenths of a volt is no fault."""

import numpy as np
import pytest

from checks.diagnosis import Observation, model_doubt, prepare, rank
from tests.checks.circuit.kits import capacitor, parts_of, resistor

NODES = ("ht", "ht.two", "ht.three")
PARTS = parts_of(
    resistor("R1", "ht", "chassis", "150k"),
    resistor("R2", "ht", "ht.two", "1k"),
    resistor("R3", "ht.two", "ht.three", "1k"),
    resistor("R4", "ht.three", "chassis", "330k"),
    *(capacitor(f"C{n}", node, "chassis") for n, node in enumerate((*NODES, "ht"), 1)),
)
STAGES = [
    {
        "key": "cold",
        "power": "off",
        "not_fitted": [],
        "checks": [
            {"key": node, "measure": "resistance", "red": node, "black": "chassis", "through": ""} for node in NODES
        ],
    }
]
BLEEDERS, GOOD = 1 / (1 / 150e3 + 1 / 330e3), 20e6  # Ω; tens of megohms each, seldom ten (common practice)


def told(ohms):
    """What is said of three nodes of one supply that read nearly alike."""
    return rank(prepare(PARTS, STAGES, samples=32), [Observation(f"cold/{node}", ohms, 0.002 * ohms) for node in NODES])


def beside(ohms, *leaks):
    return 1 / (1 / ohms + sum(1 / leak for leak in leaks))


def test_four_good_ones_beside_resistors_a_little_low_are_no_fault(monkeypatch):
    reading = beside(0.96 * BLEEDERS, *[GOOD] * 4)
    assert told(reading).fits_good_kit
    monkeypatch.setattr(model_doubt, "STOOD", 1e12)  # as if they passed nothing
    assert not told(reading).fits_good_kit


def test_one_that_leaks_in_earnest_is_named_beside_three_good_ones():
    ranking = told(beside(BLEEDERS, 300e3, *[GOOD] * 3))
    assert ranking.clear < 0.2
    assert "C1" in {ref for fault in ranking.groups[0].faults for ref in fault.refs}


def test_a_good_ones_share_is_its_conductance_beside_the_circuits():
    prepared = prepare(PARTS, STAGES, samples=32)
    n = prepared.index["cold/ht"]
    added = model_doubt.scatter_of_good_electrolytics(
        prepared.faults, prepared.mean[0], prepared.size_row, prepared.size_mean, prepared.places
    )
    assert np.sqrt(added[n, n]) == pytest.approx(np.sqrt(4) * BLEEDERS / GOOD, rel=0.1)


def test_nothing_is_added_where_no_electrolytic_is():
    prepared = prepare(PARTS[:1], STAGES, samples=8)
    facts = (prepared.faults, prepared.mean[0], prepared.size_row, prepared.size_mean, prepared.places)
    assert not model_doubt.scatter_of_good_electrolytics(*facts).any()
