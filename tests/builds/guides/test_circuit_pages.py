"""The editor's pages of the circuit: wiring, blocks, proposed checks and the grid of checks."""

import re

import pytest
from django.urls import reverse

from builds.guides.editor.checks_grid import list_cells
from builds.guides.editor.edits import row_version
from builds.guides.editor.wiring_table import table_rows
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.proposals.propose import propose
from tests import factories
from tests.builds.guides.test_wiring_and_blocks import LINE_STAGE, parts_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft():
    revision = factories.make_revision(issued=False, stages=0, steps=0, checks=0)
    apply_tables(revision, as_tables(revision) | {"part": parts_of(LINE_STAGE)})
    return revision


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.first())
    return client


def url(draft, name, *more):
    return reverse(f"guides:{name}", args=[draft.kit.key, draft.letter, *more])


def place(designer, draft, key, **said):
    """Open a block's form and send it as it is suggested, with `said` in its fields."""
    page = designer.get(url(draft, "block", key)).context
    fields = {"version": page["version"]} | {f"ref-{line.name}": line.text for line in page["roles"]}
    fields |= {f"ask-{line.name}": line.text for line in page["asks"]}
    return designer.post(url(draft, "block", key), fields | {f"ask-{name}": text for name, text in said.items()})


@pytest.fixture
def wired(designer, draft):
    figures = {"volts": "220 V", "amps": "50 mA", "ohms": "350R", "primary_ohms": "40R"}
    for key, said in (("rectifier", figures), ("heaters", {"amps": "1 A", "ohms": "0.3R"}), ("triode", {})):
        assert place(designer, draft, key, **said).status_code == 302
    assert place(designer, draft, "follower").status_code == 302
    return draft


@pytest.mark.lengthy
def test_a_block_that_lacks_a_figure_places_nothing(designer, draft):
    answer = place(designer, draft, "rectifier", volts="220 V")
    assert answer.status_code == 422 and not draft.parts.get(ref="D1").detail.get("joins")


@pytest.mark.lengthy
def test_blocks_leave_nothing_unwired(designer, wired):
    assert designer.get(url(wired, "blocks")).context["unwired"] == []


def wiring_post(page, **changes):
    fields = {}
    for row in page["rows"]:
        name = f"{row.end.ref}.{row.end.terminal}"
        fields |= {f"was-{name}": row.end.point, f"end-{name}": changes.get(name, row.point)}
    return fields


@pytest.mark.lengthy
def test_an_end_is_joined_to_another_end(designer, draft):
    page = designer.get(url(draft, "wiring")).context
    post = wiring_post(page, **{"R9.a": "V1.8", "R9.b": "gnd"})
    assert designer.post(url(draft, "wiring"), post).status_code == 302
    points = dict(designer.get(url(draft, "wiring")).context["points"])
    assert {end.address for ends in points.values() for end in ends} == {"V1.8", "R9.a", "R9.b"}


@pytest.mark.lengthy
def test_a_wrong_end_is_told_at_its_row_and_nothing_is_saved(designer, draft):
    page = designer.get(url(draft, "wiring")).context
    answer = designer.post(url(draft, "wiring"), wiring_post(page, **{"R9.a": "V1.12", "R9.b": "chassis"}))
    assert answer.status_code == 422 and not draft.parts.get(ref="R9").detail.get("joins")
    assert [row.end.address for row in answer.context["rows"] if row.error and "V1" in row.error] == ["R9.a"]


def test_a_pin_without_a_wire_is_told_at_its_own_row():
    valve = {"ref": "V1", "kind": "twin triode", "type": "ECC82", "joins": {}}
    valve["joins"] |= {"a": {"anode": "x", "grid": "y", "cathode": "z"}, "b": {"grid": "y", "cathode": "z"}}
    wrong = [(row.end.terminal, row.error) for row in table_rows([valve], {}, {}) if row.error]
    assert [terminal for terminal, _error in wrong] == ["b.anode"] and "anode" in wrong[0][1]


def test_no_two_fields_of_the_wiring_page_share_an_id(designer, draft):
    ids = re.findall(r' id="([^"]+)"', designer.get(url(draft, "wiring")).content.decode())
    assert "wire-list" in ids and len(ids) == len(set(ids))


@pytest.mark.lengthy
def test_an_end_that_was_wired_elsewhere_meanwhile_is_not_overwritten(designer, wired):
    page = designer.get(url(wired, "wiring")).context
    first, second = wiring_post(page, **{"R9.b": "one"}), wiring_post(page, **{"R9.b": "two"})
    assert designer.post(url(wired, "wiring"), first).status_code == 302
    answer = designer.post(url(wired, "wiring"), second)
    assert answer.context["state"].moved and wired.parts.get(ref="R9").detail["joins"][1] == "one"


@pytest.mark.lengthy
def test_no_wire_puts_a_check_on_the_mains(designer, wired):
    stage = wired.stages.create(position=1, key="s", title="S")
    stage.checks.create(position=1, key="c", title="C", measure="resistance", red="in", expected="1M", band="9%")
    page = designer.get(url(wired, "wiring")).context
    answer = designer.post(url(wired, "wiring"), wiring_post(page, **{"R6.b": "mains.live"}))
    assert answer.status_code == 422 and answer.context["state"].general


@pytest.mark.lengthy
def test_a_pasted_list_of_wires_is_added_whole_or_not_at_all(designer, draft):
    designer.post(url(draft, "wire-list"), {"wires": "From\tTo\nR9.a\tV1.8\nR9.b\tV1.99"})
    assert not draft.parts.get(ref="R9").detail.get("joins")
    designer.post(url(draft, "wire-list"), {"wires": "From\tTo\nR9.a\tV1.8\nR9.b\tchassis"})
    assert draft.parts.get(ref="R9").detail["joins"][1] == "chassis"


@pytest.mark.parametrize(
    "wires",
    ["R9.a V1.8\nR9.b chassis", "R9.a -> V1.8\nR9.b → chassis", "R9.a - V1.8\nR9.b\tchassis\tblack 0.5 mm²"]
    + ["V1.8, R8.a, R9.a\nR9.b chassis"],  # three ends of one line meet
)
def test_the_ends_of_a_wire_are_apart_as_people_put_them(designer, draft, wires):
    assert designer.post(url(draft, "wire-list"), {"wires": wires}).status_code == 302
    one, other = draft.parts.get(ref="R9").detail["joins"]
    assert other == "chassis" and draft.parts.get(ref="V1").detail["joins"]["a"]["cathode"] == one


@pytest.mark.lengthy
def test_ticked_proposals_are_added_with_the_stages_they_need(designer, wired):
    page = designer.get(url(wired, "proposals")).context
    names = [line["p"].name for group in page["stages"] for line in group["lines"]]
    designer.post(url(wired, "proposals"), {"add": names[:3] + names[-2:], "version": page["version"]})
    assert sum(stage.checks.count() for stage in wired.stages.all()) == 5
    live = wired.stages.filter(power="on").first()
    assert live.cautions and live.checks.first().expected == "model"
    again = designer.get(url(wired, "proposals")).context
    assert sum(line["p"].is_there for group in again["stages"] for line in group["lines"]) == 5


@pytest.mark.lengthy
def test_proposals_of_a_circuit_that_was_edited_since_are_not_added_and_the_ticks_stay(designer, wired):
    page = designer.get(url(wired, "proposals")).context
    names = [line["p"].name for group in page["stages"] for line in group["lines"]]
    wired.parts.filter(ref="R9").update(value="2k2")
    answer = designer.post(url(wired, "proposals"), {"add": names[:2], "version": page["version"]})
    assert answer.status_code == 422 and answer.context["refused"]
    assert not wired.edits.filter(what="proposals").exists()
    ticked = [line["p"].name for group in answer.context["stages"] for line in group["lines"] if line["tick"]]
    assert ticked == names[:2]
    again = designer.post(url(wired, "proposals"), {"add": names[:2], "version": answer.context["version"]})
    assert again.status_code == 302 and wired.edits.filter(what="proposals").count() == 1


@pytest.mark.lengthy
def test_proposals_that_do_not_say_of_which_circuit_they_are_add_nothing(designer, wired):
    page = designer.get(url(wired, "proposals")).context
    names = [line["p"].name for group in page["stages"] for line in group["lines"]]
    assert designer.post(url(wired, "proposals"), {"add": names[:2]}).status_code == 422


@pytest.mark.lengthy
def test_proposals_are_added_though_a_stage_was_renamed_since(designer, wired):
    page = designer.get(url(wired, "proposals")).context
    names = [line["p"].name for group in page["stages"] for line in group["lines"]]
    wired.stages.update(title="Another title")
    answer = designer.post(url(wired, "proposals"), {"add": names[:2], "version": page["version"]})
    assert answer.status_code == 302


@pytest.mark.lengthy
def test_a_proposed_zero_is_shown_as_what_a_meter_shows_of_zero(designer, wired):
    """A grid that its leak ties to the chassis: leads and offsets read as tens of millivolts (common practice)."""
    page = designer.get(url(wired, "proposals")).context
    lines = [line for group in page["stages"] for line in group["lines"] if line["p"].unit == "V"]
    zeros = [line for line in lines if abs(line["p"].value) < 1e-3]
    assert zeros and all(line["low"] <= -0.05 and line["high"] >= 0.05 and line["is_zero"] for line in zeros)
    assert all(line["high"] == line["p"].high for line in lines if line["p"].value > 1)


@pytest.mark.lengthy
def test_ticked_checks_under_a_tone_are_added_with_their_signals(designer, wired):
    """A kit without controls needs no stage of its own for them."""
    proposals = propose(as_tables(wired), with_signals=True)
    names = [p.name for p in proposals.proposals if p.is_signal and p.row["signal"].get("into")]
    version = designer.get(url(wired, "proposals")).context["version"]
    designer.post(url(wired, "proposals"), {"add": names, "version": version})
    checks = [check for stage in wired.stages.all() for check in stage.checks.all()]
    assert len(checks) == len(names) == 3 and {check.expected for check in checks} == {"model"}
    assert {check.signal["frequency"] for check in checks} == {"40 Hz", "400 Hz", "1 kHz"}


def test_proposals_of_a_kit_without_wires_are_none(designer, draft):
    assert designer.get(url(draft, "proposals")).context["stages"] == []


def add_all(designer, draft):
    page = designer.get(url(draft, "proposals")).context
    names = [line["p"].name for group in page["stages"] for line in group["lines"]]
    designer.post(url(draft, "proposals"), {"add": names, "version": page["version"]})


def checks_post(draft, changes):
    fields, n = {}, 0
    for stage in as_tables(draft)["stage"]:
        for check in stage.get("check", []):
            name, cells = f"{stage['key']}/{check['key']}", list_cells(check)
            fields |= {f"row-{n}-was": name, f"row-{n}-version": row_version(cells)}
            fields |= {f"row-{n}-{key}": cell for key, cell in (cells | changes.get(n, {})).items()}
            n += 1
    return fields


@pytest.mark.lengthy
def test_the_grid_of_checks_changes_only_what_was_typed(designer, wired):
    add_all(designer, wired)
    before = as_tables(wired)
    assert designer.post(url(wired, "checks-grid"), checks_post(wired, {})).status_code == 302
    assert as_tables(wired) == before
    designer.post(url(wired, "checks-grid"), checks_post(wired, {0: {"title": "Reservoir to chassis"}}))
    assert wired.stages.first().checks.first().title == "Reservoir to chassis"


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("column", "cell"), [("red", "V1.77"), ("expected", "4x7"), ("stop_above", "ten"), ("red", "mains.live")]
)
def test_a_wrong_cell_of_a_check_is_refused_at_its_place(designer, wired, column, cell):
    add_all(designer, wired)
    before = as_tables(wired)
    answer = designer.post(url(wired, "checks-grid"), checks_post(wired, {0: {column: cell}}))
    assert answer.status_code == 422 and as_tables(wired) == before
    assert [*answer.context["state"].errors.values()][0]


@pytest.mark.lengthy
def test_two_tabs_on_one_check_show_both_texts(designer, wired):
    add_all(designer, wired)
    first, second = checks_post(wired, {0: {"title": "One"}}), checks_post(wired, {0: {"title": "Two"}})
    designer.post(url(wired, "checks-grid"), first)
    answer = designer.post(url(wired, "checks-grid"), second)
    assert [(c.saved, c.typed) for c in answer.context["state"].clashes[0]] == [("One", "Two")]
    assert wired.stages.first().checks.first().title == "One"
