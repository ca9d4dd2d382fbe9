"""The guide of a revision as a typeset PDF: what is sold with the kit says what the bench shows."""

import tempfile
from io import BytesIO
from itertools import count
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from django.utils.translation import gettext as _
from django.utils.translation import pgettext
from reportlab.lib import colors
from reportlab.lib.units import mm
from reportlab.platypus import Image, KeepTogether, PageBreak, Paragraph, Spacer, Table, TableStyle

from builds.reports.guide.content import CheckLine, GuideText, StageText, gather, part_text, video_text
from builds.reports.guide.document import CHAPTER, SECTION, GuideDocument, contents
from builds.reports.guide.drawings import band_scale, box, build_scale, code, resistor
from builds.reports.guide.pictures import print_copies
from builds.reports.guide.schematic import PictureMap, points_map, schematic_pages
from builds.reports.marked import mark_up
from builds.reports.pdf_base import BODY, BOLD, CELL, H1, H2, SMALL, marked_para, para, style, table
from builds.ui.drawings.schematic import undrawn_sentence
from builds.ui.moments import format_day

STEP = style("step", 10, spaceAfter=2)
NUMBER = style("number", 11, fontName=BOLD)
LONG_NOTE = 60  # characters: a longer note runs across the table
PICTURE_WIDTH, PICTURE_HEIGHT = 110 * mm, 80 * mm


def guide_pdf(revision, language: str = "") -> bytes:
    """The whole guide. Memory stays small: pictures go in by path."""
    text = gather(revision, language)
    with tempfile.TemporaryDirectory() as folder:
        out = BytesIO()
        writer = _Writer(text, print_copies(text.pictures, Path(folder)))
        names = {"name": revision.name, "letter": revision.letter}
        document = GuideDocument(out, title=_("%(name)s: build guide") % names, footer=_footer(names, revision))
        document.multiBuild(writer.story())
        return out.getvalue()


def _footer(names: dict, revision) -> str:
    if revision.is_draft:
        return _("%(name)s, build guide, revision %(letter)s: draft") % names
    return _("%(name)s, build guide, revision %(letter)s") % names


class _Writer:
    def __init__(self, text: GuideText, pictures: dict):
        self.text, self.pictures, self.numbers = text, pictures, count(1)

    def story(self) -> list:
        return [
            *self._cover(),
            *self._safety(),
            *self._tools(),
            *self._parts(),
            *self._map(),
            *(flow for stage in self.text.stages for flow in self._stage(stage)),
            *self._sign_off(),
            *self._revision(),
        ]

    def _heading(self, text: str, kind) -> Paragraph:
        made = para(text, kind)
        made.heading_number = next(self.numbers)
        return made

    def _cover(self):
        revision = self.text.revision
        params = {"letter": revision.letter, "volts": revision.mains_volts, "hertz": revision.mains_hertz}
        toc = contents()
        return [
            Spacer(1, 35 * mm),
            para(revision.name, H1),
            para(_("Build guide, revision %(letter)s") % params, H2),
            para(_("All figures apply at %(volts)d V, %(hertz)d Hz mains.") % params),
            para(self._state()),
            Spacer(1, 6 * mm),
            *([marked_para(revision.summary)] if revision.summary else []),
            Spacer(1, 8 * mm),
            para(_("Serial number: ______________    Builder: ______________________________")),
            PageBreak(),
            para(pgettext("of a document", "Contents"), H2),
            toc,
            PageBreak(),
        ]

    def _state(self) -> str:
        revision = self.text.revision
        if revision.is_draft:
            return _("This is a draft. Do not build from it.")
        return _("Issued on %(day)s.") % {"day": format_day(revision.issued_at)}

    def _safety(self):
        flow = [self._heading(_("Safety"), CHAPTER)]
        for title, text in self.text.cautions:
            flow.append(Paragraph(f"<b>{escape(str(title))}.</b> {escape(str(text))}", BODY))
        local = _("These are the usual cautions. Your local electrical codes and licensed practice come first.")
        return [*flow, para(local, SMALL)]

    def _tools(self):
        rows = [[box(), tool] for tool in self.text.tools]
        return [self._heading(_("Tools"), CHAPTER), _plain(rows, (8, 160)), PageBreak()]

    def _parts(self):
        yield self._heading(_("Parts"), CHAPTER)
        for bag, rows in self.text.bags:
            yield self._heading(_("Bag %(bag)s") % {"bag": bag} if bag else _("Without a bag"), SECTION)
            head = ["", _("Ref"), _("Value and ratings"), _("Bands"), _("Quantity"), _("Note")]
            lines = [
                [box(), part.ref, part_text(part), resistor(colours) if colours else "", str(part.quantity), part.note]
                for part, colours in rows
            ]
            yield table([head, *lines], (8, 18, 46, 26, 18, 58))
        yield PageBreak()

    def _map(self):
        """The schematic with the expected volts, the table of points, and the designer's pictures with theirs."""
        mapped = points_map(self.text.revision, self.text.guide)
        if mapped.schematic is None and not mapped.rows:
            return
        yield self._heading(_("Schematic and points"), CHAPTER)
        for page in schematic_pages(mapped) if mapped.schematic else ():
            yield from (page, PageBreak())
        if mapped.schematic and (undrawn := undrawn_sentence(mapped.schematic)):
            yield para(undrawn, SMALL)
        if mapped.rows:
            yield self._heading(_("Expected volts"), SECTION)
            yield para(_("Measured to chassis. Each check says when it is safe to measure."), SMALL)
            head = [_("No."), _("Point"), _("Check"), _("Expected"), _("Band")]
            yield table([head, *mapped.rows], (10, 50, 60, 24, 30))
        for picture, spots in mapped.pictures:
            if picture.name in self.pictures:
                path, _wide, _high = self.pictures[picture.name]
                yield self._heading(picture.name, SECTION)
                yield PictureMap(path, picture.width or 1, picture.height or 1, spots, 174 * mm, 200 * mm)
        yield PageBreak()

    def _stage(self, text: StageText):
        stage = text.stage
        titles = {"number": text.number, "title": stage.title}
        yield self._heading(_("%(number)d. %(title)s") % titles, CHAPTER)
        head = [_("⚡ Mains power on") if stage.is_powered else _("○ Mains power off, unplugged")]
        head += [_("about %(minutes)d min") % {"minutes": stage.minutes}] if stage.minutes else []
        yield para(" · ".join(head), style("power", 10, fontName=BOLD))
        if stage.not_fitted:
            yield para(_("Not fitted in this stage: %(refs)s") % {"refs": ", ".join(stage.not_fitted)})
        for title, sentence in text.cautions if stage.is_powered or text.is_recorded else ():
            yield Paragraph(f"<b>{escape(str(title))}.</b> {escape(str(sentence))}", SMALL)
        if stage.intro:
            yield marked_para(stage.intro)
        yield from _video(stage.film)
        for kind, *rest in text.items:
            yield from self._step(*rest) if kind == "step" else self._checks(rest[0])
        if stage.gate:
            yield para(_("Gate: continue only when every check of this stage is in its band."), H2)
        yield PageBreak()

    def _step(self, number: int, step):
        paragraphs = [Paragraph(mark_up(step.text), STEP)]
        if step.parts:
            paragraphs.append(para(_("Parts: %(refs)s") % {"refs": ", ".join(step.parts)}, SMALL))
        if step.hands_in:
            paragraphs.append(para(_("Hands inside: switch off, unplug, and measure below 60 V DC first."), SMALL))
        paragraphs += _video(step.film)
        line = _plain([[box(11), para(str(number), NUMBER), paragraphs]], (8, 10, 156))
        drawing = self._picture(step.picture)
        yield KeepTogether([line, drawing]) if drawing else line

    def _picture(self, name: str):
        if name not in self.pictures:
            return None
        path, width, height = self.pictures[name]
        share = min(PICTURE_WIDTH / width, PICTURE_HEIGHT / height)
        return Image(str(path), width=width * share, height=height * share, hAlign="LEFT")

    def _checks(self, lines: list[CheckLine]):
        head = [_("Check"), _("Red – black"), _("Expected"), _("Band"), _("Switch off"), _("Reading")]
        rows: list[list] = []
        spread = []
        for line in lines:
            is_long = len(line.note) > LONG_NOTE
            rows.append(_check_row(line, "" if is_long else line.note))
            if is_long:  # across all columns, below its check
                n = len(rows) + 1
                rows.append([marked_para(line.note, SMALL), "", "", "", "", ""])
                spread += [("SPAN", (0, n), (-1, n)), ("NOSPLIT", (0, n - 1), (-1, n))]
                spread += [("LINEBELOW", (0, n - 1), (-1, n - 1), 0.6, colors.white)]
        made = table([head, *rows], (46, 40, 20, 30, 18, 20))
        made.setStyle(TableStyle(spread))
        yield from (Spacer(1, 2 * mm), made, Spacer(1, 2 * mm))

    def _sign_off(self):
        rows = [[text.stage.title, "", ""] for text in self.text.stages]
        yield self._heading(_("Sign-off"), CHAPTER)
        yield table([[_("Stage"), _("Date"), _("Signed")], *rows], (80, 40, 54))

    def _revision(self):
        revision = self.text.revision
        yield self._heading(_("Revision and errata"), CHAPTER)
        yield para(
            _("Build guide for %(name)s, revision %(letter)s.") % {"name": revision.name, "letter": revision.letter}
        )
        yield para(self._state())
        if not self.text.errata:
            yield para(_("There are no errata at the time of printing."))
        for erratum in self.text.errata:
            lead = f"{erratum.stage.title}, {erratum.about}:"
            yield Paragraph(f"<b>{escape(lead)}</b> {escape(erratum.told)}", BODY)


def _video(video) -> list:
    """Printed whole, so that it can be typed."""
    if video is None:
        return []
    link = f"<link href={quoteattr(video.link)}>{escape(video_text(video))}</link>"
    return [_plain([[code(video.link, 16 * mm), Paragraph(f"▶ {link}", SMALL)]], (20, 130))]


def _check_row(line: CheckLine, note: str) -> list:
    title = [para(_title(line), style("title", 8.4, fontName=BOLD)), para(line.measure, SMALL)]
    title += [marked_para(note, SMALL)] if note else []
    return [title, f"{line.red} – {line.black}", line.expected, _limits(line), line.stop, ""]


def _limits(line: CheckLine) -> list:
    """The band in figures, and drawn as the bench draws it."""
    scale = build_scale(line.band)
    paragraphs = [para(line.limits, CELL)]
    return [*paragraphs, band_scale(scale, 26 * mm)] if scale else paragraphs


def _title(line: CheckLine) -> str:
    return _("%(title)s (optional)") % {"title": line.title} if line.optional else line.title


def _plain(rows, widths) -> Table:
    """Cells beside each other without lines."""
    cells = [
        [cell if hasattr(cell, "wrapOn") or isinstance(cell, list) else para(cell) for cell in row] for row in rows
    ]
    made = Table(cells, colWidths=[w * mm for w in widths], hAlign="LEFT")
    made.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0)]))
    return made
