"""The pages that read a parts list: nothing is saved unseen, and reading it again merges."""

import io

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from builds.guides.editor.edits import row_version
from builds.guides.editor.parts_grid import COLUMNS, build_row, list_cells
from builds.guides.guide_file.write import as_tables
from builds.guides.parts_import.merge import apply_merge, plan_merge
from tests import factories
from tests.builds.guides.sent_form import sent_fields

pytestmark = pytest.mark.django_db
LIST = "Ref;Value;Bag\nR1–R2;4k7 1%;1\nV1;ECC83;2\nC1;22u 450 V;1"


@pytest.fixture
def draft():
    return factories.make_revision(issued=False, stages=1, steps=0, checks=0)


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.first())
    return client


def url(draft, name):
    return reverse(f"guides:{name}", args=[draft.kit.key, draft.letter])


def read(designer, draft, text, **more):
    return designer.post(url(draft, "parts-import"), {"paste": text, **more})


def save(designer, draft, text, **more):
    """Read a list, then save what the page shows."""
    page = read(designer, draft, text, **more).context
    return designer.post(
        url(draft, "parts-import"), {"rows": page["rows_text"], "plan": page["preview"].key, "save": "1", **more}
    )


def parts(draft):
    return {part["ref"]: part for part in as_tables(draft)["part"]}


def test_reading_a_list_saves_nothing(designer, draft):
    page = read(designer, draft, LIST)
    assert [change.ref for change in page.context["preview"].changes] == ["R1", "R2", "V1", "C1"]
    assert not parts(draft)


def test_a_list_is_saved_as_it_was_shown(designer, draft):
    assert save(designer, draft, LIST).status_code == 302
    assert parts(draft)["R2"] == {"ref": "R2", "kind": "resistor", "value": "4k7", "tolerance": "1%", "bag": "1"}
    assert parts(draft)["V1"]["base"] == "B9A"


def test_a_list_with_an_error_saves_none_of_its_rows(designer, draft):
    answer = save(designer, draft, LIST + "\nC2;100;1")
    assert answer.status_code == 200 and not parts(draft)


def form_of(page) -> dict:
    """What the shown form sends back."""
    return sent_fields(page.content.decode())


@pytest.mark.lengthy
def test_what_a_row_does_not_show_is_chosen_beside_its_error_and_kept_until_saved(designer, draft):
    page = read(designer, draft, "Ref;Value;Note\nR1;4k7;\nXQ1;red;input\nXQ2;black;\nV1;EF99;")
    asked = [line["choice"] for line in page.context["preview"].errors]
    assert asked == ["choose-kind-XQ1", "choose-kind-XQ2", "choose-kind-V1"]
    first = {asked[0]: "connector", asked[1]: "connector", asked[2]: "pentode"}
    page = designer.post(url(draft, "parts-import"), form_of(page) | first)
    assert [line["choice"] for line in page.context["preview"].errors] == ["choose-base-V1"]
    page = designer.post(url(draft, "parts-import"), form_of(page) | {"choose-base-V1": "B9A"})
    assert page.context["preview"].may_save and not parts(draft)
    assert designer.post(url(draft, "parts-import"), form_of(page) | {"save": "1"}).status_code == 302
    saved = parts(draft)
    assert [saved[ref]["kind"] for ref in ("R1", "XQ1", "XQ2", "V1")] == [
        "resistor", "connector", "connector", "pentode",
    ]  # fmt: skip
    assert saved["V1"]["base"] == "B9A" and "pins" not in saved["V1"]


@pytest.mark.lengthy
def test_a_value_that_is_missing_is_typed_beside_its_error(designer, draft):
    page = read(designer, draft, "Ref;Value;Note\nR1;4k7;\nP1;;Volume\nP2;;Tone")
    assert [line["choice"] for line in page.context["preview"].errors] == ["choose-value-P1", "choose-value-P2"]
    page = designer.post(
        url(draft, "parts-import"), form_of(page) | {"choose-value-P1": "1M log", "choose-value-P2": "much"}
    )
    assert [error.ref for error in page.context["preview"].table.errors] == ["P2"]
    page = designer.post(url(draft, "parts-import"), form_of(page) | {"choose-value-P2": "100k"})
    assert designer.post(url(draft, "parts-import"), form_of(page) | {"save": "1"}).status_code == 302
    assert [parts(draft)[ref]["value"] for ref in ("P1", "P2")] == ["1M", "100k"]


@pytest.mark.parametrize("said", [{"choose-kind-XQ1": "spaceship"}, {"choose-note-XQ1": "x"}, {"choose-kind-": "fuse"}])
def test_a_choice_that_the_page_does_not_offer_is_none(designer, draft, said):
    page = read(designer, draft, "Ref;Value\nR1;4k7\nXQ1;red", **said).context["preview"]
    assert [(error.row, error.field) for error in page.table.errors] == [(3, "kind")]


def test_a_workbook_is_read(designer, draft):
    book = Workbook()
    for row in (("Ref", "Value"), ("R1", "4k7")):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    out.seek(0)
    out.name = "parts.xlsx"
    page = designer.post(url(draft, "parts-import"), {"file": out})
    assert [change.ref for change in page.context["preview"].changes] == ["R1"]


@pytest.mark.lengthy
def test_reading_again_changes_and_adds_and_keeps_the_wiring(designer, draft):
    save(designer, draft, LIST)
    draft.parts.filter(ref="R1").update(detail={"joins": ["a", "b"]})
    page = read(designer, draft, "Ref;Value\nR1;2k2\nR3;1k").context["preview"]
    assert [(c.kind, c.ref) for c in page.changes] == [("changed", "R1"), ("added", "R3")]
    assert page.missing == ("R2", "V1", "C1")
    save(designer, draft, "Ref;Value\nR1;2k2\nR3;1k")
    assert parts(draft)["R1"]["joins"] == ["a", "b"] and parts(draft)["R1"]["value"] == "2k2"
    assert "C1" in parts(draft)


@pytest.mark.lengthy
def test_parts_go_only_where_it_was_asked_and_shown(designer, draft):
    save(designer, draft, LIST)
    save(designer, draft, "Ref;Value\nR1;2k2", remove_gone="1")
    assert [*parts(draft)] == ["R1"]


@pytest.mark.lengthy
def test_what_was_edited_meanwhile_is_shown_before_it_is_overwritten(designer, draft):
    save(designer, draft, LIST)
    page = read(designer, draft, "Ref;Value\nR1;2k2").context
    draft.parts.filter(ref="R1").update(value="9k1")
    answer = designer.post(
        url(draft, "parts-import"), {"rows": page["rows_text"], "plan": page["preview"].key, "save": "1"}
    )
    assert answer.status_code == 200 and parts(draft)["R1"]["value"] == "9k1"
    assert answer.context["preview"].changed[0]["before"] == "9k1"


@pytest.mark.lengthy
def test_a_list_that_would_put_a_probe_on_the_mains_is_not_saved(designer, draft):
    save(designer, draft, "Ref;Value;From;To\nR1;1k;tap;chassis\nR2;1k;other;chassis")
    stage = draft.stages.first()
    stage.checks.create(position=1, key="c", title="C", measure="resistance", red="tap", expected="1k", band="5%")
    answer = save(designer, draft, "Ref;Value;From;To\nR1;1k;tap;mains.live")
    assert answer.context["preview"].problems
    assert parts(draft)["R1"]["joins"] == ["tap", "chassis"]


@pytest.mark.lengthy
def test_an_edit_is_undone_once(designer, draft):
    save(designer, draft, LIST)
    edit = draft.edits.first()
    assert designer.get(url(draft, "undo")).context["differences"]
    designer.post(url(draft, "undo"), {"edit": edit.pk})
    designer.post(url(draft, "undo"), {"edit": edit.pk})
    assert not parts(draft) and not draft.edits.exists()


def grid_post(draft, **changes):
    """The grid as a browser posts it, with other cells: {"R1": {"value": "1k"}}."""
    fields = {}
    for n, (ref, part) in enumerate(parts(draft).items()):
        cells = list_cells(part)
        fields |= {f"row-{n}-was": ref, f"row-{n}-version": row_version(cells)}
        fields |= {f"row-{n}-{name}": cell for name, cell in (cells | changes.get(ref, {})).items()}
    return fields


@pytest.mark.lengthy
def test_a_grid_that_nobody_touched_changes_nothing(designer, draft):
    save(designer, draft, LIST)
    before = as_tables(draft)
    assert designer.post(url(draft, "parts-grid"), grid_post(draft)).status_code == 302
    assert as_tables(draft) == before and draft.edits.count() == 1


@pytest.mark.lengthy
def test_a_cell_of_the_grid_is_saved_as_people_write_it(designer, draft):
    save(designer, draft, LIST)
    designer.post(url(draft, "parts-grid"), grid_post(draft, R1={"power": "2", "value": "1k5"}, V1={"type": "ECC82"}))
    assert (parts(draft)["R1"]["power"], parts(draft)["R1"]["value"]) == ("2 W", "1k5")


@pytest.mark.lengthy
def test_another_valve_type_brings_its_base_and_pins(designer, draft):
    save(designer, draft, LIST)
    designer.post(url(draft, "parts-grid"), grid_post(draft, V1={"type": "6SN7"}))
    assert parts(draft)["V1"]["base"] == "octal" and parts(draft)["V1"]["pins"]["a"]["anode"] == "5"


@pytest.mark.lengthy
def test_a_wrong_cell_keeps_the_whole_grid_from_being_saved(designer, draft):
    save(designer, draft, LIST)
    answer = designer.post(url(draft, "parts-grid"), grid_post(draft, R1={"value": "4x7"}, R2={"value": "1k"}))
    assert answer.status_code == 422 and parts(draft)["R2"]["value"] == "4k7"
    assert [*answer.context["state"].errors.values()][0]["value"]


@pytest.mark.lengthy
def test_a_part_under_another_reference_keeps_its_place_in_the_steps(designer, draft):
    save(designer, draft, LIST)
    draft.stages.first().steps.create(position=1, key="s", text="Fit it.", parts=["R1"])
    designer.post(url(draft, "parts-grid"), grid_post(draft, R1={"ref": "R10"}))
    assert "R10" in parts(draft) and draft.stages.first().steps.first().parts == ["R10"]


@pytest.mark.lengthy
def test_two_tabs_on_one_row_show_both_texts_and_overwrite_nothing(designer, draft):
    save(designer, draft, LIST)
    first = grid_post(draft, R1={"value": "1k"})
    second = grid_post(draft, R1={"value": "2k"}, R2={"note": "Cool"})
    designer.post(url(draft, "parts-grid"), first)
    answer = designer.post(url(draft, "parts-grid"), second)
    assert parts(draft)["R1"]["value"] == "1k"
    assert [(c.saved, c.typed) for c in answer.context["state"].clashes[0]] == [("1k", "2k")]


@pytest.mark.lengthy
def test_two_tabs_on_different_rows_keep_both(designer, draft):
    save(designer, draft, LIST)
    first, second = grid_post(draft, R1={"value": "1k"}), grid_post(draft, R2={"value": "2k"})
    designer.post(url(draft, "parts-grid"), first)
    designer.post(url(draft, "parts-grid"), second)
    assert (parts(draft)["R1"]["value"], parts(draft)["R2"]["value"]) == ("1k", "2k")


@pytest.mark.lengthy
def test_two_tabs_on_one_form_show_both_texts(designer, draft):
    save(designer, draft, LIST)
    part = draft.parts.get(ref="R1")
    address = reverse("guides:edit", args=[draft.kit.key, draft.letter, "part", part.pk])
    version = designer.get(address).context["version"]
    form = {"ref": "R1", "kind": "resistor", "quantity": "1", "value": "1k", "version": version}
    assert designer.post(address, form).status_code == 302
    answer = designer.post(address, form | {"value": "2k"})
    assert answer.status_code == 409 and parts(draft)["R1"]["value"] == "1k"
    assert ("1k", "2k") in [(c.saved, c.typed) for c in answer.context["clashes"]]
    again = designer.post(address, form | {"value": "2k", "version": answer.context["version"]})
    assert again.status_code == 302 and parts(draft)["R1"]["value"] == "2k"


@pytest.mark.lengthy
def test_a_grid_of_a_large_kit_is_saved(designer, draft):
    save(designer, draft, "Ref;Value\nR1–R150;4k7")
    assert designer.post(url(draft, "parts-grid"), grid_post(draft, R150={"value": "1k"})).status_code == 302
    assert parts(draft)["R150"]["value"] == "1k"


PARTS = st.fixed_dictionaries(
    {"ref": st.from_regex(r"R[1-9][0-9]?", fullmatch=True), "kind": st.just("resistor")}
    | {"value": st.sampled_from(["4k7", "100R", "1M", "0,47k"])},
    optional={
        "tolerance": st.sampled_from(["1%", "5%", "-20/+50%"]),
        "power": st.sampled_from(["0.5 W", "2W"]),
        "note": st.text("abc é–", min_size=1, max_size=20).map(lambda s: " ".join(s.split())).filter(bool),
        "joins": st.just(["a", "chassis"]),
    },
)


@pytest.mark.lengthy
@given(PARTS)
def test_a_part_comes_back_from_the_grid_as_it_went_in(part):
    from builds.guides.editor.grid import GridState

    state = GridState()
    assert build_row({name: list_cells(part)[name] for name in COLUMNS}, part, state, 0) == part
    assert state.is_good


@pytest.mark.lengthy
@given(st.lists(PARTS, unique_by=lambda part: part["ref"]), st.lists(PARTS, unique_by=lambda part: part["ref"]))
def test_a_list_that_was_merged_has_nothing_left_to_merge(existing, read_rows):
    merged = apply_merge(existing, plan_merge(existing, read_rows))
    assert plan_merge(merged, read_rows) == []
    assert len({part["ref"] for part in merged}) == len(merged)


def test_deleting_a_draft_needs_a_draft_and_takes_an_unused_kit_along(designer, draft):
    kit = draft.kit
    designer.post(url(draft, "delete-draft"), {"version": designer.get(url(draft, "delete-draft")).context["version"]})
    assert not type(kit).objects.filter(pk=kit.pk).exists()


def test_an_issued_revision_is_not_deleted(client):
    revision = factories.make_revision()
    client.force_login(revision.kit.designers.first())
    assert client.post(url(revision, "delete-draft")).status_code == 403
    assert type(revision).objects.filter(pk=revision.pk).exists()


def test_a_second_sheet_with_parts_is_not_passed_over_in_silence(designer, draft):
    book = Workbook()
    for name, refs in (("Amplifier", "R1 R2 R3"), ("Supply", "R51 C51")):
        sheet = book.create_sheet(name)
        for row in (("Ref", "Value"), *((ref, "4k7" if ref[0] == "R" else "22u 450 V") for ref in refs.split())):
            sheet.append(row)
    book.create_sheet("Notes").append(["Nothing here is a part"])
    out = io.BytesIO()
    book.save(out)
    out.seek(0)
    out.name = "parts.xlsx"
    page = designer.post(url(draft, "parts-import"), {"file": out}).context
    assert [change.ref for change in page["preview"].changes] == ["R1", "R2", "R3"]
    assert [name for name, *_rest in page["others"]] == ["Supply"]
    carried = {"rows": page["rows_text"], "sheet-read": "Amplifier", "columns": "1", "column-0": "note"}
    carried |= {"other-name": "Supply", "other-rows": page["others"][0][1]}
    other = designer.post(url(draft, "parts-import"), carried | {"sheet": "Supply"}).context
    assert [change.ref for change in other["preview"].changes] == ["R51", "C51"]
    assert [name for name, *_rest in other["others"]] == ["Amplifier"]


def test_what_was_left_out_stays_on_the_page_and_can_be_read_instead(designer, draft):
    book = Workbook()
    for row in (("Ref", "Value"), ("R1", "4k7"), ("R2", "1k5")):
        book.active.append(row)
    book.active.row_dimensions[3].hidden = True
    out = io.BytesIO()
    book.save(out)
    out.seek(0)
    out.name = "parts.xlsx"
    page = designer.post(url(draft, "parts-import"), {"file": out})
    again = designer.post(url(draft, "parts-import"), form_of(page))
    for answer in (page, again):
        assert [change.ref for change in answer.context["preview"].changes] == ["R1"]
        assert "1 hidden row was not read: R2." in answer.content.decode()
    whole = designer.post(url(draft, "parts-import"), form_of(again) | {"sheet": "Sheet, including what is hidden"})
    assert [change.ref for change in whole.context["preview"].changes] == ["R1", "R2"]
    assert whole.context["preview"].sheet.remarks == ()
