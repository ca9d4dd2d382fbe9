"""Paths that no part makes: which are thought of, what they read, and how they are told."""

import numpy as np
import pytest

from checks.diagnosis import Observation, fault_list, prepare, rank
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.node_neighbours import merged
from checks.diagnosis.parasitics import list_bridges
from checks.diagnosis.stray_paths import MOST, PATH_OHMS, PIN_OHMS, SHARE, list_paths
from tests.checks.diagnosis.test_faults import PARTS, STAGES

STRAYS = (FaultCode.PINS_LEAK, FaultCode.STRAY_PATH)
GRID_LEAK, CATHODE = 471.5e3, 180.0  # Ω of the demo’s output stage, from its parts list: 470 kΩ and 1.5 kΩ


@pytest.fixture(scope="module")
def few():
    """A cold stage's readings under one path, one leak between pins, and an open resistor."""
    wanted = {"V2 leak 2-3", "path v1a.grid to chassis", "R10 open", "R12 open"}
    faults = [f for f in fault_list(PARTS) if f.key in wanted]
    return prepare(PARTS, STAGES[:1], samples=16, faults=faults)


def sizes_of(prepared, key):
    row = [f.key for f in prepared.faults].index(key) + 1
    return np.sinh(prepared.size_mean[prepared.size_row == row]) * prepared.units


def test_no_path_leads_into_the_mains_or_between_neighbouring_pins_that_have_faults_of_their_own():
    near = {frozenset(p.joins[p.pins[pin]] for pin in pins) for p in PARTS for pins in list_bridges(p)}
    paths = list_paths(PARTS)
    assert 0 < len(paths) <= MOST and len({p.ends for p in paths}) == len(paths)
    assert not [p for p in paths if any(end.startswith("mains") for end in p.ends)]
    assert near and not [p for p in paths if set(p.ends) in near or p.ends[0] == p.ends[1]]


def test_insulation_and_what_hangs_on_a_supply_an_anode_or_a_grid_come_before_any_two_points():
    likelier = [p.is_likelier for p in list_paths(PARTS)]
    assert likelier[0] and likelier == sorted(likelier, reverse=True)
    stands = merged(PARTS)  # the reservoir and what a few ohms join with it are one end
    ends = {tuple(stands[end] for end in p.ends) for p in list_paths(PARTS) if p.is_likelier}
    assert {(stands["ht.reservoir"], "chassis"), (stands["v2.grid"], "chassis")} <= ends


def test_every_point_s_path_to_the_chassis_comes_before_those_between_points_of_no_common_socket(monkeypatch):
    """A bare strand touches the metal that is all round sooner than another point (common practice), so that a list
    which is cut keeps it."""
    sockets = [{p.joins[p.pins[pin]] for pin in p.pins} for p in PARTS if p.pins]
    paths = list_paths(PARTS)
    to_chassis = [n for n, p in enumerate(paths) if "chassis" in p.ends]
    apart = [n for n, p in enumerate(paths) if n not in to_chassis and not any({*p.ends} <= s for s in sockets)]
    assert max(to_chassis) < min(n for n in apart if not paths[n].is_likelier)
    monkeypatch.setattr("checks.diagnosis.stray_paths.MOST", max(to_chassis) + 1)
    assert {p.ends for p in list_paths(PARTS) if "chassis" in p.ends} == {paths[n].ends for n in to_chassis}


def test_paths_are_a_small_share_of_all_that_may_be_wrong_however_many_there_are():
    faults = fault_list(PARTS)
    whole = sum(f.weight for f in faults)
    assert sum(f.weight for f in faults if f.code is FaultCode.STRAY_PATH) == pytest.approx(SHARE * whole)


def test_resistances_under_a_path_are_those_of_resistors_in_series_and_in_parallel(few):
    """Ohm's law: from the cathode, the path and the grid leak beyond it lie across the cathode's resistor."""
    at = [place.check for place in few.places].index("k")
    expected = [1 / (1 / CATHODE + 1 / (ohms + GRID_LEAK)) for ohms in PIN_OHMS]
    assert sizes_of(few, "V2 leak 2-3")[:, at] == pytest.approx(expected, rel=0.02)
    grid = [place.check for place in few.places].index("g")
    expected = [1 / (1 / GRID_LEAK + 1 / (ohms + CATHODE)) for ohms in PIN_OHMS]
    assert sizes_of(few, "V2 leak 2-3")[:, grid] == pytest.approx(expected, rel=0.02)


def test_flux_between_two_pins_is_told_from_a_part_that_is_wrong(few):
    """The demo's grid (pin 2) beside its cathode (pin 3), through 20 kilohms of flux: both pins say so."""
    index = {p.check: p.name for p in few.places if p.check}
    through = 1 / (1 / GRID_LEAK + 1 / (2e4 + CATHODE))
    found = rank(few, [Observation(index["g"], through, 0.01 * through), Observation(index["k"], 180.0, 1.8)])
    assert found.groups[0].faults[0].code in STRAYS and found.groups[0].probability > found.healthy
    good = rank(few, [Observation(index["g"], GRID_LEAK, 4.7e3), Observation(index["k"], 180.0, 1.8)])
    assert good.clear > 0.5 > found.clear


def test_every_leak_comes_in_sizes_that_go_down_from_a_touch_to_what_hardly_shows():
    for fault in fault_list(PARTS):
        if fault.code in STRAYS:
            assert fault.comes_in_sizes and len(fault.at_sizes()) in (len(PIN_OHMS), len(PATH_OHMS))
