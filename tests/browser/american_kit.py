"""A line stage as an American designer has it: a CSV saved by a spreadsheet of 1990 (code page 437), references in
lower case and with spaces, and a .docx whose steps are typed as "[ ] Step 12." without a list.

Invented for the tests. Values and words are common practice.
"""

import io
from pathlib import Path

import docx
from docx.shared import Pt
from PIL import Image, ImageDraw

SHEET = """\
Porch Light line stage,,,,,
bill of materials  rev 0,,,,,
,,,,,
Qty,Ref,Part,Rating,Used for,Bag
1x,pt1,"Power transformer 250-0-250 V 60 mA, 6.3 V 2 A",,"Primary 120 V, 60 Hz",1
1x,J1,AC inlet with ground,,Mains,1
1x,f 1,1/2 A slo-blo,,Line fuse,1
1x,sw1,DPST,,Power switch,1
1x,v 2,6CA4,,Rectifier,1
2x,"C1, C2",47µ 450 V,,Filter can,1
1x,c3,22µF 450V,,Filter,1
1x,R1,1K,3 W,Filter,2
1x,R2,10K,2 W,Filter,2
1x,R3,220K,2 W,Bleeder,2
2x,R4/R5,100 ½W,,Heater balance,2
1x,v1,12AU7,,Line tube,2
1x,J2,RCA jack,,Input,3
1x,J3,RCA jack,,Output,3
1x,R6,1Meg,½ W,Grid leak,3
1x,R7,1K,½ W,Grid stopper,3
1x,R8,47K,2 W,Plate load,3
1x,R9,1.5K,½ W,Cathode,3
1x,C4,100µ,25V,Cathode bypass,3
1x,R10,33K,2 W,Follower cathode,3
1x,C5,2.2µ film,400 V,Output,3
1x,R11,470K,½ W,Output,3
2x,"MP1, MP2",Tube socket,,,4
4x,MP3,"Screw, 6-32 × 3/8",,,4
,,,,,
Total,35,,,,
"""
STEPS = (
    ("Unpacking", ("Open bags 1 through 4 and check off every part on the parts list.",)),
    (
        "The power supply",
        (
            "Bolt down PT1 and the socket for V2.",
            "Wire J1, F1 and SW1. The green wire goes to the ground stud.",
            "Solder C1, C2 and C3. Plus goes to the rail.",
            "Solder R1 thru R5.",
        ),
    ),
    (
        "The line stage",
        ("Mount the socket for V1, J2 and J3.", "Solder R6 thru R11, then C4 and C5."),
    ),
)
COLD = (("Test point", "Ohms"), ("V1 pin 8", "1500"), ("V1 pin 3", "33k"))
CHART = (("Tube", "Pin 1", "Pin 3", "Pin 6", "Pin 8"), ("V1", "—", "—", "—", "4.7"))


def spreadsheet() -> bytes:
    return SHEET.replace("\n", "\r\n").replace("×", "x").replace("µ", "\u00b5").encode("cp437", "strict")


def document() -> bytes:
    made = docx.Document()
    made.add_heading("Porch Light: building it", 0)
    made.add_paragraph("Read all of it first. There are 350 volts in this box and they can kill you.")
    number = 0
    for title, steps in STEPS:
        _bold(made, title.upper())
        for words in steps:
            number += 1
            made.add_paragraph(f"[  ] Step {number}. {words}")
        if title == "The power supply":
            made.add_picture(io.BytesIO(photo()))
    _bold(made, "RESISTANCE CHECKS, UNPLUGGED")
    made.add_paragraph("[  ] Set your meter to ohms. Black lead to the chassis.")
    _table(made, COLD)
    _bold(made, "FIRST POWER, NO TUBES")
    made.add_paragraph("[  ] Leave both sockets empty. Plug in and switch on.")
    _bold(made, "POWER WITH TUBES")
    made.add_paragraph("[  ] Switch off, unplug, wait one minute. Insert V1 and V2.")
    made.add_paragraph("[  ] Plug in and switch on. Wait one minute.")
    _table(made, CHART)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def photo() -> bytes:
    image = Image.new("RGB", (1000, 700), "#c7b79a")
    ImageDraw.Draw(image).ellipse((300, 200, 700, 500), outline="#333333", width=8)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def _bold(made, words: str) -> None:
    run = made.add_paragraph().add_run(words)
    run.bold, run.font.size = True, Pt(14)


def _table(made, rows) -> None:
    table = made.add_table(rows=0, cols=len(rows[0]))
    for cells in rows:
        for cell, words in zip(table.add_row().cells, cells, strict=True):
            cell.text = words


def write(folder: Path) -> tuple[Path, Path]:
    sheet, guide = folder / "PARTS.CSV", folder / "building it.docx"
    sheet.write_bytes(spreadsheet())
    guide.write_bytes(document())
    return sheet, guide
