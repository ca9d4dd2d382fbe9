"""Which parts are in the chassis at a stage: what a later stage solders in is not there, unless the figures say so."""

import pytest

from checks.circuit import part_from_mapping
from checks.diagnosis.conditions import list_conditions
from checks.diagnosis.dictionary import prepare


def resistor(ref, a, b, value):
    row = {"ref": ref, "kind": "resistor", "value": value, "tolerance": "5%", "joins": [a, b]}
    return part_from_mapping(row)


# Two resistors of 100 kΩ from one node to chassis: 100 kΩ before the second is in, 50 kΩ after (Ohm's law).
PARTS = [resistor("R1", "tap", "chassis", "100k"), resistor("R2", "tap", "chassis", "100k")]
PARTS.append(resistor("R3", "far", "chassis", "1k"))


def left_out(figures, waiting=("R2",)):
    check = {"key": "tap", "measure": "resistance", "red": "tap", "black": "chassis", "through": ""}
    stage = {"key": "board", "power": "off", "not_fitted": [], "supply": "", "checks": [check]}
    stage |= {"waiting": list(waiting), "figures": figures}
    ((condition, _places),) = list_conditions([stage], None, PARTS)
    return condition.not_fitted


@pytest.mark.parametrize("figure", [1e5, 9.6e4, 1.2e5])
def test_a_part_that_the_figure_does_not_have_in_yet_is_left_out(figure):
    assert left_out({"tap": figure}) == {"R2"}


@pytest.mark.parametrize("figures", [{"tap": 5e4}, {"tap": 5.5e4}, {}, {"another": 1e5}])
def test_a_part_that_the_figure_has_in_stays_and_so_it_does_where_no_figure_tells(figures):
    assert left_out(figures) == frozenset()


def test_a_part_that_changes_no_reading_waits_without_a_figure():
    assert left_out({}, waiting=("R3",)) == {"R3"}


@pytest.mark.parametrize("point", ["earth.pin", "R1.3"])
def test_a_check_at_a_point_outside_the_circuit_takes_no_other_checks_causes_away(point):
    """The earth pin of the plug is a point of many guides and no node of their circuits."""
    checks = [
        {"key": key, "measure": "resistance", "red": red, "black": "chassis", "through": ""}
        for key, red in (("earth", point), ("tap", "tap"), ("far", "far"))
    ]
    stage = {"key": "board", "power": "off", "not_fitted": [], "supply": "", "checks": checks, "waiting": ["R2"]}
    prepared = prepare(PARTS, [stage | {"figures": {"tap": 1e5}}], None, samples=20)
    assert [place.check for place in prepared.places if place.check] == ["tap", "far"]
    assert any("R1" in fault.refs for fault in prepared.faults)
