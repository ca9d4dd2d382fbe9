"""Pins without solder: a grid that nothing holds goes where its socket's leak and a few ions take it, and a rectifier's
cathode without its wire is a rectifier that passes nothing."""

import numpy as np
import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis import Observation, fault_list, prepare, rank
from checks.diagnosis.codes import FaultCode
from tests.checks.circuit.kits import PREAMP, guide
from tests.checks.diagnosis.test_faults import PARTS, STAGES

RECTIFIER_CATHODE = "3"  # of an EZ81 on B9A (its data sheet)


@pytest.fixture(scope="module")
def kit():
    return prepare(PARTS, STAGES, samples=24, faults=[f for f in fault_list(PARTS) if f.refs[:1] == ("V2",)])


def sizes_at(kit, key, place):
    row, n = [fault.key for fault in kit.faults].index(key) + 1, kit.index[place]
    return np.sinh(kit.size_mean[kit.size_row == row][:, n]) * kit.units[n]


@pytest.mark.lengthy
def test_a_grid_without_its_wire_may_leave_the_valve_anywhere_between_hardly_and_fully_on(kit):
    """Common practice: such a valve may run away or hardly conduct, by the weather and the socket."""
    cathode = sizes_at(kit, "V2 2 dry", "hot/k")
    usual = kit.nominal[kit.index["hot/k"]]
    assert (np.diff(cathode) > 0).all(), "the less the tag leaks, the higher the ions lift the grid"
    assert cathode[0] < 1.2 * usual and cathode[-1] > 1.5 * usual


@pytest.mark.lengthy
@pytest.mark.parametrize("share", [1.35, 1.6, 1.9])
def test_a_valve_that_runs_away_with_its_grid_resistor_right_is_laid_to_its_grid(kit, share):
    usual = {place.name: float(v) for place, v in zip(kit.places, kit.nominal, strict=True) if place.check}
    read = {name: Observation(name, usual[name], 0.005 * usual[name]) for name in ("cold/k", "cold/g")}
    hot = Observation("hot/k", share * usual["hot/k"], 0.02, repeated=True)
    named = {fault.key for group in rank(kit, [*read.values(), hot]).groups[:3] for fault in group.faults}
    assert "V2 2 dry" in named


def test_a_pin_that_is_no_grid_hangs_by_the_same_leak_as_ever():
    dry = next(f for f in fault_list(PARTS) if f.key == "V2 3 dry")
    assert not dry.sizes and all("ions" not in move.ref for move in dry.moves)


def test_a_rectifier_valve_whose_cathode_has_no_wire_is_thought_of():
    parts = [part_from_mapping(row) for row in guide(PREAMP.parent.name)["part"]]
    rectifier = next(p for p in parts if p.kind == "rectifier valve")
    assert rectifier.pin_of["cathode"] == RECTIFIER_CATHODE
    by_key = {f.key: f for f in fault_list(parts)}
    dry = by_key[f"{rectifier.ref} {RECTIFIER_CATHODE} dry"]
    assert dry.code is FaultCode.DRY_PIN and dry.params["electrode"] == "cathode"
    assert dry.moves == by_key[f"{rectifier.ref} dead"].moves
