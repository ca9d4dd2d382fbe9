"""A row under another name is followed by everything that named it; who cannot follow is told at its row."""

import pytest
from django.urls import reverse

from builds.guides.editor.renaming import rename_translations
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.objections import objections_to
from tests import factories
from tests.builds.guides.sent_form import version_at

pytestmark = pytest.mark.django_db

PARTS = [
    {"ref": "R1", "kind": "resistor", "value": "1k", "joins": ["ht.raw", "ht.main"]},
    {"ref": "R2", "kind": "resistor", "value": "100k", "joins": ["ht.main", "chassis"]},
    {"ref": "V1", "kind": "triode", "base": "B9A", "pins": {"anode": "6"}, "joins": {"anode": "ht.main"}},
]
CHECK = {"title": "B+", "measure": "resistance", "red": "ht.main", "expected": "100k", "band": "10%"}
HINT = {"when": "low", "text": "See.", "next": "rail"}
STAGES = [
    {
        "key": "cold",
        "title": "Cold",
        "not_fitted": ["V1"],
        "step": [{"key": "fit", "text": "Fit it.", "parts": ["R1"]}],
        "check": [
            CHECK | {"key": "rail"},
            CHECK
            | {"key": "tag", "title": "Tag", "red": "tp", "hint": [{"when": "low", "text": "See.", "next": "rail"}]},
        ],
    }
]
POINTS = [{"node": "ht.main", "words": "the red tag"}, {"node": "tp", "words": "the test point"}]


@pytest.fixture
def draft():
    revision = factories.make_revision(issued=False, stages=0)
    apply_tables(revision, as_tables(revision) | {"part": PARTS, "point": POINTS, "stage": STAGES})
    return revision


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.get())
    return client


def address(draft, name, *more):
    return reverse(f"guides:{name}", args=[draft.kit.key, draft.letter, *more])


def checks(draft):
    return {check["key"]: check for check in as_tables(draft)["stage"][0]["check"]}


def wire(designer, draft, **ends):
    """Post the wiring table with some ends joined elsewhere: `R1_b="ht.smooth"`."""
    fields = {}
    for name, to in ends.items():
        name = name.replace("_", ".")
        fields |= {f"was-{name}": "ht.main", f"end-{name}": to}
    return designer.post(address(draft, "wiring"), fields, follow=True)


def test_a_point_that_is_renamed_in_the_wiring_takes_its_checks_and_its_words_along(designer, draft):
    draft.translations = {"de": [[["point", "ht.main", "words"], "die rote Fahne", "x"]]}
    draft.save()
    wire(designer, draft, R1_b="ht.smooth", R2_a="ht.smooth", V1_anode="ht.smooth")
    assert checks(draft)["rail"]["red"] == "ht.smooth"
    assert draft.points.get(node="ht.smooth").words == "the red tag"
    draft.refresh_from_db()
    assert draft.translations["de"][0][0] == ["point", "ht.smooth", "words"]


def test_checks_left_at_a_point_that_nothing_joins_are_told_when_the_wiring_is_saved(designer, draft):
    draft.points.all().delete()
    answer = wire(designer, draft, R1_b="elsewhere", R2_a="another", V1_anode="")
    assert checks(draft)["rail"]["red"] == "ht.main"  # nobody knows where it belongs now
    assert [m.level_tag for m in answer.context["messages"]].count("warning") == 1


def test_a_renamed_point_never_takes_a_check_to_the_mains(designer, draft):
    answer = wire(designer, draft, R1_b="mains.line", R2_a="mains.line", V1_anode="mains.line")
    assert answer.status_code == 422 and answer.context["state"].general
    assert draft.parts.get(ref="R1").detail["joins"] == ["ht.raw", "ht.main"]


def test_a_point_of_words_alone_is_followed_by_its_checks(designer, draft):
    point = draft.points.get(node="tp")
    edit = address(draft, "edit", "point", point.pk)
    designer.post(edit, {"node": "tp.1", "words": point.words} | version_at(designer, edit))
    assert checks(draft)["tag"]["red"] == "tp.1"


def test_a_point_of_words_alone_renamed_to_the_mains_takes_no_check_there(designer, draft):
    point = draft.points.get(node="tp")
    edit = address(draft, "edit", "point", point.pk)
    designer.post(edit, {"node": "mains.line", "words": point.words} | version_at(designer, edit))
    assert checks(draft)["tag"]["red"] == "tp"


def test_the_words_of_a_point_of_the_circuit_move_alone(designer, draft):
    point = draft.points.get(node="ht.main")
    edit = address(draft, "edit", "point", point.pk)
    designer.post(edit, {"node": "ht.raw", "words": point.words} | version_at(designer, edit))
    assert draft.points.filter(node="ht.raw").exists() and checks(draft)["rail"]["red"] == "ht.main"


@pytest.mark.lengthy
def test_a_part_renamed_on_its_page_is_renamed_in_steps_and_stages(designer, draft):
    part = draft.parts.get(ref="R1")
    page = designer.get(address(draft, "edit", "part", part.pk))
    form = page.context["form"]
    fields = {name: form[name].value() or "" for name in ("kind", "value", "tolerance", "bag", "quantity", "note")}
    answer = designer.post(
        address(draft, "edit", "part", part.pk), fields | {"ref": "R7", "version": page.context["version"]}
    )
    assert answer.status_code == 302
    assert as_tables(draft)["stage"][0]["step"][0]["parts"] == ["R7"]


@pytest.mark.lengthy
def test_hints_follow_a_check_under_another_short_name(designer, draft):
    check = draft.stages.get().checks.get(key="rail")
    edit = address(draft, "edit-inner", "cold", "check", check.pk)
    form = designer.get(edit).context["form"]
    fields = {name: form[name].value() or "" for name in form.fields if name not in ("hints", "marker", "under")}
    answer = designer.post(edit, fields | {"key": "supply"} | version_at(designer, edit))
    assert answer.status_code == 302, answer.context["form"].errors
    assert checks(draft)["tag"]["hint"][0]["next"] == "supply"


def test_translations_of_a_stage_follow_its_short_name(draft):
    rows = [[["stage", "cold", "title"], "Kalt", "a"], [["stage", "colder", "title"], "Kälter", "b"]]
    draft.translations = {"de": rows}
    draft.save()
    rename_translations(draft, ("stage", "cold"), ("stage", "first"))
    assert [path for path, *_rest in draft.translations["de"]] == [
        ["stage", "first", "title"],
        ["stage", "colder", "title"],
    ]


@pytest.fixture
def stranded(draft):
    """A check at a point that no part joins and no words name."""
    draft.points.filter(node="tp").delete()
    return draft.stages.get().checks.get(key="tag")


def test_a_check_at_a_point_that_is_not_there_is_told_at_its_row(designer, draft, stranded):
    page = designer.get(address(draft, "revision"))
    rows = {c.key: c for stage in page.context["stages"] for c in stage.checks.all()}
    assert rows["tag"].against and not hasattr(rows["rail"], "against")
    (reported,) = [o for o, _words in page.context["serious"] if o.code == "rule"]
    assert reported.row == ("check", stranded.pk)


@pytest.mark.lengthy
def test_a_check_that_lost_its_point_is_marked_in_grid_and_form(designer, draft, stranded):
    lines = designer.get(address(draft, "checks-grid")).context["rows"]
    errors = {(line["was"], cell["name"]) for line in lines for cell in line["cells"] if cell["errors"]}
    assert errors == {("cold/tag", "red")}
    edit = address(draft, "edit-inner", "cold", "check", stranded.pk)
    form = designer.get(edit).context["form"]
    fields = {name: form[name].value() or "" for name in form.fields if name not in ("hints", "marker", "under")}
    assert "red" in designer.post(edit, fields | {"title": "Other"} | version_at(designer, edit)).context["form"].errors


def test_a_check_at_a_pin_that_nothing_joins_is_told_at_its_row(designer, draft):
    """Pin 9 of a B9A base is there to be touched, and here no part is joined to it."""
    draft.stages.get().checks.filter(key="tag").update(red="V1.9")
    reported = [o for o in objections_to(draft) if o.row == ("check", draft.stages.get().checks.get(key="tag").pk)]
    assert [o.code for o in reported] == ["unjoined"]
