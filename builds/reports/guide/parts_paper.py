"""The parts list on paper, and labels for its bags."""

from textwrap import shorten

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, Table, TableStyle

from builds.reports.guide.content import gather, part_text
from builds.reports.guide.drawings import box, resistor
from builds.reports.pdf_base import H1, H2, INK, SMALL, build_pdf, keep_heading, para, table

WIDE, HIGH = 87 * mm, 62 * mm  # two labels beside each other on A4
MOST = 9  # lines of one label; a fuller bag has several
NOTE = 40  # characters of a note, so that each part keeps to one line


def parts_pdf(revision, serial: str = "") -> bytes:
    """By bag, with colour bands and a box to tick each part in."""
    names = {"name": revision.name, "letter": revision.letter, "serial": serial}
    head = _("Serial number %(serial)s, guide revision %(letter)s") if serial else _("Guide revision %(letter)s")
    story = [para(_("Parts list: %(name)s") % names, H1), para(head % names)]
    for bag, rows in gather(revision).bags:
        lines = [["", _("Ref"), _("Value and ratings"), _("Bands"), _("Quantity"), _("Note")]]
        lines += [
            [box(), part.ref, part_text(part), resistor(colours) if colours else "", str(part.quantity), part.note]
            for part, colours in rows
        ]
        story += keep_heading(_bag(bag), table(lines, (8, 18, 46, 26, 18, 58)))
    return build_pdf(story, title=_("Parts list: %(name)s") % names, footer=_footer(names))


def labels_pdf(revision) -> bytes:
    """Labels to cut out and put into the bags, two in a row."""
    names = {"name": revision.name, "letter": revision.letter}
    labels = [
        _label(names, bag, rows[n : n + MOST], n // MOST + 1, -(-len(rows) // MOST))
        for bag, rows in gather(revision).bags
        if bag
        for n in range(0, len(rows), MOST)
    ]
    pairs = [labels[n : n + 2] for n in range(0, len(labels), 2)]
    story = [KeepTogether([_row(pair)]) for pair in pairs] or [para(_("No part of this kit is in a bag."))]
    return build_pdf(story, title=_("Bag labels: %(name)s") % names, footer=_footer(names))


def _label(names: dict, bag: str, rows, number: int, of: int) -> list:
    title = (
        _bag(bag) if of == 1 else _("%(bag)s (%(number)d of %(of)d)") % {"bag": _bag(bag), "number": number, "of": of}
    )
    lines = [_line(part) for part, _colours in rows]
    return [para(title, H2), para(_footer(names), SMALL), *(para(line, SMALL) for line in lines)]


def _line(part) -> str:
    """Screws and transformers have no value: whoever packs the bag knows them by their note."""
    what = part_text(part) or shorten(part.note, NOTE, placeholder="…")
    return f"{part.ref}  {what}" + (f"  × {part.quantity}" if part.quantity > 1 else "")


def _row(pair: list) -> Table:
    made = Table([[*pair, *([""] * (2 - len(pair)))]], colWidths=[WIDE, WIDE], rowHeights=[HIGH])
    made.setStyle(
        TableStyle(
            [("BOX", (n, 0), (n, 0), 0.5, INK) for n in range(len(pair))] + [("VALIGN", (0, 0), (-1, -1), "TOP")]
        )
    )
    return made


def _bag(bag: str) -> str:
    return _("Bag %(bag)s") % {"bag": bag} if bag else _("Without a bag")


def _footer(names: dict) -> str:
    return _("%(name)s, revision %(letter)s") % names
