"""Documents as a designer has them, made in the test: nothing here is anybody's."""

import io

import docx
from odf import style, text
from odf.opendocument import OpenDocumentText
from PIL import Image

STAGES = (
    ("Unpack", ("Open bags 1 to 3 and count.", "Find the ring on D1 and D2."), ()),
    ("Supply", ("Fit C1, C2 and C3 with + to the rail.", "Solder R1, R2 and R3."), ()),
    (
        "First power, no valves",
        ("Leave the socket empty.", "Switch on through a series lamp."),
        (("Heaters V1", "6.3 V AC ± 10%", "9 V"), ("V1 pin 6", "310 V ± 10%", "450 V")),
    ),
    ("Power with valves", ("Switch off, make safe and fit V1.", "Switch on."), (("V1 pin 8", "3–7 V", "25 V"),)),
)


def picture(colour="#886644") -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (640, 480), colour).save(out, "JPEG")
    out.seek(0)
    return out


def as_docx(stages=STAGES) -> bytes:
    """A document with a title, a heading a stage, numbered steps, one picture and tables of readings."""
    document = docx.Document()
    document.add_heading("Line stage", 0)
    for n, (title, steps, readings) in enumerate(stages):
        document.add_heading(f"{n + 1}. {title}", 1)
        for step in steps:
            document.add_paragraph(step, style="List Number")
        if n == 1:
            document.add_picture(picture())
        if readings:
            table = document.add_table(rows=1, cols=3)
            for row in (("Point", "Expected", "Stop"), *readings):
                cells = table.rows[0].cells if row[0] == "Point" else table.add_row().cells
                for cell, phrase in zip(cells, row, strict=True):
                    cell.text = phrase
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def as_odt(stages=STAGES) -> bytes:
    document = OpenDocumentText()
    numbers = text.ListStyle(name="Numbers")
    numbers.addElement(text.ListLevelStyleNumber(level="1", numformat="1"))
    document.automaticstyles.addElement(numbers)
    document.automaticstyles.addElement(style.Style(name="P1", family="paragraph"))
    for title, steps, _readings in stages:
        document.text.addElement(text.H(outlinelevel=1, text=title))
        listing = text.List(stylename="Numbers")
        for step in steps:
            item = text.ListItem()
            item.addElement(text.P(text=step))
            listing.addElement(item)
        document.text.addElement(listing)
    out = io.BytesIO()
    document.save(out)
    return out.getvalue()


def as_markdown(stages=STAGES) -> str:
    lines = ["# Line stage", ""]
    for title, steps, readings in stages:
        lines += [f"## {title}", "", *(f"{n}. {step}" for n, step in enumerate(steps, 1)), ""]
        if readings:
            lines += [
                "| Point | Expected | Stop |",
                "|---|---|---|",
                *(f"| {' | '.join(row)} |" for row in readings),
                "",
            ]
    return "\n".join(lines)


def as_plain(stages=STAGES) -> str:
    lines = []
    for n, (title, steps, _readings) in enumerate(stages, 1):
        lines += [f"Stage {n}: {title}", "", *(f"{k}) {step}" for k, step in enumerate(steps, 1)), ""]
    return "\n".join(lines)
