"""Two designers at one draft: what deletes, places, takes or replaces on a stale page does nothing and shows both."""

import pytest
from django.contrib.messages import get_messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from builds.guides.circuit.stored import compute_figures
from builds.guides.guide_file import read_guide, store_guide, write_guide
from builds.guides.models import Check, Part, Revision
from builds.guides.pictures.editing import picture_version
from builds.guides.points_map.places import list_places, seen_version
from tests import factories
from tests.builds.guides.test_every_undo import GUIDE, Hand, png, zipped

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft():
    raw = zipped(guide__toml=GUIDE, **{f"{name}__png": png() for name in "abc"})
    made = store_guide(read_guide(raw), factories.make_designer())
    made.kit.designers.add(factories.make_designer())
    return made


@pytest.fixture
def hands(draft):
    """The first designer, whose pages grow stale, and the second."""
    made = []
    for person in draft.kit.designers.order_by("pk"):
        client = Client()
        client.force_login(person)
        made.append(Hand(client, draft))
    return made


STALE = [("part", "R9", "value", "2k2"), ("step", "fit", "text", "Fit R1 well."), ("check", "rail", "note", "Wait.")]


@pytest.mark.lengthy
@pytest.mark.parametrize(("kind", "name", "field", "text"), STALE)
def test_a_row_edited_since_its_delete_page_was_opened_stays_and_both_texts_are_shown(
    draft, hands, kind, name, field, text
):
    first, second = hands
    inner, *place = first.row(kind, name)
    where = first.address(f"delete{inner}", *place)
    version = first.client.get(where).context["version"]
    assert second.edit(kind, name, **{field: text}).status_code == 302
    answer = first.client.post(where, {"version": version})
    assert answer.status_code == 409
    reported = {d.key: (d.before, d.after) for d in answer.context["differences"]}
    assert reported[field][1] == text and reported[field][0] != text
    assert first.row(kind, name) == (inner, *place)
    again = first.client.post(where, {"version": answer.context["version"]})  # looked at: now it goes
    assert again.status_code == 302 and draft.edits.first().what == "delete"


@pytest.mark.lengthy
def test_a_stage_whose_step_was_edited_since_is_not_deleted(draft, hands):
    first, second = hands
    where = first.address("delete", *first.row("stage", "cold")[1:])
    version = first.client.get(where).context["version"]
    second.edit("step", "fit", text="Fit R1 well.")
    answer = first.client.post(where, {"version": version})
    assert answer.status_code == 409 and draft.stages.filter(key="cold").exists()
    assert [d.after for d in answer.context["differences"]] == ["Fit R1 well."]


@pytest.mark.lengthy
def test_a_row_renamed_since_is_found_by_what_was_seen_of_it(draft, hands):
    first, second = hands
    where = first.address("delete", *first.row("part", "R9")[1:])
    version = first.client.get(where).context["version"]
    second.edit("part", "R9", ref="R10")
    answer = first.client.post(where, {"version": version})
    assert answer.status_code == 409 and draft.parts.filter(ref="R10").exists()
    assert {d.row or d.before for d in answer.context["differences"]}


@pytest.mark.parametrize("version", [None, "", "0" * 16])
def test_a_delete_that_does_not_say_what_it_saw_is_asked_again(draft, hands, version):
    where = hands[0].address("delete", *hands[0].row("part", "R9")[1:])
    fields = {} if version is None else {"version": version}
    assert hands[0].client.post(where, fields).status_code == 409
    assert draft.parts.filter(ref="R9").exists() and not draft.edits.exists()


@pytest.mark.lengthy
def test_an_edit_elsewhere_in_the_draft_is_no_reason_to_ask_again(draft, hands):
    first, second = hands
    where = first.address("delete", *first.row("part", "R9")[1:])
    version = first.client.get(where).context["version"]
    second.edit("part", "R1", value="2k2")
    assert first.client.post(where, {"version": version}).status_code == 302


@pytest.mark.lengthy
def test_a_point_placed_by_another_since_stays_and_both_places_are_shown(draft, hands):
    first, second = hands
    seen = {name: first.client.get(first.address("place-points", "b.png")).context[name] for name in ("frame", "seen")}
    assert second.place("b.png", point="tp", across="80", down="90").status_code == 302
    answer = first.post("place-points", "b.png", point="tp", across="10", down="20", **seen)
    assert answer.status_code == 409
    assert list_places(draft.points.get(node="tp"))["b.png"] == (0.8, 0.9)
    [clash] = answer.context["clashes"]
    assert "80" in clash.saved and "90" in clash.saved and "10" in clash.typed and "20" in clash.typed
    assert answer.context["typed"] == [10, 20]
    now = {name: answer.context[name] for name in ("frame", "seen")}
    assert first.post("place-points", "b.png", point="tp", across="10", down="20", **now).status_code == 302
    assert list_places(draft.points.get(node="tp"))["b.png"] == (0.1, 0.2)


def test_a_point_is_not_placed_on_a_picture_that_was_turned_since(draft, hands):
    first, second = hands
    page = first.client.get(first.address("place-points", "a.png")).context
    version = picture_version(draft.pictures.get(name="a.png"))
    fields = {"left": "0", "top": "0", "right": "100", "bottom": "100", "turn": "1", "version": version, "frame": ""}
    assert second.post("edit-picture", "a.png", **fields).status_code == 302
    before = list_places(draft.points.get(node="tp")) if draft.points.filter(node="tp").exists() else {}
    answer = first.post(
        "place-points", "a.png", point="tp", across="10", down="20", frame=page["frame"], seen=page["seen"]
    )
    assert answer.status_code == 409 and answer.context["is_reframed"]
    point = draft.points.filter(node="tp").first()
    assert (list_places(point) if point else {}) == before


@pytest.mark.lengthy
def test_a_figure_is_not_taken_over_another_designers(draft, hands):
    first, second = hands
    compute_figures(draft, 100)
    check = draft.stages.get(key="cold").checks.get(key="rail")
    page = first.client.get(first.address("edit-inner", "cold", "check", check.pk)).context
    Check.objects.filter(pk=check.pk).update(note="Wait for ten seconds.", expected="1 kΩ")
    answer = first.post("circuit-take", check.pk, **{"as": "numbers", "version": page["take_version"]})
    assert answer.status_code == 409
    check.refresh_from_db()
    assert check.expected == "1 kΩ" and not draft.edits.exists()


@pytest.mark.lengthy
def test_a_figure_of_a_circuit_that_was_edited_since_is_not_taken(draft, hands):
    first, second = hands
    compute_figures(draft, 100)
    check = draft.stages.get(key="cold").checks.get(key="rail")
    page = first.client.get(first.address("edit-inner", "cold", "check", check.pk)).context
    assert second.edit("part", "R2", value="330k").status_code == 302
    compute_figures(Revision.objects.get(pk=draft.pk), 100)
    expected = check.expected
    answer = first.post("circuit-take", check.pk, **{"as": "numbers", "version": page["take_version"]})
    assert answer.status_code == 409 and answer.context["differences"]
    check.refresh_from_db()
    assert check.expected == expected
    taken = first.post("circuit-take", check.pk, **{"as": "numbers", "version": answer.context["version"]})
    check.refresh_from_db()
    assert taken.status_code == 302 and check.expected != expected


@pytest.mark.lengthy
def test_words_are_replaced_only_where_they_were_shown(draft, hands):
    first, second = hands
    text = {"find": "R1", "put": "the first"}
    version = first.client.get(first.address("replace"), text).context["version"]
    second.edit("step", "fit", text="Fit R1 and R1 again.")
    before = write_guide(draft)
    answer = first.post("replace", version=version, **text)
    assert answer.status_code == 409 and write_guide(Revision.objects.get(pk=draft.pk)) == before
    assert any("Fit R1 and R1 again." in d.before_text for d in answer.context["differences"])
    assert first.post("replace", version=answer.context["version"], **text).status_code == 302


def colour_of(draft, name):
    with Image.open(draft.pictures.get(name=name).image) as image:
        return image.convert("RGB").getpixel((1, 1))


def file(name, colour):
    return SimpleUploadedFile(name, png(colour))


RED, BLUE = (255, 0, 0), (0, 0, 255)


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["a.png", "new.png"])
def test_a_picture_put_in_by_another_since_is_not_replaced_and_both_are_kept(draft, hands, name):
    first, second = hands
    newest = first.client.get(first.address("add-picture")).context["newest"]
    assert second.upload(file(name, "red")).status_code == 302
    answer = first.upload(file(name, "blue"), newest=newest)
    assert [m.level_tag for m in get_messages(answer.wsgi_request)] == ["warning"]
    beside = name.replace(".", "-2.")
    assert colour_of(draft, name) == RED and colour_of(draft, beside) == BLUE
    again = first.upload(file(name, "blue"))  # looked at: now it is replaced
    assert [m.level_tag for m in get_messages(again.wsgi_request)] == ["success"]
    assert colour_of(draft, name) == BLUE


@pytest.mark.parametrize("newest", ["", "0", "-1", "9" * 40, "x"])
def test_an_upload_that_does_not_say_what_it_saw_replaces_nothing(draft, hands, newest):
    before = colour_of(draft, "a.png")
    hands[0].upload(file("a.png", "blue"), file("a.png", "red"), newest=newest)
    assert colour_of(draft, "a.png") == before
    assert (colour_of(draft, "a-2.png"), colour_of(draft, "a-3.png")) == (BLUE, RED)


def test_a_picture_added_elsewhere_under_another_name_is_no_reason_to_keep_both(draft, hands):
    first, second = hands
    newest = first.client.get(first.address("add-picture")).context["newest"]
    second.upload(file("new.png", "red"))
    first.upload(file("a.png", "blue"), newest=newest)
    assert colour_of(draft, "a.png") == BLUE and not draft.pictures.filter(name="a-2.png").exists()


def test_a_contact_saved_by_another_since_stays_and_both_are_shown(draft, hands):
    first, second = hands
    version = first.client.get(first.address("contact")).context["version"]
    seen = second.client.get(second.address("contact")).context["version"]
    assert second.post("contact", contact="evenings", version=seen).status_code == 302
    answer = first.post("contact", contact="mornings", version=version)
    draft.kit.refresh_from_db()
    assert answer.status_code == 409 and draft.kit.contact == "evenings"
    assert [(clash.saved, clash.typed) for clash in answer.context["clashes"]] == [("evenings", "mornings")]
    assert first.post("contact", contact="mornings", version=answer.context["version"]).status_code == 302
    draft.kit.refresh_from_db()
    assert draft.kit.contact == "mornings"


def test_a_picture_on_which_points_were_placed_since_is_not_deleted(draft, hands):
    first, second = hands
    version = seen_version(draft.pictures.get(name="b.png"), draft.points.all())
    second.place("b.png", point="tp", across="80", down="90")
    answer = first.post("delete-picture", "b.png", version=version)
    assert draft.pictures.filter(name="b.png").exists()
    assert [m.level_tag for m in get_messages(answer.wsgi_request)] == ["warning"]


@pytest.mark.lengthy
def test_a_draft_that_was_edited_since_is_not_deleted_and_the_edits_are_listed(draft, hands):
    first, second = hands
    page = first.client.get(first.address("delete-draft")).context
    second.edit("part", "R9", value="2k2")
    answer = first.post("delete-draft", version=page["version"], edit=page["edit"])
    assert answer.status_code == 409 and [edit.what for edit, _words in answer.context["edits"]] == ["edit"]
    assert Part.objects.filter(revision=draft, ref="R9", value="2k2").exists()
    assert first.post("delete-draft", version=answer.context["version"]).status_code == 302
    assert not Revision.objects.filter(pk=draft.pk).exists()


@pytest.mark.parametrize("said", [{}, {"version": ""}])
@pytest.mark.parametrize(
    ("page", "fields", "kept"),
    [
        ("row", {"ref": "R9", "kind": "resistor", "value": "2k2", "quantity": "1"}, "2k2"),
        ("edit-head", {"name": "Other", "mains_volts": "230", "mains_hertz": "50"}, "Other"),
        ("contact", {"contact": "evenings"}, "evenings"),
    ],
)
def test_a_form_that_does_not_say_what_it_began_from_saves_nothing_and_is_kept(draft, hands, page, fields, kept, said):
    hand = hands[0]
    place = hand.row("part", "R9")[1:] if page == "row" else ()
    at = hand.address("edit" if page == "row" else page, *place)
    answer = hand.client.post(at, fields | said)
    assert answer.status_code == 422 and answer.context["form"].non_field_errors()
    assert kept in [answer.context["form"][name].value() for name in answer.context["form"].fields]
    draft.refresh_from_db()
    assert draft.parts.get(ref="R9").value != "2k2" and draft.name != "Other" and draft.kit.contact != "evenings"
    assert hand.client.post(at, fields | {"version": answer.context["version"]}).status_code == 302


@pytest.mark.lengthy
@pytest.mark.parametrize("version", ["", "0" * 16, "stale"])
def test_a_block_is_not_placed_over_a_parts_list_edited_since(draft, hands, version):
    first, second = hands
    at = first.address("block", "regulator")
    fields = {"ref-u": "U1", "value-u": "12 V", "ask-in": "ht.raw", "ask-out": "lv"}
    if version == "stale":
        version = first.client.get(at).context["version"]
        assert second.edit("part", "R9", value="2k2").status_code == 302
    answer = first.client.post(at, fields | {"version": version})
    assert answer.status_code == 422 and answer.context["general"]
    assert not draft.parts.filter(ref="U1").exists()
    assert next(line.value for line in answer.context["roles"] if line.name == "u") == "12 V"
    assert first.client.post(at, fields | {"version": answer.context["version"]}).status_code == 302
    assert draft.parts.filter(ref="U1").exists()
