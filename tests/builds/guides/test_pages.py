"""The designer's guide pages and editor."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from builds.guides.editor.forms import FORMS
from builds.guides.guide_file.compare import differences
from builds.guides.models import Check, Kit, Part, Revision, Stage, Step
from builds.guides.points_map.places import seen_version
from builds.guides.revisions import clone
from tests import factories
from tests.builds.guides.part_fields import posted
from tests.builds.guides.sent_form import version_at
from tests.builds.guides.test_guide_file import SMALL

pytestmark = pytest.mark.django_db


V2 = {
    "ref": "V2",
    "kind": "pentode",
    "detail": {
        "base": "B9A",
        "pins": {"anode": "7", "cathode": "3", "grid": "2"},
        "joins": {"anode": "ht", "cathode": "v2.cathode", "grid": "v2.grid"},
    },
}
FEED = {"ref": "R90", "kind": "resistor", "value": "1k", "detail": {"joins": ["ht", "v2.cathode"]}}


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def draft(designer):
    return factories.make_revision(designer=designer, issued=False, parts=(V2, FEED))


@pytest.fixture
def page(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def of(name, revision, **more):
    return reverse(f"guides:{name}", kwargs={"kit": revision.kit.key, "letter": revision.letter, **more})


def test_an_empty_list_says_what_to_do(page):
    assert "Import a guide file" in page.get(reverse("guides:kits")).content.decode()


def test_a_new_guide_asks_for_its_mains(page):
    silent = page.post(reverse("guides:new-kit"), {"name": "Porch light"})
    assert silent.status_code == 422 and silent.context["form"].errors["mains"] and not Kit.objects.exists()
    assert 'value="Porch light"' in silent.content.decode()
    unknown = page.post(reverse("guides:new-kit"), {"name": "Porch light", "mains": "300-50"})
    assert unknown.status_code == 422 and not Kit.objects.exists()
    page.post(reverse("guides:new-kit"), {"name": "Porch light", "mains": "120-60"})
    revision = Kit.objects.get(key="porch-light").revisions.get()
    assert (revision.mains_volts, revision.mains_hertz) == (120, 60)


@pytest.mark.lengthy
def test_a_file_that_names_no_mains_says_which_were_taken(page):
    assert "mains" not in SMALL
    file = SimpleUploadedFile("guide.toml", SMALL.encode())
    answer = page.post(reverse("guides:import"), {"guide": file}, follow=True)
    assert "The file does not state the mains supply. Check it: 230 V, 50 Hz." in answer.content.decode()
    said = SMALL.replace("[kit]\n", "[kit]\nmains = { volts = 120, hertz = 60 }\n", 1).replace('"small"', '"other"')
    answer = page.post(
        reverse("guides:import"), {"guide": SimpleUploadedFile("guide.toml", said.encode())}, follow=True
    )
    assert "does not state the mains" not in answer.content.decode() and Kit.objects.filter(key="other").exists()


def test_the_mains_stand_beside_the_button_that_issues(page, draft):
    draft.mains_volts, draft.mains_hertz = 120, 60
    draft.save()
    assert '<strong class="num">120 V, 60 Hz</strong>' in page.get(of("revision", draft)).content.decode()


def test_importing_makes_a_draft(page):
    answer = page.post(reverse("guides:import"), {"guide": SimpleUploadedFile("guide.toml", SMALL.encode())})
    assert answer.status_code == 302
    assert Kit.objects.get(key="small").revisions.get().is_draft


def test_a_bad_guide_is_told_line_by_line(page):
    bad = SMALL.replace('kind = "resistor"', 'kind = "resister"')
    answer = page.post(reverse("guides:import"), {"guide": SimpleUploadedFile("guide.toml", bad.encode())})
    assert answer.status_code == 422
    assert "line 9" in answer.content.decode() and not Kit.objects.filter(key="small").exists()


STAGE = {"key": "new", "title": "New stage", "power": "off", "minutes": "5"}
CHECK = {
    "key": "vk",
    "title": "Cathode",
    "measure": "dc volts",
    "red": "V2.3",
    "black": "chassis",
    "expected": "8.2 V",
    "band": "14%",
    "figure_from": "designer",
    "mains_exponent": "1",
}


def confirmed(page, address):
    """Deleted as its page asks."""
    return page.post(address, {"version": page.get(address).context["version"]})


@pytest.mark.lengthy
def test_rows_are_added_edited_moved_and_deleted(page, draft):
    assert page.post(of("add", draft, kind="stage"), STAGE).status_code == 302
    stage = draft.stages.get(key="new")
    assert stage.position == 3
    page.post(of("move", draft, kind="stage", pk=stage.pk), {"to": "up"})
    assert [s.key for s in draft.stages.all()] == ["stage-1", "new", "stage-2"]
    at = of("edit", draft, kind="stage", pk=stage.pk)
    page.post(at, STAGE | {"title": "Renamed"} | version_at(page, at))
    assert Stage.objects.get(pk=stage.pk).title == "Renamed"
    assert page.post(of("add-inner", draft, stage="new", kind="check"), CHECK).status_code == 302
    check = Check.objects.get(stage=stage)
    assert confirmed(page, of("delete-inner", draft, stage="new", kind="check", pk=check.pk)).status_code == 302
    confirmed(page, of("delete", draft, kind="stage", pk=stage.pk))
    assert not draft.stages.filter(key="new").exists()


def test_a_part_keeps_its_joins_as_the_guide_file_writes_them(page, draft):
    detail = 'joins = ["v2.cathode", "chassis"]\npower = "3W"'
    part = posted(detail, ref="R10", kind="resistor", value="180R", tolerance="5%", quantity="1")
    assert page.post(of("add", draft, kind="part"), part).status_code == 302
    assert Part.objects.get(revision=draft, ref="R10").detail == {"joins": ["v2.cathode", "chassis"], "power": "3W"}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"band": "x"}, "cannot be read"),
        ({"stop_above": "8 V"}, "is inside the band"),
        ({"key": "check-1-1"}, "“check-1-1” already exists"),
        ({"hints": "R10 is open."}, "does not say when"),
        ({"expected": ""}, "needs an expected value"),
    ],
)
def test_bad_figures_keep_the_form(page, draft, change, said):
    answer = page.post(of("add-inner", draft, stage="stage-1", kind="check"), CHECK | change)
    assert answer.status_code == 422
    assert said in answer.content.decode() and "Cathode" in answer.content.decode()


def test_hints_are_written_a_line_each_and_come_back_so(page, draft):
    page.post(
        of("add-inner", draft, stage="stage-1", kind="check"), CHECK | {"hints": "low: C9 leaks.\r\noff: Look at R10."}
    )
    check = Check.objects.get(stage__revision=draft, key=CHECK["key"])
    assert check.hints == [{"when": "low", "text": "C9 leaks."}, {"when": "off", "text": "Look at R10."}]
    text = page.get(of("edit-inner", draft, stage="stage-1", kind="check", pk=check.pk)).content.decode()
    assert "low: C9 leaks.\noff: Look at R10.</textarea>" in text and "[[hint]]" not in text


@pytest.mark.lengthy
def test_the_ways_to_a_band_stand_together_and_every_field_is_on_the_page(page, draft):
    for kind, form in FORMS.items():
        stage = {"stage": "stage-1"} if kind in ("step", "check") else {}
        text = page.get(of("add-inner" if stage else "add", draft, kind=kind, **stage)).content.decode()
        assert [
            name for name in form.base_fields if f'name="{name}"' not in text and f'name="{name}-0-' not in text
        ] == [], kind
        assert "ptional optional" not in text
    text = page.get(of("add-inner", draft, stage="stage-1", kind="check")).content.decode()
    names = ("expected", "band", "low", "high", "at_least", "at_most", "stop_below", "stop_above")
    places = [text.index(f'name="{name}"') for name in names]
    assert places == sorted(places) and text.index("<legend>Band</legend>") < places[1] < text.index(
        "<legend>Stop limits</legend>"
    )


@pytest.mark.lengthy
def test_what_a_current_goes_through_is_never_folded_and_a_blank_group_is(page, draft):
    check = Check.objects.filter(stage__revision=draft).first()
    address = of("edit-inner", draft, stage=check.stage.key, kind="check", pk=check.pk)

    def folds():
        return {str(legend): is_open for legend, _h, _f, is_open in page.get(address).context["form"].sections()}

    section = next(s for s in page.get(address).context["form"].sections() if "through" in {f.name for f, _e in s[2]})
    assert section[3] is None
    assert folds()["Judgement"] is False
    Check.objects.filter(pk=check.pk).update(signal={"into": "in", "level": "100 mV", "frequency": "1 kHz"})
    assert folds()["Judgement"] is True


def test_an_issued_guide_is_not_edited(page, designer):
    issued = factories.make_revision(designer=designer)
    for name, more in (
        ("add", {"kind": "stage"}),
        ("edit-head", {}),
        ("move", {"kind": "stage", "pk": issued.stages.first().pk}),
    ):
        assert page.post(of(name, issued, **more), STAGE).status_code == 403


def test_the_preview_shows_the_builders_page(page, draft):
    text = page.get(of("preview", draft, stage="stage-1")).content.decode()
    assert "Do thing 1." in text and "Band from 270 V to 330 V" in text


def test_exports_come_back_as_files(page, draft):
    assert page.get(of("export", draft, form="toml")).content.decode().startswith("format = 1")
    assert page.get(of("export", draft, form="zip")).content[:2] == b"PK"
    assert page.get(of("export", draft, form="exe")).status_code == 404


@pytest.mark.lengthy
def test_a_deleted_step_is_named_by_its_number_and_closes_the_gap(page, draft):
    stage = draft.stages.first()
    first, second = stage.steps.all()
    address = of("delete-inner", draft, stage=stage.key, kind="step", pk=first.pk)
    asked = page.get(address).content.decode().partition("<main")[2].partition("<form")[0]
    assert f"Delete step 1 of “{stage.title}”?" in asked and "Do thing 1." in asked and first.key not in asked
    confirmed(page, address)
    second.refresh_from_db()
    assert second.position == 1
    check = stage.checks.first()
    asked = page.get(of("delete-inner", draft, stage=stage.key, kind="check", pk=check.pk)).content.decode()
    assert f"Delete the check “{check.title}”?" in asked


def test_two_revisions_are_compared_from_the_older_to_the_newer(page, draft):
    from builds.guides.revisions import clone

    other = clone(draft)
    Check.objects.filter(stage__revision=other, key="check-1-1").update(
        expected="290 V", band="", low="280 V", high="301 V"
    )
    other.stages.first().steps.filter(position=2).update(text="Do **another** thing 2.")
    other.stages.first().steps.filter(position=1).delete()
    for shown, against in ((draft, other), (other, draft)):  # whichever page it is asked from
        text = page.get(of("compare", shown, other=against.letter)).content.decode()
        assert f"from {draft.letter} to {other.letter}" in text
        assert "<del>300 V ± 10 %</del>" in text and "<ins>290 V, 280 to 301 V</ins>" in text
        assert "<ins>another</ins>" in text.replace("<ins> another", "<ins>another") and "**" not in text
        assert "Stage 1, step 1" in text and "<del>Do thing 1.</del>" in text  # removed
        assert "step-1" not in text and "check-1-1" not in text  # no keys
    assert "The two revisions are identical" in page.get(of("compare", draft, other=draft.letter)).content.decode()


def test_the_list_of_kits_takes_the_same_queries_for_more_kits(page, designer, django_assert_num_queries):
    factories.make_revision(designer=designer)
    with django_assert_num_queries(6):
        page.get(reverse("guides:kits"))
    for _ in range(5):
        factories.make_revision(designer=designer)
    with django_assert_num_queries(6):
        page.get(reverse("guides:kits"))


@pytest.mark.lengthy
def test_pictures_are_added_named_and_taken_away(page, draft):
    out = io.BytesIO()
    Image.new("RGB", (40, 30)).save(out, "PNG")
    wrong = page.post(of("add-picture", draft), {"picture": SimpleUploadedFile("a.png", b"no picture")})
    assert wrong.status_code == 422 and not draft.pictures.exists()
    page.post(of("add-picture", draft), {"picture": SimpleUploadedFile("a.png", out.getvalue())})
    assert (draft.pictures.get().width, draft.pictures.get().height) == (40, 30)
    assert (
        page.post(of("add-inner", draft, stage="stage-1", kind="check"), CHECK | {"picture": "b.png"}).status_code
        == 422
    )
    assert (
        page.post(of("add-inner", draft, stage="stage-1", kind="check"), CHECK | {"picture": "a.png"}).status_code
        == 302
    )
    version = seen_version(draft.pictures.get(), draft.points.all())
    page.post(reverse("guides:delete-picture", args=[draft.kit.key, draft.letter, "a.png"]), {"version": version})
    assert not draft.pictures.exists()


def test_the_preview_follows_what_is_typed_and_keeps_nothing(page, draft):
    address = reverse("guides:preview-row", args=[draft.kit.key, draft.letter, "stage-1", "check"])
    text = page.post(address, CHECK).content.decode()
    assert "Band from 7.05 V to 9.35 V." in text and not Check.objects.filter(key="vk").exists()
    assert "cannot be read" in page.post(address, CHECK | {"band": "x"}).content.decode()


@pytest.mark.lengthy
def test_a_stage_is_brought_up_on_a_lamp_or_on_reduced_mains_not_both(page, draft):
    stage = draft.stages.get(key="stage-2")
    expected = {"key": "stage-2", "title": "First power", "power": "on", "cautions": ["lethal-voltage"], "minutes": 20}
    at = of("edit", draft, kind="stage", pk=stage.pk)
    both = page.post(at, {**expected, "supply_lamp": "60 W", "supply_volts": "115"} | version_at(page, at))
    assert both.status_code == 422
    assert "supply_lamp" in both.context["form"].errors
    page.post(at, {**expected, "supply_lamp": "60 W"} | version_at(page, at))
    assert Stage.objects.get(pk=stage.pk).supply == {"lamp": "60 W"}
    assert 'value="60 W"' in page.get(of("edit", draft, kind="stage", pk=stage.pk)).content.decode()
    refused = page.post(at, {**expected, "supply_volts": "half"} | version_at(page, at))
    assert refused.status_code == 422 and "supply_lamp" in refused.context["form"].errors


@pytest.mark.lengthy
def test_a_marker_is_two_fractions_of_the_picture(page, draft):
    check = Check.objects.get(stage__revision=draft, key="check-1-1")
    expected = {
        "key": check.key,
        "title": "Reservoir",
        "measure": "dc volts",
        "red": "ht",
        "black": "chassis",
        "expected": "300 V",
        "band": "10%",
        "figure_from": "designer",
        "mains_exponent": "0",
    }
    at = of("edit-inner", draft, stage="stage-1", kind="check", pk=check.pk)
    assert page.post(at, {**expected, "marker": "40, 20"} | version_at(page, at)).status_code == 422
    page.post(at, {**expected, "marker": "0.4, 0.25"} | version_at(page, at))
    check.refresh_from_db()
    assert check.marker == [0.4, 0.25]


def test_a_picture_the_draft_does_not_have_is_refused(page, draft):
    step = draft.stages.first().steps.first()
    answer = page.post(
        of("edit-inner", draft, stage="stage-1", kind="step", pk=step.pk),
        {"key": step.key, "text": "Fit it.", "photo": "none", "picture": "gone.png"},
    )
    assert answer.status_code == 422
    assert "has no picture gone.png" in answer.content.decode()


def test_a_dragged_row_moves_by_so_many_places(page, draft):
    rows = list(draft.stages.first().checks.all())
    page.post(of("move-inner", draft, stage="stage-1", kind="check", pk=rows[0].pk), {"to": "2"})
    assert [c.pk for c in draft.stages.first().checks.all()] == [rows[1].pk, rows[2].pk, rows[0].pk]
    page.post(of("move-inner", draft, stage="stage-1", kind="check", pk=rows[0].pk), {"to": "-9"})
    assert draft.stages.first().checks.first().pk == rows[0].pk


def keys_in_order(draft):
    return [item.key for item in draft.stages.get(key="stage-1").items]


def test_a_step_moves_past_a_check_and_back(page, draft):
    step = draft.stages.first().steps.get(key="step-1-2")
    before = keys_in_order(draft)
    page.post(of("move-inner", draft, stage="stage-1", kind="step", pk=step.pk), {"to": "down"})
    assert keys_in_order(draft) == ["step-1-1", "check-1-1", "step-1-2", "check-1-2", "check-1-3"]
    page.post(of("move-inner", draft, stage="stage-1", kind="step", pk=step.pk), {"to": "up"})
    assert keys_in_order(draft) == before
    assert not Step.objects.filter(stage__revision=draft, place__isnull=False).exists()


def test_a_new_step_comes_last_even_behind_checks_and_says_whether_hands_go_in(page, draft):
    page.post(
        of("add-inner", draft, stage="stage-1", kind="step"),
        {"key": "close", "text": "Close it.", "photo": "none", "hands_in": "on"},
    )
    assert keys_in_order(draft)[-1] == "close"
    assert draft.stages.first().steps.get(key="close").hands_in
    text = page.get(of("preview", draft, stage="stage-1")).content.decode()
    assert text.index("Check 1.3") < text.index("Close it.")


@pytest.mark.lengthy
def test_deleting_a_check_between_two_steps_closes_the_gap(page, draft):
    stage = draft.stages.first()
    check = stage.checks.get(key="check-1-1")
    page.post(of("move-inner", draft, stage="stage-1", kind="check", pk=check.pk), {"to": "-1"})
    confirmed(page, of("delete-inner", draft, stage="stage-1", kind="check", pk=check.pk))
    assert keys_in_order(draft) == ["step-1-1", "step-1-2", "check-1-2", "check-1-3"]
    assert [step.position for step in stage.steps.all()] == [1, 2]


def test_a_step_and_a_check_of_one_stage_do_not_take_one_key(page, draft):
    answer = page.post(
        of("add-inner", draft, stage="stage-1", kind="step"), {"key": "check-1-1", "text": "Close it.", "photo": "none"}
    )
    assert answer.status_code == 422 and "key" in answer.context["form"].errors


@pytest.mark.lengthy
def test_a_new_row_without_a_short_name_gets_one_from_its_words(page, draft):
    for _twice in range(2):
        answer = page.post(
            of("add-inner", draft, stage="stage-1", kind="step"), {"key": "", "text": "Fit V1 & V2.", "photo": "none"}
        )
        assert answer.status_code == 302
    stage = draft.stages.get(key="stage-1")
    assert [*stage.steps.values_list("key", flat=True)][-2:] == ["fit-v1-v2", "fit-v1-v2-2"]
    assert page.post(of("add-inner", draft, stage="stage-1", kind="check"), CHECK | {"key": ""}).status_code == 302
    assert {*stage.checks.values_list("key", flat=True)}.isdisjoint(stage.steps.values_list("key", flat=True))
    step = stage.steps.last()  # readings are saved under a name: once given, it cannot be emptied
    answer = page.post(of("edit-inner", draft, stage="stage-1", kind="step", pk=step.pk), {"key": "", "text": "Fit."})
    assert answer.status_code == 422


def test_a_step_that_shares_its_key_with_a_check_does_not_move_past_a_check(page, draft):
    step = draft.stages.first().steps.last()
    Step.objects.filter(pk=step.pk).update(key="check-1-1")
    before = keys_in_order(draft)
    answer = page.post(of("move-inner", draft, stage="stage-1", kind="step", pk=step.pk), {"to": "9"}, follow=True)
    assert keys_in_order(draft) == before
    assert "check-1-1" in "".join(str(message) for message in answer.context["messages"])


def test_the_older_and_the_newer_order_of_a_stage_are_compared_by_name(page, draft):
    other = clone(draft)
    step = other.stages.first().steps.get(key="step-1-2")
    page.post(of("move-inner", other, stage="stage-1", kind="step", pk=step.pk), {"to": "down"})
    changed = differences(draft, other)
    assert [(d.key, d.after) for d in changed] == [
        ("order", ["step 1", "Check 1.1", "step 2", "Check 1.2", "Check 1.3"]),
    ]


def test_who_comes_second_to_the_name_and_mains_overwrites_nothing(page, draft, monkeypatch):
    """The draft is compared as it is once nobody else can edit it, not as it was when the post arrived."""
    from builds.guides.views import editor

    version = page.get(of("edit-head", draft)).context["version"]
    began, fields = editor.one_edit, {"mains_volts": "230", "mains_hertz": "50", "version": version}

    def after_another(revision, *args):
        Revision.objects.filter(pk=revision.pk).update(name="Theirs")
        return began(revision, *args)

    monkeypatch.setattr(editor, "one_edit", after_another)
    answer = page.post(of("edit-head", draft), fields | {"name": "Mine"})
    assert answer.status_code == 409 and [clash.saved for clash in answer.context["clashes"]][:1] == ["Theirs"]
    assert Revision.objects.get(pk=draft.pk).name == "Theirs"
