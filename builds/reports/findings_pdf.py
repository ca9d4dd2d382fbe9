"""A finding on paper: its evidence, its plot, the builders' words and photos, and the edits that mend it."""

from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether

from builds.reports.pdf_base import BODY, CELL, H3, QUOTE, SMALL, diff_para, para, picture, table
from builds.reports.plot_pdf import legend, plot_drawing
from builds.reports.words import evidence_words, likely_words
from builds.ui.rich_text import quoted

MOST_QUOTES = 6


def finding_story(number: int, finding, photos_left: int) -> tuple[list, int]:
    """(what to print, how many photos the document may still show)."""
    missed = finding.missed
    head = [
        para(f"{number}. {finding.title}", H3),
        para(
            f"{finding.stage} · {finding.harm_words} · missed by {missed.successes} of {missed.n} builds "
            f"({likely_words(missed)}) · {finding.decided}",
            SMALL,
        ),
    ]
    body = []
    if finding.summary and finding.summary.median is not None:
        body.append(para(evidence_words(finding)))
    if finding.plot:
        body += [plot_drawing(finding.plot), legend(finding.plot)]
    quotes = [quote(snag) for snag in finding.snags[:MOST_QUOTES]]
    if len(finding.snags) > MOST_QUOTES:
        quotes.append(para(f"{len(finding.snags) - MOST_QUOTES} more snags say so too.", SMALL))
    if finding.causes:
        quotes.append(para(f"Cause found: {', '.join(finding.causes)}."))
    shown, left = _photos(finding.photos, photos_left)
    return [
        KeepTogether(head + body),
        *quotes,
        para(f"What to do: {finding.suggestion}", BODY),
        *([edit_table(finding.edits)] if finding.edits else []),
        *shown,
    ], left


def quote(snag, kind=QUOTE):
    return para(f"{quoted(snag.words)} ({snag.build.serial}, {snag.severity}: {snag.get_kind_display()})", kind)


def edit_table(edits):
    """Place, what changes, and how sure the edit is."""
    rows = [["Where", "What", "Edit", "Whence and why"]]
    rows += [[e.where, e.what, edit_words(e), [para(e.source_words, CELL), para(e.why, SMALL)]] for e in edits]
    return table(rows, (42, 22, 68, 42))


def edit_words(edit):
    """The new text marked against the old; where it must be written, the old by itself."""
    return diff_para(edit.pieces, CELL) if edit.after is not None else para(edit.before or "nothing yet", CELL)


def _photos(photos, left: int) -> tuple[list, int]:
    taken = [picture(photo, 54 * mm) for photo in photos[:left]]
    rows = [taken[i : i + 3] for i in range(0, len(taken), 3)]
    shown = [table([row + [""] * (3 - len(row)) for row in rows], (58, 58, 58), header=False)] if rows else []
    more = len(photos) - len(taken)
    if more:
        shown.append(para(f"{more} more photos are in the archive and on the pages of these builds.", SMALL))
    return shown, left - len(taken)
