"""Bands and stop limits proposed for the checks that a guide has already."""

import pytest
from django.urls import reverse

from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.proposals.display import changes_by_stage
from builds.guides.proposals.existing import FIGURE, STOP, Change, propose_changes
from checks.quantity import parse_quantity
from tests import factories

# A stabilised 100 V through 10 kΩ into 10 kΩ of 1 W: 50 V at the tap, by Ohm's law; √(1 W × 10 kΩ) = 100 V.
PARTS = [
    {
        "ref": "B1",
        "kind": "dc supply",
        "value": "100 V",
        "tolerance": "1%",
        "joins": {"plus": "ht", "minus": "chassis"},
    },
    {"ref": "R1", "kind": "resistor", "value": "10k", "tolerance": "5%", "joins": ["ht", "tap"]},
    {"ref": "R2", "kind": "resistor", "value": "10k", "tolerance": "5%", "power": "1 W", "joins": ["tap", "chassis"]},
]
CHECK = {"key": "tap", "title": "Tap", "measure": "dc volts", "red": "tap"}


def tables(check: dict, power: str = "on") -> dict:
    stage = {"key": "live", "title": "Live", "power": power, "cautions": ["one-hand"], "check": [CHECK | check]}
    return {"format": 1, "kit": {"key": "k", "name": "K", "revision": "A"}, "point": [], "part": PARTS, "fault": []} | {
        "stage": [stage]
    }


def change_of(what: str, check: dict, power: str = "on"):
    return next((c for c in propose_changes(tables(check, power)) if c.what == what), None)


def test_a_check_without_a_figure_gets_the_circuits():
    change = change_of(FIGURE, {})
    assert change.then == {"expected": "model", "figure_from": "model"} and change.is_sure
    assert change.model["value"] == pytest.approx(50, rel=0.01)  # less what the supply drops inside
    # ±5 % of each resistor moves a divider of two alike by 2.5 V at the worst corner, (10.5/20) × 101 V = 53 V
    assert 47.2 < change.model["low"] < 49.5 and 50.5 < change.model["high"] < 53


def test_a_check_that_has_the_circuits_band_is_left_alone():
    low, high = (change_of(FIGURE, {}).model[end] for end in ("low", "high"))
    assert change_of(FIGURE, {"low": f"{low:.3g} V", "high": f"{high:.3g} V"}) is None
    assert change_of(FIGURE, {"expected": "model"}) is None


def test_a_wider_band_is_marked_and_not_ticked_beforehand():
    change = change_of(FIGURE, {"expected": "50 V", "band": "0.5%"})
    assert change.loosens and not change.is_sure
    assert not change_of(FIGURE, {"expected": "50 V", "band": "40%"}).loosens


def test_no_band_is_offered_past_a_stop_limit():
    change = change_of(FIGURE, {"expected": "40 V", "band": "5%", "stop_above": "50 V"})
    assert change.barred == "50 V"
    assert not change_of(FIGURE, {"expected": "40 V", "band": "5%", "stop_above": "60 V"}).barred


def test_no_band_is_offered_past_a_rating():
    parts = [PARTS[0], PARTS[1], PARTS[2] | {"power": "0.2 W"}]  # √(0.2 W × 10 kΩ) = 44.7 V
    changes = propose_changes(tables({"expected": "40 V", "band": "5%"}) | {"part": parts})
    assert [(c.barred_by, c.what) for c in changes if c.barred] == [("R2", FIGURE), ("R2", STOP)]


def test_what_the_prototype_read_stays_expected_and_inside_the_band():
    change = change_of(FIGURE, {"expected": "53 V", "band": "20%", "figure_from": "prototype"})
    assert "expected" not in change.then and change.then["band"] == ""
    assert parse_quantity(change.then["high"], "V").value >= 53


def test_a_rating_is_the_stop_limit_of_a_check_that_has_a_laxer_one():
    change = change_of(STOP, {"expected": "50 V", "band": "5%", "stop_above": "150 V"})
    assert change.then == {"stop_above": "100 V"} and change.stop_of == "R2" and not change.loosens


def test_a_tight_stop_limit_is_not_raised_while_good_builds_keep_below_it():
    assert change_of(STOP, {"expected": "50 V", "band": "5%", "stop_above": "70 V"}) is None
    raised = change_of(STOP, {"expected": "45 V", "band": "5%", "stop_above": "50 V"})
    assert raised.loosens and not raised.is_sure


# A grid at the chassis by 220 kΩ of ½ W, which would stand √(½ W × 220 kΩ) = 332 V, on a supply of 100 V.
LEAK = {"ref": "R3", "kind": "resistor", "value": "220k", "tolerance": "5%", "power": "0.5 W"}
TRIODE = {"ref": "V1", "kind": "triode", "type": "2A3"}


def grid_stop(foot: str, check: dict, *more) -> list:
    """What is proposed as the stop limit of a grid whose leak leads to `foot`."""
    valve = TRIODE | {
        "joins": {"anode": "ht", "grid": "grid", "cathode": "chassis"},
        "pins": {"anode": "2", "grid": "3", "cathode": "1"},
    }
    parts = [*PARTS, valve, LEAK | {"joins": ["grid", foot]}, *more]
    stage = tables({"key": "g", "red": "V1.3"} | check) | {"part": parts}
    return [c for c in propose_changes(stage) if c.what == STOP]


def test_a_grid_stops_where_a_leaking_capacitor_would_take_it_not_where_its_leak_burns():
    (change,) = grid_stop("chassis", {"expected": "0 V", "band": "1 V"})
    assert change.then == {"stop_above": "10 V"} and not change.stop_of  # common practice, well below 332 V
    (tightened,) = grid_stop("chassis", {"expected": "0 V", "band": "1 V", "stop_above": "331 V"})
    assert tightened.then == {"stop_above": "10 V"} and not tightened.loosens
    assert not grid_stop("chassis", {"expected": "0 V", "band": "1 V", "stop_above": "5 V"})


def test_a_power_valves_grid_stops_where_half_its_bias_is_lost():
    bias = {"ref": "B2", "kind": "dc supply", "value": "20 V", "joins": {"plus": "chassis", "minus": "bias"}}
    (change,) = grid_stop("bias", {"expected": "-20 V", "band": "1 V"}, bias)
    assert change.then["stop_above"].replace(" ", "").rstrip("V") in ("-9.5", "−9.5")  # half of the -19 V still good
    (laxer,) = grid_stop("bias", {"expected": "-20 V", "band": "1 V", "stop_above": "10 V"}, bias)
    assert laxer.then["stop_above"] == change.then["stop_above"]
    assert not grid_stop("bias", {"expected": "-20 V", "band": "1 V", "stop_above": "-12 V"}, bias)


def test_nothing_is_stopped_without_power():
    assert change_of(STOP, {"measure": "resistance", "expected": "5k", "band": "5%"}, "off") is None


def test_a_broken_circuit_proposes_nothing():
    parts = [PARTS[0], PARTS[1] | {"value": "many"}, PARTS[2]]
    assert propose_changes(tables({}) | {"part": parts}) == ()


@pytest.fixture
def draft(db):
    revision = factories.make_revision(issued=False, stages=0, steps=0, checks=0)
    apply_tables(revision, tables({"expected": "50 V", "band": "40%", "stop_above": "150 V"}))
    return revision


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.first())
    return client


def address(draft):
    return reverse("guides:proposals", args=[draft.kit.key, draft.letter])


def tokens(designer, draft):
    groups = designer.get(address(draft)).context["changes"]
    return [line["change"].token for group in groups for line in group["lines"]]


def test_ticked_changes_are_made_at_once_and_undone_as_one(designer, draft):
    before = as_tables(draft)
    offered = tokens(designer, draft)
    assert len(offered) == 2
    assert designer.post(address(draft), {"change": offered}).status_code == 302
    check = draft.stages.get().checks.get()
    assert (check.expected, check.band, check.stop_above) == ("model", "", "100 V")
    undo = reverse("guides:undo", args=[draft.kit.key, draft.letter])
    designer.post(undo, {"edit": draft.edits.first().pk})
    assert as_tables(draft) == before


def test_a_check_edited_meanwhile_is_not_changed(designer, draft):
    offered = tokens(designer, draft)
    draft.stages.get().checks.update(stop_above="120 V")
    answer = designer.post(address(draft), {"change": offered})
    assert answer.status_code == 422 and answer.context["refused"]
    assert draft.stages.get().checks.get().band == "40%"


def test_a_circuit_edited_meanwhile_is_not_proposed_blindly(designer, draft):
    offered = tokens(designer, draft)
    draft.parts.filter(ref="R2").update(value="39k")
    assert designer.post(address(draft), {"change": offered}).status_code == 422


def test_an_invented_change_is_refused(designer, draft):
    assert designer.post(address(draft), {"change": ["live/tap/stop/0"]}).status_code == 422


WIDENS = {"expected": "50 V", "band": "0.5%", "stop_above": "70 V"}


@pytest.mark.parametrize(("check", "is_open"), [({}, True), (WIDENS, False)])
def test_a_stage_is_folded_unless_a_change_of_it_is_ticked_beforehand(check, is_open):
    given = tables(check)
    (group,) = changes_by_stage(given["stage"], propose_changes(given))
    assert group["is_ticked"] is is_open


def test_a_grid_that_reads_a_little_below_zero_is_shown_with_the_stop_above_it():
    """A triode's grid leak of a megohm carries its grid current, so that it reads some tens of millivolts negative."""
    stage = {"key": "s"}
    check = {"key": "g", "title": "Grid", "measure": "dc volts", "red": "V1.7", "expected": "0 V", "band": "0.3 V"}
    model = {"value": -0.3, "low": -0.5, "high": -0.1, "unit": "V"}
    change = Change("s", check, STOP, None, model, "V", then={"stop_above": "10 V"})
    (line,) = changes_by_stage([stage], (change,))[0]["lines"]
    assert line["then"] == "above 10 V" and line["now"] == "none"
