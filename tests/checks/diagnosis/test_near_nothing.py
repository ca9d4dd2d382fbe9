"""Dangers that read about nothing: a few tenths of a volt where a good kit has none are many of its own scatter off."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.diagnosis import Observation, fault_list, prepare, rank
from checks.diagnosis.ambiguity import STRAYS
from checks.diagnosis.parasitics import NOWHERE
from checks.diagnosis.reading_scale import linear_about_nothing, slope, to_scale
from tests.checks.diagnosis.test_faults import PARTS, STAGES

FAR = 8.0  # standard deviations of good kits, that a reading is off
HARDLY_CLEAR = 0.2
GRID_LEAK, COUPLING = 470e3, "C8"  # Ω of the demo's output stage and its coupling capacitor, from its parts list
AROUND = {"C8", "R9", "R10", "R12", "R13", "R14", "R15", "F1"}
AT = [
    ("grid", "dc volts", "V2.2", "chassis"),
    ("cathode", "dc volts", "V2.3", "chassis"),
    ("bias", "dc volts", "V2.2", "V2.3"),
    ("balance", "dc volts", "V1.1", "V1.6"),
    ("drop", "dc volts", "V2.9", "ht.screen"),
    ("driver", "dc volts", "V1.1", "chassis"),
    ("heater", "ac volts", "V2.4", "chassis"),
    ("half", "ac volts", "V2.4", "V2.5"),
]


@pytest.fixture(scope="module")
def kit():
    checks = [dict(zip(("key", "measure", "red", "black"), row, strict=True), through="") for row in AT]
    faults = [f for f in fault_list(PARTS) if f.code not in STRAYS and set(f.refs) & AROUND]
    return prepare(PARTS, [STAGES[0], {**STAGES[1], "checks": checks}], samples=24, faults=faults)


def volts_of(kit, name):
    return float(np.sinh(kit.mean[0, kit.index[name]]) * kit.units[kit.index[name]])


def deviation_of(kit, name):
    n = kit.index[name]
    return float(np.sqrt(kit.scatter[0, n, n]) / slope(volts_of(kit, name), kit.units[n]))


def reads(kit, **others):
    """A good kit's readings, but for `others` in V, which were taken twice."""
    for place in kit.places:
        if place.check:
            value = others.get(place.check, volts_of(kit, place.name))
            yield Observation(place.name, value, 0.003 * abs(value) + 0.001, repeated=place.check in others)


@pytest.mark.lengthy
def test_a_coupling_capacitor_that_leaks_a_little_is_never_told_clear(kit):
    """33 MΩ and the grid's leak divide the driver's anode volts (Ohm's law)."""
    grid = volts_of(kit, "hot/driver") * GRID_LEAK / (33e6 + GRID_LEAK)
    assert 0.5 < grid < 3.0
    ranking = rank(kit, [o for o in reads(kit, grid=grid) if o.place in ("hot/grid", "hot/driver")])
    assert ranking.clear < 0.05
    assert any(COUPLING in fault.refs for fault in ranking.groups[0].faults)


@pytest.mark.lengthy
def test_a_grid_within_what_good_valves_leave_there_is_clear(kit):
    """A tenth of a microampere or two across 470 kΩ (sheets allow a microampere, from memory)."""
    assert rank(kit, reads(kit, grid=0.1)).clear > 0.8


@pytest.mark.lengthy
def test_leaks_of_a_coupling_capacitor_go_on_to_what_hardly_moves_a_grid(kit):
    """Ohm's law: from where a grid is lifted by volts to where a good valve's own current lifts it as far."""
    row = [fault.key for fault in kit.faults].index(f"{COUPLING} leaky") + 1
    n = kit.index["hot/grid"]
    lifted = np.sinh(kit.size_mean[kit.size_row == row][:, n]) * kit.units[n]
    anode = volts_of(kit, "hot/driver")
    assert lifted.max() > 10 and lifted.min() < 2 * anode * GRID_LEAK / 5e8
    assert (np.diff(np.sort(lifted)[::-1]) < 0).all()


@pytest.mark.parametrize("name", [row[0] for row in AT])
@pytest.mark.parametrize("way", [-1, 1])
def test_a_reading_far_off_that_was_taken_twice_is_never_told_clear(kit, name, way):
    """Whatever is read there: a grid, a cathode, a negative bias, two anodes that should be alike, a screen's drop, a
    heater to the chassis and across its pins."""
    place = f"hot/{name}"
    off = volts_of(kit, place) + way * FAR * deviation_of(kit, place)
    assert rank(kit, reads(kit, **{name: off})).clear < HARDLY_CLEAR
    once = [replace(o, repeated=False) for o in reads(kit, **{name: volts_of(kit, place)})]
    assert rank(kit, once).clear > 0.8


@pytest.mark.lengthy
@given(st.floats(1e-3, 30.0), st.floats(-0.2, 0.2), st.floats(0.5, 9.0), st.sampled_from((-1, 1)))
def test_about_nothing_the_scale_counts_volts(deviation, share, away, way):
    """A normal distribution in volts: what is so many standard deviations off counts as nearly so many."""
    nominal = share * deviation
    units = linear_about_nothing(0.1, nominal, deviation)
    own = np.hypot(deviation, 0.015) * slope(nominal, units)
    counted = abs(to_scale(nominal + way * away * deviation, units) - to_scale(nominal, units)) / own
    assert 0.8 * away * deviation / np.hypot(deviation, 0.015) < counted < 1.2 * away


@pytest.mark.lengthy
@given(st.floats(0.5, 500.0), st.floats(0.0, 0.25))
def test_scatter_that_is_a_share_of_a_reading_leaves_its_scale(nominal, share):
    assert linear_about_nothing(0.1, nominal, share * nominal) == pytest.approx(0.1)


@pytest.mark.parametrize("ohms", [30e3, 100e3])
def test_a_coupling_capacitor_nearly_shorted_is_of_its_list_of_leaks(ohms):
    """Old paper capacitors are found at tens of kilohms as well as at megohms (common practice)."""
    leak = next(f for f in fault_list(PARTS) if f.key == f"{COUPLING} leaky")
    found = np.array([sizes[0] for sizes in leak.at_sizes()]) * NOWHERE
    assert np.abs(np.log10(found / ohms)).min() < 0.3
