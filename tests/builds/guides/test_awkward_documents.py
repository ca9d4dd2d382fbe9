"""Documents as word processors really write them: nothing falls over, nothing is lost without a word."""

import io
import re

import docx
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls
from hypothesis import example, given
from hypothesis import strategies as st
from odf import draw, style, table, text
from odf.opendocument import OpenDocumentText

from builds.guides.short_names import make_key
from builds.guides.text_import.documents import read_document, read_text
from builds.guides.text_import.markup import list_pieces
from builds.guides.text_import.stages import list_rows, make_plan
from builds.guides.text_import.table_grid import Cell, rows_of_cells
from builds.guides.text_import.tables import is_of_readings, list_checks
from tests import factories
from tests.builds.guides.documents import picture
from tests.builds.guides.sent_form import sent_fields

PLACES = {"V1.6", "V1.7", "V1.8", "ht.1"}


def saved(document) -> bytes:
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def stages_of(outline):
    return make_plan(outline, [{"ref": "R1", "kind": "resistor"}], PLACES).stages


def all_words(plan_stages) -> str:
    return " ".join(
        " ".join([s.title, s.intro, *(step["text"] for step in s.steps), *(str(c.row) for c in s.checks)])
        for s in plan_stages
    )


def awkward_docx() -> bytes:
    document = docx.Document()
    document.add_heading("The box", 0)
    document.add_paragraph("Before anything: the volts inside kill.")
    document.add_heading("", 1)
    document.add_heading("Supply", 1)
    document.add_paragraph("Fit “R1” – 10", style="List Number").add_run("3").font.superscript = True
    document.add_paragraph("its body up", style="List Bullet 2")
    document.add_picture(picture())
    struck = document.add_paragraph("Fit R2.", style="List Number")
    struck.add_run(" Fit R3.").font.strike = True
    document.add_paragraph("Line one", style="List Number").add_run().add_break()
    document.paragraphs[-1].add_run("line\u200f two")
    document.add_heading("Heaters", 2)
    document.add_paragraph("Twist the wires.")
    document.add_heading("Rails", 2)
    document.add_paragraph("Point\tExpected\tStop")
    document.add_paragraph("V1 pin 6\t310 V\t450 V")
    document.add_paragraph("V1 pin 7\t320 V\t450 V")
    document.add_heading("Switch on", 1)
    merged = document.add_table(rows=4, cols=4)
    for n, row in enumerate((("Valve", "Pin", "Volts DC", "Colour"), ("V1", "6", "310", "red"), ("", "8", "4.2", ""))):
        for cell, phrase in zip(merged.rows[n].cells, row, strict=True):
            cell.text = phrase
    merged.cell(1, 0).merge(merged.cell(2, 0))
    merged.cell(3, 0).merge(merged.cell(3, 3)).text = "With the signal on"
    box = document.add_table(rows=1, cols=1)
    box.cell(0, 0).text = "Never work alone."
    inner = box.cell(0, 0).add_table(rows=1, cols=2)
    inner.cell(0, 0).text, inner.cell(0, 1).text = "fuse", "500 mA"
    _tracked(document.add_paragraph("Keep ", style="List Number"))
    return saved(document)


def _tracked(paragraph) -> None:
    """An insertion and a deletion under tracked changes (ECMA-376: w:ins, w:del)."""
    made = 'w:author="A" w:date="2026-01-01T00:00:00Z"'
    for n, (tag, inner, phrase) in enumerate((("ins", "t", "this word"), ("del", "delText", "not that"))):
        xml = f'<w:{tag} {nsdecls("w")} w:id="{n}" {made}><w:r><w:{inner}>{phrase}</w:{inner}></w:r></w:{tag}>'
        paragraph._p.append(parse_xml(xml))


@pytest.mark.lengthy
def test_a_docx_with_all_its_ways_loses_nothing():
    outline = read_document(awkward_docx())
    plan = make_plan(outline, [], PLACES)
    said = all_words(plan.stages)
    assert plan.title == "The box"
    assert [stage.title for stage in plan.stages] == ["Supply", "Switch on"]  # the empty heading is none
    for phrase in ("the volts inside kill", "its body up", "Fit R2", "Twist the wires", "Never work alone", "500 mA"):
        assert phrase in said
    assert "10³" in said and "~~Fit R3.~~" in said  # neither 103, nor a step that its author struck out
    assert "line two" in said  # a mark of direction is no part of a word
    assert "this word" in said and "not that" not in said and outline.notes == ["tracked"]
    first = plan.stages[0]
    assert first.intro.startswith("Before anything") and len(first.steps) == 3
    assert first.steps[0]["picture"] in outline.pictures
    assert "**Heaters**" in said and "**Rails**" in said  # headings that no step follows


@pytest.mark.lengthy
def test_tabs_make_a_table_and_merged_cells_are_read_at_every_row_they_cover():
    first, second = make_plan(read_document(awkward_docx()), [], PLACES).stages
    assert [c.row["red"] for c in first.checks] == ["V1.6", "V1.7"]
    assert [c.row.get("stop_above") for c in first.checks] == ["450 V", "450 V"]
    rows = [(c.row["red"], c.row["expected"], c.row.get("note")) for c in second.checks]
    assert rows == [("V1.6", "310 V", "Colour: red"), ("V1.8", "4.2 V", None)]


@pytest.mark.parametrize("mark", ["1.", "2)", "(3)", "-", "•", "a)"])
def test_an_item_that_was_typed_with_a_tab_is_no_table(mark):
    outline = read_text(f"# A\n\n{mark}\tFit R1.\n{mark}\tFit R2.\n\n# B\n\nx")
    assert not [piece for piece in outline.pieces if piece.kind == "table"]
    result = list_pieces(f"<p>{mark}\tFit R1.</p><p>{mark}\tFit R2.</p>")
    assert [piece.kind for piece in result] == ["text", "text"]


FOOTNOTES = (
    '<h1>A</h1><ol><li>Fit R1<sup><a href="#footnote-1" id="footnote-ref-1">[1]</a></sup>.</li></ol>'
    '<h1>B</h1><ol><li>See <a href="https://maker.example/r1">its sheet</a>.</li></ol>'
    '<ol><li id="footnote-1"><p>Of 2 W <a href="#footnote-ref-1">↑</a></p></li></ol>'
)


def test_footnotes_are_read_where_they_are_referred_to_and_are_no_steps():
    texts = [piece.text for piece in list_pieces(FOOTNOTES) if piece.kind == "item"]
    assert texts == ["Fit R1 (Of 2 W).", "See [its sheet](https://maker.example/r1)."]


def awkward_odt() -> bytes:
    document = OpenDocumentText()
    numbers = text.ListStyle(name="Numbers")
    numbers.addElement(text.ListLevelStyleNumber(level="1", numformat="1"))
    raised = style.Style(name="T1", family="text")
    raised.addElement(style.TextProperties(textposition="super 58%"))
    for one in (numbers, raised):
        document.automaticstyles.addElement(one)
    body = document.text
    changes = text.TrackedChanges()
    region = text.ChangedRegion(check_grammar=False)
    gone = text.Deletion()
    gone.addElement(text.P(text="Deleted words"))
    region.addElement(gone)
    changes.addElement(region)
    body.addElement(changes)
    body.addElement(text.P(stylename="Title", text="The box"))
    for title in ("Supply", "Switch on"):  # a numbered heading is written inside a list
        item = text.ListItem()
        item.addElement(text.H(outlinelevel=1, text=title))
        heading = text.List(stylename="Numbers")
        heading.addElement(item)
        body.addElement(heading)
        steps = text.List(stylename="Numbers")
        for phrase in ("Fit R1", "Look"):
            step, line = text.ListItem(), text.P(text=phrase)
            line.addElement(text.Span(stylename="T1", text="3"))
            note = text.Note(noteclass="footnote")
            note.addElement(text.NoteCitation(text="1"))
            inside = text.NoteBody()
            inside.addElement(text.P(text="a footnote"))
            note.addElement(inside)
            line.addElement(note)
            step.addElement(line)
            steps.addElement(step)
        body.addElement(steps)
    body.addElement(_readings())
    boxed, frame, box = text.P(), draw.Frame(), draw.TextBox()
    box.addElement(text.P(text="In a frame"))
    frame.addElement(box)
    boxed.addElement(frame)
    body.addElement(boxed)
    return saved(document)


def _readings():
    """A head row of its own, a merged first column and a repeated cell (ISO/IEC 26300: covered-table-cell)."""
    made, head = table.Table(name="T"), table.TableHeaderRows()
    rows = [
        ("Tube", "Pin", "Min (V)", "Max (V)", "Stop (mV)"),
        ("V1", "6", "300", "320", "450000"),
        (None, "7", "310", "330", ""),
    ]
    for n, cells in enumerate(rows):
        row = table.TableRow()
        for phrase in cells:
            if phrase is None:
                row.addElement(table.CoveredTableCell())
                continue
            more = {"numberrowsspanned": "2"} if phrase == "V1" else {}
            cell = table.TableCell(**more)
            cell.addElement(text.P(text=phrase))
            row.addElement(cell)
        (head if n == 0 else made).addElement(row)
        if n == 0:
            made.addElement(head)
    return made


def test_an_odt_with_all_its_ways_loses_nothing():
    outline = read_document(awkward_odt())
    plan = make_plan(outline, [], PLACES)
    said = all_words(plan.stages)
    assert plan.title == "The box" and [stage.title for stage in plan.stages] == ["Supply", "Switch on"]
    assert plan.stages[0].steps[0]["text"] == "Fit R1³ (a footnote)"
    assert "In a frame" in said and "Deleted words" not in said and outline.notes == ["tracked"]
    rows = [(c.row["red"], c.row["low"], c.row["high"], c.row.get("stop_above")) for c in plan.stages[1].checks]
    assert rows == [("V1.6", "300 V", "320 V", "450000 mV"), ("V1.7", "310 V", "330 V", None)]


MARKDOWN = """\
The volts kill.

# Supply

1. Fit R1.[^1]
   ![where](data:image/png;base64,{packed})
2. See ![layout](layout.png) and [the sheet](https://maker.example/sheet).

[^1]: 2-watt

Part\tVolts
C1\t450

## Sub

- a | b
- 2 * 3 * 4

# Box

1. Close.
"""


def test_markdown_keeps_pictures_links_notes_and_what_stands_first():
    import base64

    packed = base64.b64encode(picture().getvalue()).decode()
    outline = read_text(MARKDOWN.format(packed=packed))
    first, second = stages_of(outline)
    said = all_words([first, second])
    assert first.intro == "The volts kill." and len(outline.pictures) == 1
    assert first.steps[0]["picture"] in outline.pictures
    assert "https://maker.example/sheet" in said and "2-watt" in said and "450" in said
    assert "2 \\* 3 \\* 4" in said and "**Sub**" in said


@pytest.mark.parametrize(
    ("head", "key", "cell", "is_read"),
    [
        ("Expected (kΩ)", "expected", "4.7", "4.7 kΩ"),
        ("Expected, V", "expected", "310", "310 V"),
        ("Volts DC", "expected", "310", "310 V"),
        ("Voltage in mV", "expected", "310", "310 mV"),
        ("Reading / V AC", "expected", "6.3", "6.3 V"),
        ("Min (V)", "at_least", "290", "290 V"),
    ],
)
def test_a_unit_in_the_head_of_a_column_is_that_of_its_figures(head, key, cell, is_read):
    rows = (("Point", head), ("V1 pin 6", cell))
    assert is_of_readings(rows)
    (made,) = list_checks(rows, PLACES, "Ω" not in head)
    assert made.row[key] == is_read and not made.doubt


def test_each_column_has_its_own_unit():
    rows = (("Point", "Expected (mV)", "Tolerance (%)", "Stop (V)"), ("V1 pin 8", "900", "10", "2"))
    (made,) = list_checks(rows, PLACES, is_on=True)
    assert (made.row["expected"], made.row["band"], made.row["stop_above"]) == ("900 mV", "10%", "2 V")


def test_a_row_without_a_figure_is_told_and_stays():
    rows = (("Point", "Expected"), ("Anodes", "Anodes"), ("V1 pin 6", ""), ("V1 pin 7", "300 V"))
    without, good = list_checks(rows, PLACES, is_on=True)
    assert without.doubt and without.row["red"] == "V1.6" and not good.doubt
    assert good.row["title"] == "Anodes: V1 pin 7"  # a title in merged cells


def test_merged_cells_are_spread_over_what_they_cover():
    rows = [[Cell("a", 2), Cell("b", 1, 2)], [Cell("c"), Cell("d")], []]
    assert rows_of_cells(rows) == (("a", "a", "b"), ("c", "d", "b"))


@pytest.mark.lengthy
@given(
    st.lists(
        st.lists(st.builds(Cell, st.text(max_size=3), st.integers(-1, 9), st.integers(-1, 9)), max_size=5), max_size=5
    )
)
def test_any_spans_make_rows_of_one_width(rows):
    assert len({len(row) for row in rows_of_cells(rows)}) <= 1


HTML = st.lists(
    st.sampled_from(
        ["<p>", "</p>", "<ol>", "</ol>", "<li>", "</li>", "<table>", "</table>", "<tr>", "<td rowspan=9>", "</td>", "x"]
        + [
            "<h1>",
            "</h1>",
            "<sup>",
            "</sup>",
            "<a href='#footnote-1'>",
            "</a>",
            "<li id='footnote-1'>",
            "<s>",
            "</s>",
            "9",
        ]
    ),
    max_size=40,
)


@pytest.mark.lengthy
@example(["<table>", "x", "<table>"])
@example(["<table>", "x", "<td rowspan=9>"])
@given(HTML)
def test_no_markup_loses_a_word(parts):
    """Every word in the body comes out somewhere, in whatever order tags come; footnotes where they are read."""
    html = "".join(f" w{n} " if part == "x" else part for n, part in enumerate(parts) if part != "<li id='footnote-1'>")
    expected = set(re.findall(r"w\d+", re.sub(r"<a[^>]*>.*?(</a>|$)", "", html)))
    result = list_pieces(html)
    said = " ".join([piece.text for piece in result] + [cell for piece in result for row in piece.rows for cell in row])
    assert expected - set(re.findall(r"w\d+", said)) == set()


@pytest.fixture
def designer(client, db):
    draft = factories.make_revision(issued=False, stages=0)
    client.force_login(draft.kit.designers.get())
    client.at = reverse("guides:text-import", args=[draft.kit.key, draft.letter])
    client.draft = draft
    return client


@pytest.mark.lengthy
@pytest.mark.parametrize("make", [awkward_docx, awkward_odt])
def test_the_preview_of_an_awkward_document_tells_and_saves(designer, make):
    page = designer.post(designer.at, {"file": SimpleUploadedFile("guide.bin", make())})
    assert page.status_code == 200 and len(page.context["preview"].notes) == 1
    fields = {"save": "1", "band_for_all": "10%", "draft": page.context["preview"].key, "token": page.context["token"]}
    answer = designer.post(designer.at, fields)
    assert answer.status_code == 302, answer.context["refused"]
    assert designer.draft.stages.count() == 2


@pytest.mark.lengthy
def test_one_tolerance_for_all_figures_without_one_changes_no_other(designer):
    rows = "| a | 10k | |\n| b | 20k | 5% |\n| c | > 1M | |\n"
    phrase = f"# A\n\n| Point | Expected | Tolerance |\n|---|---|---|\n{rows}\n# B\n\n1. Go.\n"
    page = designer.post(designer.at, {"paste": phrase})
    assert page.context["preview"].bandless == 1 and not page.context["preview"].problems  # the field asks for it
    answer = designer.post(designer.at, {"paste": phrase, "save": "1", "draft": page.context["preview"].key})
    assert answer.status_code == 422 and len(answer.context["refused"]) == 1
    page = designer.post(designer.at, {"paste": phrase, "band_for_all": "10%"})
    bands = [check.row.get("band") for check in page.context["preview"].plan.stages[0].checks]
    assert bands == ["10%", "5%", None] and not page.context["preview"].problems


def test_a_picture_that_only_has_a_name_is_told_and_the_text_can_be_saved(designer):
    phrase = "# A\n\n1. See ![it](nowhere.png)\n\n# B\n\n1. Go.\n"
    page = designer.post(designer.at, {"paste": phrase})
    assert page.context["preview"].plan.missing == ["nowhere.png"] and not page.context["preview"].problems
    answer = designer.post(designer.at, {"paste": phrase, "save": "1", "draft": page.context["preview"].key})
    assert answer.status_code == 302


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("All voltages ±10 %, measured to chassis.", "10%"),
        ("Alle Spannungen +/- 7,5 % gegen Masse.", "7.5%"),
        ("Use resistors of ±1 % and read within ±10 %.", ""),  # which of the two nobody can tell
        ("Read every voltage.", ""),
    ],
)
def test_a_tolerance_that_the_text_gives_is_offered_for_figures_without_one(designer, words, offered):
    text = f"# With valves\n\n1. Switch on.\n\n{words}\n\n| Point | Volts |\n|---|---|\n| V1 pin 6 | 150 |\n"
    page = designer.post(designer.at, {"paste": text})
    assert page.context["preview"].bandless == 1
    assert page.context["preview"].said_band == offered
    assert f'value="{offered}"' in page.content.decode().split('name="band_for_all"')[1].split(">")[0]


@pytest.mark.lengthy
def test_a_current_of_a_document_keeps_its_resistor_when_the_form_is_sent(designer):
    parts = designer.at.replace("/text/", "/parts/import/")
    page = designer.post(parts, {"paste": "Ref;Value\nR9;470\nV1;ECC83"})
    designer.post(parts, sent_fields(page.content.decode()) | {"save": "1"})
    rows = "| R9 | 2.3 mA | 10% |\n| V1 pin 6 | 90 V | 10% |\n"
    phrase = f"# On\n\nSwitch on.\n\n| Point | Expected | Tolerance |\n|---|---|---|\n{rows}"
    page = designer.post(designer.at, {"paste": phrase})
    answer = designer.post(designer.at, sent_fields(page.content.decode()) | {"save": "1"})
    assert answer.status_code == 302, answer.context["refused"]
    current, volts = designer.draft.stages.get().checks.order_by("position")
    assert (current.measure, current.through) == ("current", "R9")
    assert volts.red == "V1.6"  # a pin is known before it is wired


def test_thousands_of_steps_that_begin_alike_are_each_given_a_name():
    plan = make_plan(read_text("# Fitting\n\n" + "1. Fit the next resistor of the row\n" * 2500), [], PLACES)
    (stage,) = list_rows(plan, [])
    keys = [step["key"] for step in stage["step"]]
    assert len({*keys}) == 2500 and keys[:3] == [keys[0], f"{keys[0]}-2", f"{keys[0]}-3"]


@given(st.sets(st.integers(2, 60)))
def test_a_name_is_never_one_that_is_taken(numbers):
    taken = {"fit", *(f"fit-{n}" for n in numbers)}
    assert make_key("Fit", set(taken)) not in taken
