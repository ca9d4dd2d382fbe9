"""A finding on paper: its evidence, its plot, the builders' words and photos, and the edits that mend it."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether

from builds.reports.pdf_base import BODY, CELL, H3, QUOTE, SMALL, diff_para, para, picture, table
from builds.reports.plot_pdf import legend, plot_drawing
from builds.ui.rich_text import quote

MOST_QUOTES = 6


def finding_story(number: int, finding, photos_left: int) -> tuple[list, int]:
    """(what to print, how many photos the document may still show)."""
    head = [
        para(f"{number}. {finding.title}", H3),
        para(
            f"{finding.stage} · {finding.severity_label} · {finding.missed_text} · {finding.decided}",
            SMALL,
        ),
    ]
    body = []
    if finding.summary and finding.summary.median is not None:
        body.append(para(f"{finding.claim}. {finding.explanation} {finding.middle}"))
    if finding.plot:
        body += [plot_drawing(finding.plot), legend(finding.plot)]
    quotes = [quote_snag(snag) for snag in finding.snags[:MOST_QUOTES]]
    if len(finding.snags) > MOST_QUOTES:
        more = len(finding.snags) - MOST_QUOTES
        text = ngettext("%(count)d more snag on this.", "%(count)d more snags on this.", more)
        quotes.append(para(text % {"count": more}, SMALL))
    if finding.causes:
        quotes.append(para(_("Root cause: %(causes)s.") % {"causes": ", ".join(finding.causes)}))
    shown, photos_after = _photos(finding.photos, photos_left)
    return [
        KeepTogether(head + body),
        *quotes,
        para(_("What to do: %(text)s") % {"text": finding.suggestion}, BODY),
        *([edit_table(finding.edits)] if finding.edits else []),
        *shown,
    ], photos_after


def quote_snag(snag, kind=QUOTE):
    return para(
        f"{quote(snag.words)} ({snag.build.serial}, {snag.get_severity_display()}: {snag.get_kind_display()})", kind
    )


def edit_table(edits):
    """Place, what changes, and how sure the edit is."""
    rows = [[_("Where"), _("What"), _("Edit"), _("Source and reason")]]
    rows += [[e.where, e.what_label, edit_markup(e), [para(e.source_label, CELL), para(e.why, SMALL)]] for e in edits]
    return table(rows, (42, 22, 68, 42))


def edit_markup(edit):
    """The new text marked against the old; where it must be written, the old by itself."""
    return diff_para(edit.pieces, CELL) if edit.after is not None else para(edit.before or _("nothing yet"), CELL)


def _more_photos(count: int) -> str:
    text = ngettext(
        "%(count)d more photo is in the archive and on the page of its build.",
        "%(count)d more photos are in the archive and on the pages of their builds.",
        count,
    )
    return text % {"count": count}


def _photos(photos, left: int) -> tuple[list, int]:
    taken = [picture(photo, 54 * mm) for photo in photos[:left]]
    rows = [taken[i : i + 3] for i in range(0, len(taken), 3)]
    shown = [table([row + [""] * (3 - len(row)) for row in rows], (58, 58, 58), header=False)] if rows else []
    more = len(photos) - len(taken)
    if more:
        shown.append(para(_more_photos(more), SMALL))
    return shown, left - len(taken)
