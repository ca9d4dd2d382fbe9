"""Faults that come with the first power, of parts not soldered in yet, and where the model knows less."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis import Observation, prepare, rank
from checks.diagnosis.appearances import _split
from tests.checks.circuit.kits import demo_rows
from tests.checks.diagnosis.test_faults import STAGES
from tests.checks.diagnosis.test_faults import prepared as prepared  # the fixture
from tests.checks.diagnosis.test_likelihood import reads, row_of

PARTS = [part_from_mapping(row) for row in demo_rows()]


def keys_of(group):
    return {fault.key for fault in group.faults}


def with_good_resistances(prepared, key):  # noqa: F811
    """A fault's live readings beside the resistances of a good kit."""
    good = {o.place: o for o in reads(prepared, 0)}
    return [good[o.place] if o.place.startswith("cold/") else o for o in reads(prepared, row_of(prepared, key))]


@pytest.mark.lengthy
def test_a_joint_that_opens_with_the_first_power_is_named_though_the_resistances_were_good(prepared):  # noqa: F811
    ranking = rank(prepared, with_good_resistances(prepared, "R10 open"))
    assert {"R10 open", "V2 3 dry"} & keys_of(ranking.groups[0])
    assert ranking.other < 0.2 and ranking.clear < 0.05


@pytest.mark.lengthy
def test_a_wrong_value_does_not_come_late(prepared):  # noqa: F811
    """A resistor of ten times its value reads so before the power as well."""
    ranking = rank(prepared, with_good_resistances(prepared, "R10 x10"))
    assert all("R10 x10" not in keys_of(g) or g.probability < 0.05 for g in ranking.groups)


@pytest.mark.lengthy
def test_without_early_readings_coming_late_changes_nothing(prepared):  # noqa: F811
    live = [o for o in reads(prepared, row_of(prepared, "R10 open")) if o.place.startswith("hot/")]
    never = replace(prepared, late=np.zeros_like(prepared.late))
    assert rank(prepared, live).each == pytest.approx(rank(never, live).each, abs=1e-9)


@pytest.mark.lengthy
def test_a_capacitor_the_wrong_way_round_may_read_well_at_an_ohmmeter(prepared):  # noqa: F811
    """The oxide of an aluminium electrolytic blocks the wrong polarity up to a volt or so (common practice)."""
    reversed_ones = [n + 1 for n, fault in enumerate(prepared.faults) if fault.kind == "reversed"]
    cathode = prepared.index["cold/k"]
    row = max(reversed_ones, key=lambda r: np.ptp(prepared.size_mean[prepared.size_row == r][:, cathode]))
    sizes = prepared.size_mean[prepared.size_row == row]
    off = np.array([place.power == "off" for place in prepared.places])
    mixed = np.sinh(np.where(off, sizes[-1], sizes[0])) * prepared.units  # hardly leaks, and shorts the supply
    readings = [
        Observation(p.name, float(v), 0.01 * abs(v) + 0.01)
        for p, v in zip(prepared.places, mixed, strict=True)
        if p.check
    ]
    together = replace(prepared, split=np.zeros_like(prepared.split), late=np.zeros_like(prepared.late))
    assert rank(prepared, readings).each[row - 1] > rank(together, readings).each[row - 1]


@pytest.mark.lengthy
@pytest.mark.parametrize("waiting", [["R12"], []])
def test_a_part_that_is_not_soldered_in_yet_cannot_be_at_fault(waiting):
    """R12 returns the grid that is not read here; the cathode reads the same without it."""
    early = {"key": "early", "power": "off", "not_fitted": ["V1", "V2"], "waiting": waiting}
    early["checks"] = [{"key": "k", "measure": "resistance", "red": "V2.3", "black": "chassis", "through": ""}]
    prepared = prepare(PARTS, [early, *STAGES], samples=8)
    bridge = next(n + 1 for n, f in enumerate(prepared.faults) if f.key == "V2 bridge 2-3")
    moved = abs(prepared.mean[bridge, prepared.index["early/k"]] - prepared.mean[0, prepared.index["early/k"]])
    assert prepared.index.keys() >= {"early/k", "cold/k"}
    assert moved < 0.01 or not waiting  # with the grid's resistor waiting the bridge leads nowhere


@pytest.mark.lengthy
def test_steps_that_contradict_the_readings_are_not_believed():
    """Without R10 the cathode would read open, which no guide asks for: R10 is there."""
    early = {"key": "early", "power": "off", "not_fitted": ["V1", "V2"], "waiting": ["R10"]}
    early["checks"] = [{"key": "k", "measure": "resistance", "red": "V2.3", "black": "chassis", "through": ""}]
    prepared = prepare(PARTS, [early, *STAGES], samples=8)
    assert prepared.nominal[prepared.index["early/k"]] < 1e3


GRID = {"key": "g", "measure": "dc volts", "red": "V2.2", "black": "chassis", "through": ""}


@pytest.mark.lengthy
def test_a_healthy_grid_may_stand_at_a_tenth_of_a_volt():
    """Sheets allow an output valve a grid current of up to a microampere, across a resistor of up to 1 MΩ with the bias
    at the cathode (from memory of EL84 and 6V6 sheets)."""
    hot = {**STAGES[1], "checks": [*STAGES[1]["checks"], GRID]}
    prepared = prepare(PARTS, [STAGES[0], hot], samples=16)
    good = reads(prepared, 0)
    leaky = [replace(o, value=0.12) if o.place == "hot/g" else o for o in good]
    assert rank(prepared, leaky).clear > 0.8
    assert rank(prepared, [replace(o, value=3.0) if o.place == "hot/g" else o for o in good]).healthy < 0.5


@pytest.mark.lengthy
def test_mains_that_was_measured_is_hardly_far_off(prepared):  # noqa: F811
    readings = reads(prepared, row_of(prepared, "mains x0.88"), 1)
    known = [replace(o, line_known=True) for o in readings]
    row = row_of(prepared, "mains x0.88") - 1
    assert rank(prepared, known).each[row] < 0.5 * rank(prepared, readings).each[row]


def test_a_capacitor_the_wrong_way_round_never_reads_as_a_short_at_an_ohmmeter():
    """At a few tenths of a volt its oxide still blocks (common practice); under the kit's own volts it may do anything.
    Eleven sizes from the fewest ohms to the most, at a place read with the power off and at one with it on."""
    ohms = np.repeat(np.arange(11.0)[:, None], 2, axis=1)
    places = [SimpleNamespace(power="off"), SimpleNamespace(power="on")]
    mean, _span = _split(SimpleNamespace(places=places), ohms, ohms)
    assert set(mean[:, 0]) == set(range(4, 11)) and set(mean[:, 1]) == set(range(11))
