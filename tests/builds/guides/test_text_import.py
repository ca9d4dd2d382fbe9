"""A guide's text from documents: headings are stages, numbered items steps, tables checks, and pictures come along."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from builds.guides.guide_file import write_guide, write_zip
from builds.guides.guide_file.apply import apply_tables
from builds.guides.guide_file.write import as_tables
from builds.guides.parts_import.errors import UnreadableFile
from builds.guides.text_import.documents import read_document, read_text
from builds.guides.text_import.markup import list_pieces
from builds.guides.text_import.stages import make_plan
from builds.guides.text_import.tables import is_of_readings, list_checks
from builds.ui.rich_text import to_text
from tests import factories
from tests.builds.guides import documents

WAYS = {
    "docx": lambda: read_document(documents.as_docx()),
    "odt": lambda: read_document(documents.as_odt()),
    "Markdown": lambda: read_text(documents.as_markdown()),
    "plain text": lambda: read_text(documents.as_plain()),
}
PARTS = [{"ref": ref, "kind": "diode"} for ref in ("D1", "D2", "C1", "C2", "C3", "R1", "R2", "R3")]
PARTS += [{"ref": "V1", "kind": "twin triode", "base": "B9A", "pins": {"a": {"anode": "6"}}}]


@pytest.mark.lengthy
@pytest.mark.parametrize("way", WAYS)
def test_headings_are_stages_and_numbered_items_steps(way):
    plan = make_plan(WAYS[way](), PARTS, {"V1.6", "V1.8"})
    assert [stage.title for stage in plan.stages] == [title for title, *_rest in documents.STAGES]
    assert [to_text(step["text"]) for step in plan.stages[1].steps] == list(documents.STAGES[1][1])
    assert [stage.power for stage in plan.stages] == ["off", "off", "on", "on"]
    assert plan.stages[2].is_bare and plan.stages[1].gate


@pytest.mark.lengthy
@pytest.mark.parametrize("way", ["docx", "Markdown"])
def test_tables_of_readings_are_checks(way):
    plan = make_plan(WAYS[way](), PARTS, {"V1.6", "V1.8"})
    rows = [result.row for result in plan.stages[2].checks]
    assert rows[1] == {"title": "V1 pin 6", "measure": "dc volts", "red": "V1.6", "expected": "310 V"} | {
        "band": "10%",
        "stop_above": "450 V",
    }
    assert rows[0]["measure"] == "ac volts"
    assert plan.stages[3].checks[0].row["low"] == "3 V" and plan.stages[3].checks[0].row["high"] == "7 V"


@pytest.mark.lengthy
def test_a_picture_goes_to_the_step_before_it():
    outline = read_document(documents.as_docx())
    plan = make_plan(outline, PARTS, set())
    assert plan.stages[1].steps[1]["picture"] in outline.pictures


@pytest.mark.parametrize(
    ("cells", "keys"),
    [
        (("V1 pin 6", "285 V"), {"expected": "285 V", "red": "V1.6", "measure": "dc volts"}),
        (("pin 6 of V1", "280–300 V"), {"low": "280 V", "high": "300 V", "red": "V1.6"}),
        (("V1.6", "4k7"), {"expected": "4k7", "measure": "resistance"}),
        (("the + tag of C1", "> 100 k"), {"at_least": "100 k", "red": "=the + tag of C1", "measure": "resistance"}),
        (("earth", "< 0.5 ohm continuity"), {"red": "=earth", "measure": "continuity"}),
    ],
)
def test_a_row_of_readings_says_what_it_says(cells, keys):
    is_on = "V" in cells[1]
    checks = list_checks((("Point", "Expected"), cells), {"V1.6"}, is_on)[0]
    assert {key: checks.row.get(key) for key in keys} == keys


@pytest.mark.parametrize(
    ("point", "probes"),
    [
        ("V1 pin 4 – V1 pin 9", {"red": "V1.4", "black": "V1.9"}),
        ("V2 pin 1 to V2 pin 2", {"red": "=V2 pin 1", "black": "=V2 pin 2"}),  # not in the parts list yet
        ("C1 + to chassis", {"red": "=C1 +"}),
        ("V1 pin 4 – cathode", {"red": "V1.4"}),
        ("V1 pin 4 – R9", {"red": "V1.4"}),  # where they meet, for all one knows
    ],
)
def test_a_row_that_names_two_pins_is_not_measured_to_the_chassis(point, probes):
    rows = (("Point", "Resistance"), (point, "2.5 Ω"))
    (checks,) = list_checks(rows, {"V1.4", "V1.9"}, is_on=False)
    assert {key: checks.row.get(key) for key in ("red", "black")} == {"black": None} | probes


def test_a_table_with_a_title_in_merged_cells_is_one_of_readings():
    rows = (("Readings, mains on",), ("Point", "Volts DC", "Switch off above"), ("C1 +", "310 V (280–340)", "400"))
    (checks,) = list_checks(rows, set(), is_on=True)
    assert is_of_readings(rows) and not checks.doubt
    kept = {key: checks.row[key] for key in ("expected", "low", "high", "stop_above")}
    assert kept == {"expected": "310 V", "low": "280 V", "high": "340 V", "stop_above": "400 V"}
    assert not is_of_readings((("Tools",), ("Iron", "60 W")))


def test_numbers_that_were_typed_by_hand_make_steps():
    plan = make_plan(
        read_text("# Board\n\nStart here.\n\n1\\. Fit R1.\n\n2) Fit R2.\n\n1.5 mm wire is enough.\n"), [], set()
    )
    assert [step["text"].split("\n")[0] for step in plan.stages[0].steps] == ["Fit R1.", "Fit R2."]
    assert plan.stages[0].intro == "Start here."


def test_a_figure_that_cannot_be_read_is_told_and_left_out():
    checks = list_checks((("Point", "Expected"), ("V1.6", "about right")), {"V1.6"}, True)[0]
    assert checks.doubt and "expected" not in checks.row


def test_a_table_of_something_else_is_no_check():
    assert not is_of_readings((("Colour", "Meaning"), ("red", "two")))


NONE = {
    "a broken zip": lambda: b"PK\x03\x04broken",
    "binary": lambda: b"\0\0\0",
    "a cut document": lambda: documents.as_docx()[:500],
    "nothing": lambda: b"",
    "blank": lambda: b"   \n",
}


@pytest.mark.parametrize("what", NONE)
def test_an_unusable_document_is_refused(what):
    with pytest.raises(UnreadableFile):
        read_document(NONE[what]())


def test_markup_in_a_document_stays_text():
    outline = read_text("# A\n\n1. <script>alert(1)</script> & <b>x</b>\n\n# B\n")
    assert "<script>" in to_text(outline.pieces[1].text)


@given(st.text("abc <>&*_`[]", max_size=40))
def test_the_words_of_a_paragraph_come_through(text):
    from html import escape

    result = list_pieces(f"<p>{escape(text)}</p>")
    assert "".join(to_text(piece.text) for piece in result).split() == text.split()


@pytest.fixture
def draft(db):
    revision = factories.make_revision(issued=False, stages=0, steps=0, checks=0)
    apply_tables(revision, as_tables(revision) | {"part": PARTS[:-1]})
    return revision


@pytest.fixture
def designer(client, draft):
    client.force_login(draft.kit.designers.first())
    return client


def url(draft, name):
    return reverse(f"guides:{name}", args=[draft.kit.key, draft.letter])


def save(designer, draft, page, **more):
    """Send the preview's form as it stands, with corrections."""
    context, fields = page.context, {"corrected": "1", "save": "1", "draft": page.context["preview"].key}
    fields |= {"token": context.get("token", ""), "paste": context.get("paste", "")}
    for line in context["preview"].stages:
        start, stage = f"stage-{line['number']}", line["stage"]
        fields |= {f"{start}-keep": "1", f"{start}-title": stage.title}
        fields |= {f"{start}-power": "on"} if stage.power == "on" else {}
        fields |= {f"{start}-gate": "1"} if stage.gate else {}
        fields |= {f"{start}-step-{k}": step["text"] for k, _label, step, _readings in line["steps"]}
        for check in line["checks"]:
            fields |= {f"{start}-check-{check['number']}-{name}": cell for name, cell in check["cells"]}
    return designer.post(url(draft, "text-import"), fields | more)


def upload(designer, draft, raw=None, name="guide.docx"):
    return designer.post(url(draft, "text-import"), {"file": SimpleUploadedFile(name, raw or documents.as_docx())})


@pytest.mark.lengthy
def test_reading_a_document_saves_nothing(designer, draft):
    assert upload(designer, draft).context["preview"].steps == 8
    assert not draft.stages.exists() and not draft.pictures.exists()


@pytest.mark.lengthy
def test_what_was_shown_and_corrected_is_saved(designer, draft):
    page = upload(designer, draft)
    answer = save(designer, draft, page, **{"stage-0-title": "Count the parts", "stage-0-step-0": "Count."})
    assert answer.status_code == 302
    assert [stage.title for stage in draft.stages.all()][0] == "Count the parts"
    assert draft.stages.first().steps.first().text == "Count."
    assert draft.pictures.count() == 1
    step = draft.stages.all()[1].steps.all()[1]
    assert step.picture == draft.pictures.get().name and step.parts == ["R1", "R2", "R3"]
    assert draft.stages.get(title="Power with valves").cautions


@pytest.mark.lengthy
def test_reading_the_same_document_again_changes_nothing(designer, draft):
    save(designer, draft, upload(designer, draft))
    before = as_tables(draft)
    page = upload(designer, draft)
    assert page.context["preview"].differences == []
    save(designer, draft, page)
    assert as_tables(draft) == before and draft.pictures.count() == 1


@pytest.mark.lengthy
def test_a_later_document_keeps_the_checks_that_the_draft_has(designer, draft):
    save(designer, draft, upload(designer, draft))
    draft.stages.first().checks.create(position=1, key="own", title="Own", measure="resistance", red="=here")
    longer = [("Unpack", ("Open the bags.", "Sing."), ()), *documents.STAGES[1:]]
    save(designer, draft, upload(designer, draft, documents.as_docx(longer)))
    stage = draft.stages.get(key="unpack")
    assert [step.text for step in stage.steps.all()] == ["Open the bags.", "Sing."]
    assert [check.key for check in stage.checks.all()] == ["own"]


@pytest.mark.lengthy
def test_a_draft_that_was_edited_meanwhile_is_shown_again_before_it_is_changed(designer, draft):
    page = upload(designer, draft)
    draft.stages.create(position=1, key="other", title="Other")
    answer = save(designer, draft, page)
    assert answer.status_code == 422 and draft.stages.count() == 1


@pytest.mark.lengthy
def test_a_table_cannot_bring_a_probe_to_the_mains(designer, draft):
    stages = [("Look", ("See.",), (("Mains live terminal", "230 V AC", "260 V"),)), *documents.STAGES[2:]]
    page = upload(designer, draft, documents.as_docx(stages))
    assert page.context["preview"].problems
    assert save(designer, draft, page).status_code == 422 and not draft.stages.exists()


def test_a_made_up_token_opens_nothing(designer, draft):
    for token in ("../../secret", "0" * 32):
        answer = designer.post(url(draft, "text-import"), {"token": token, "corrected": "1", "save": "1"})
        assert answer.status_code == 422


@pytest.fixture
def guide(designer, draft):
    save(designer, draft, upload(designer, draft))
    return draft


@pytest.mark.lengthy
@pytest.mark.parametrize("form", ["toml", "zip"])
def test_an_exported_file_imports_again_under_its_own_name(designer, guide, form):
    raw = write_guide(guide).encode() if form == "toml" else write_zip(guide)
    before = as_tables(guide)
    page = designer.post(reverse("guides:import"), {"guide": SimpleUploadedFile(f"guide.{form}", raw)})
    assert page.context["differences"] == []
    designer.post(url(guide, "import-over"), {k: page.context[k] for k in ("token", "version")})
    assert as_tables(guide) == before and guide.pictures.count() == 1


@pytest.mark.lengthy
def test_a_file_over_a_draft_shows_what_it_changes_before_it_does(designer, guide):
    raw = write_guide(guide).replace("Count", "Count").replace("Switch on.", "Switch it on.").encode()
    page = designer.post(reverse("guides:import"), {"guide": SimpleUploadedFile("guide.toml", raw)})
    assert len(page.context["differences"]) == 1
    assert "Switch on." in write_guide(guide)
    designer.post(url(guide, "import-over"), {k: page.context[k] for k in ("token", "version")})
    assert "Switch it on." in write_guide(guide)


@pytest.mark.lengthy
def test_a_file_is_not_put_over_a_draft_edited_since(designer, guide):
    raw = write_guide(guide).replace("Switch on.", "Switch it on.").encode()
    page = designer.post(reverse("guides:import"), {"guide": SimpleUploadedFile("guide.toml", raw)})
    guide.stages.filter(key="unpack").update(title="Unpack all")
    answer = designer.post(url(guide, "import-over"), {k: page.context[k] for k in ("token", "version")})
    assert "differences" in answer.context and "Switch on." in write_guide(guide)
