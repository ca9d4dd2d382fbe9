"""Documents whose headings, numbers and boxes were typed, not styled, as many are."""

import io

import docx
import pytest
from odf import style, text
from odf.opendocument import OpenDocumentText

from builds.guides.text_import.documents import read_document, read_text
from builds.guides.text_import.stages import make_plan
from builds.guides.text_import.tables import list_checks
from builds.ui.rich_text import to_text

LINES = (
    ("b", "1 Unpack"), ("p", "1.1 Open the bags."), ("b", "2 Supply"), ("p", "2.1 Fit C1."), ("p", "2.2. Fit C2."),
    ("p", "3.3 V is not a step."),
)  # fmt: skip


def as_docx(lines) -> bytes:
    document = docx.Document()
    for kind, words in lines:
        document.add_paragraph().add_run(words).bold = kind == "b"
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def as_odt(lines, by_span: bool) -> bytes:
    document = OpenDocumentText()
    bold = style.Style(name="B1", family="text" if by_span else "paragraph")
    bold.addElement(style.TextProperties(fontweight="bold"))
    document.automaticstyles.addElement(bold)
    for kind, words in lines:
        if kind == "b" and by_span:
            line = text.P()
            line.addElement(text.Span(stylename="B1", text=words))
        else:
            line = text.P(text=words, **({"stylename": "B1"} if kind == "b" else {}))
        document.text.addElement(line)
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


WAYS = {
    "docx": lambda: as_docx(LINES),
    "odt, bold spans": lambda: as_odt(LINES, by_span=True),
    "odt, bold paragraphs": lambda: as_odt(LINES, by_span=False),
    "docx, numbers alone": lambda: as_docx(("p", words) for _kind, words in LINES),
}


@pytest.mark.parametrize("way", WAYS)
def test_lines_in_bold_are_stages_and_numbers_in_two_parts_steps(way):
    plan = make_plan(read_document(WAYS[way]()), [], set())
    assert [stage.title for stage in plan.stages] == ["Unpack", "Supply"]
    steps = [[to_text(step["text"]).split(".")[0] for step in stage.steps] for stage in plan.stages]
    assert steps == [["Open the bags"], ["Fit C1", "Fit C2"]]
    assert "3.3 V is not a step." in to_text(plan.stages[1].steps[1]["text"])


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("[ ] Step 12. Fit R1.", "Fit R1."),
        ("[x] Fit R1.", "Fit R1."),
        ("☐ Fit R1.", "Fit R1."),
        ("( ) 3. Fit R1.", "Fit R1."),
        ("Schritt 4: Fit R1.", "Fit R1."),
        ("____ Fit R1.", "Fit R1."),
        ("12. Fit R1.", "Fit R1."),
        ("12 V is enough.", None),
        ("1.5 mm wire", None),
        ("(see page 3)", None),
        ("Stepping back, look.", None),
    ],
)
def test_a_typed_step_is_known_by_its_number_or_its_box(line, said):
    document = as_docx((("b", "Board"), ("p", line), ("p", "13. Fit R9."), ("b", "Box")))
    (stage, _other) = make_plan(read_document(document), [], set()).stages
    assert [to_text(step["text"]) for step in stage.steps] == ([said] if said else []) + ["Fit R9."]
    assert said or line in to_text(stage.intro)


@pytest.mark.lengthy
def test_a_warning_in_bold_is_no_stage():
    lines = (("b", "Danger: 350 V!"), ("b", "Unpack"), ("p", "1. Open."), ("b", "Supply"), ("p", "1. Fit."))
    assert [stage.title for stage in make_plan(read_document(as_docx(lines)), [], set()).stages] == ["Unpack", "Supply"]


def test_bold_lines_under_real_headings_stay_text():
    plan = make_plan(read_text("# Unpack\n\n**Bag one**\n\n1. Open.\n\n# Supply\n\n**Bag two**\n\n1. Fit."), [], set())
    assert [stage.title for stage in plan.stages] == ["Unpack", "Supply"]


def test_a_number_that_says_something_stays_in_a_title():
    plan = make_plan(read_text("# 12 V supply\n\n1. Fit.\n\n# Output\n\n1. Fit."), [], set())
    assert [stage.title for stage in plan.stages] == ["12 V supply", "Output"]


@pytest.mark.parametrize(
    "point",
    [
        "Heizung V2, Stift 4 gegen Stift 5",
        "V2 pins 4 and 5",
        "V2 pin 4/5",
        "V2 (pins 4–5)",
        "Heater of V2, pin 4 to pin 5",
    ],
)
def test_two_pins_of_one_valve_are_two_probes(point):
    """6.3 V stand between the pins of a heater, and half of that from either to the chassis."""
    (check,) = list_checks((("Point", "Expected"), (point, "6.3 V AC")), {"V2.4", "V2.5"}, is_on=True)
    assert (check.row["red"], check.row["black"]) == ("V2.4", "V2.5")


@pytest.mark.parametrize("point", ["V2 pin 4", "V2 pin 4, 5 V", "V2 pin 4 - anode", "V2 pin 4 (5 V DC)"])
def test_one_pin_is_measured_to_the_chassis(point):
    (check,) = list_checks((("Point", "Expected"), (point, "250 V")), {"V2.4", "V2.5"}, is_on=True)
    assert (check.row["red"], check.row.get("black")) == ("V2.4", None)


@pytest.mark.parametrize("point", ["V1 Stift 6", "Rö1 Stift 6", "Stift 6 von V1"])
def test_a_pin_has_its_german_names(point):
    name = "Rö1" if "Rö1" in point else "V1"
    (check,) = list_checks((("Messpunkt", "Sollwert"), (point, "250 V")), {f"{name}.6"}, is_on=True)
    assert check.row["red"] == f"{name}.6"


COUNTED = (
    ("b", "1. Platine bestücken"), ("p", "a) R1 bis R6 einlöten."), ("p", "b) C1 einlöten."),
    ("b", "2. Messen ohne Netz"), ("p", "Messpunkt\tSollwert\tToleranz"), ("p", "C3 +\t> 100k"),
    ("p", "Rö1 Stift 3\t1,5 kΩ\t5%"),
)  # fmt: skip


@pytest.mark.lengthy
def test_bold_lines_that_count_up_are_headings_and_letters_their_steps():
    plan = make_plan(read_document(as_docx(COUNTED)), [], set())
    assert [stage.title for stage in plan.stages] == ["Platine bestücken", "Messen ohne Netz"]
    assert [step["text"] for step in plan.stages[0].steps] == ["R1 bis R6 einlöten.", "C1 einlöten."]
    assert [check.row.get("band", check.row.get("at_least")) for check in plan.stages[1].checks] == ["100k", "5%"]


@pytest.mark.lengthy
def test_bold_lines_that_follow_one_another_or_skip_a_number_are_no_headings():
    for lines in ((("b", "1. Fit R1."), ("b", "2. Fit R2.")), (*COUNTED[:3], ("b", "4. Solder"), ("p", "It."))):
        assert not make_plan(read_document(as_docx(lines)), [], set()).stages
