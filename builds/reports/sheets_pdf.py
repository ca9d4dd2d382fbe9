"""A stage's sheet on paper: the guide's text at the left, findings and edits at the right."""

from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from builds.reports.findings_pdf import edit_markup, quote_snag
from builds.reports.pdf_base import CELL, H1, HEAD_CELL, SMALL, marked_para, para, picture, table, write_pdf
from builds.ui.shares import format_yield

MOST_PHOTOS = 2  # beside each finding


def write_sheet(out, summary, sheet) -> None:
    """Write the PDF of one stage to a file."""
    revision = summary.revision
    write_pdf(
        out,
        sheet_story(summary, sheet),
        title=_("%(stage)s: text and findings") % {"stage": sheet.stage.title},
        footer=f"{_revision(revision)}: {sheet.stage.title}",
    )


def sheet_story(summary, sheet) -> list:
    story = [para(sheet.stage.title, H1), para(_stage_line(summary, sheet), SMALL)]
    rows = [[_("Text of the guide"), _("Findings and edits")]]
    if sheet.stage.intro or sheet.whole:
        rows.append([marked_para(sheet.stage.intro, CELL), _beside(sheet.whole)])
    rows += [[_text(entry), _beside(entry.findings)] for entry in sheet.entries]
    return [*story, table(rows, (84, 90))]


def _revision(revision) -> str:
    return _("%(kit)s, revision %(letter)s") % {"kit": revision.name, "letter": revision.letter}


def _stage_line(summary, sheet) -> str:
    """The stage in figures: builds, yield, retakes, snags, time."""
    row = sheet.row
    texts = [
        _("Revision %(letter)s.") % {"letter": summary.revision.letter},
        _("Builds finished: %(count)d.") % {"count": row.through},
        _("First-pass yield: %(share)s.") % {"share": format_yield(row.first_pass)},
        _("Retakes: %(count)d.") % {"count": row.retakes},
        _("Snags: %(count)d.") % {"count": row.snags},
    ]
    if sheet.minutes is not None:
        texts.append(_("Median time: %(minutes).0f min.") % {"minutes": sheet.minutes})
    if row.minutes_guide:
        texts.append(_("Time in the guide: %(minutes)d min.") % {"minutes": row.minutes_guide})
    return " ".join(texts)


def _text(entry):
    cells = [para(f"{entry.title}{f': {entry.figure}' if entry.figure else ''}", HEAD_CELL)]
    return [*cells, marked_para(entry.text, CELL)] if entry.text else cells


def _beside(findings):
    columns = []
    for number, f in findings:
        columns.append(
            para(f"{number}. {f.title if f.target[0] in ('part', 'stage') else f.severity_label}", HEAD_CELL)
        )
        if f.meaning:
            columns.append(para(f.explanation, CELL))
        columns += [quote_snag(snag, SMALL) for snag in f.snags[:3]]
        for edit in f.edits:
            columns += [para(f"{edit.what_label}, {edit.source_label}:", SMALL), edit_markup(edit)]
        if not f.edits:
            columns.append(para(f.suggestion, CELL))
        columns += [picture(photo, 40 * mm) for photo in f.photos[:MOST_PHOTOS]]
    return columns
