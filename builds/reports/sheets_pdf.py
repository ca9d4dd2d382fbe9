"""A stage's sheet on paper: the guide's words at the left, what builders met and what to write at the right."""

from reportlab.lib.units import mm

from builds.reports.findings_pdf import edit_words, quote
from builds.reports.pdf_base import CELL, H1, HEAD_CELL, SMALL, marked_para, para, picture, table, write_pdf
from builds.reports.words import interval_words

MOST_PHOTOS = 2  # beside each finding


def write_sheet(out, summary, sheet) -> None:
    """Write the PDF of one stage to a file."""
    revision = summary.revision
    write_pdf(
        out,
        sheet_story(summary, sheet),
        title=f"{sheet.stage.title}: what to rewrite",
        footer=f"{revision.name}, revision {revision.letter}: {sheet.stage.title}",
    )


def sheet_story(summary, sheet) -> list:
    row = sheet.row
    minutes = (
        f"{sheet.minutes:.0f} minutes in the middle of the builds" if sheet.minutes is not None else "no time known"
    )
    guide = f"; the guide says {row.minutes_guide}" if row.minutes_guide else ""
    story = [
        para(sheet.stage.title, H1),
        para(
            f"Revision {summary.revision.letter}. {row.through} builds done; right at first "
            f"{interval_words(row.first_pass)}; "
            f"{row.retakes} re-takes; {row.snags} snags; {minutes}{guide}.",
            SMALL,
        ),
    ]
    rows = [["The guide says", "Builders met, and what to write"]]
    if sheet.stage.intro or sheet.whole:
        rows.append([marked_para(sheet.stage.intro, CELL), _beside(sheet.whole)])
    rows += [[_words(entry), _beside(entry.findings)] for entry in sheet.entries]
    return [*story, table(rows, (84, 90))]


def _words(entry):
    said = [para(f"{entry.title}{f': {entry.figure}' if entry.figure else ''}", HEAD_CELL)]
    return [*said, marked_para(entry.text, CELL)] if entry.text else said


def _beside(findings):
    found = []
    for number, f in findings:
        found.append(
            para(f"{number}. {f.title if f.target[0] in ('part', 'stage') else f.harm_words.capitalize()}", HEAD_CELL)
        )
        if f.meaning:
            found.append(para(f.meaning.words, CELL))
        found += [quote(snag, SMALL) for snag in f.snags[:3]]
        for edit in f.edits:
            found += [para(f"{edit.what.capitalize()}, {edit.source_words}:", SMALL), edit_words(edit)]
        if not f.edits:
            found.append(para(f.suggestion, CELL))
        found += [picture(photo, 40 * mm) for photo in f.photos[:MOST_PHOTOS]]
    return found
