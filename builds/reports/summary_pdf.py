"""The fault summary as a PDF: first page, findings, edits, change list, stages and appendix."""

from io import BytesIO
from itertools import islice

from django.utils.translation import gettext as _
from reportlab.lib.units import mm
from reportlab.platypus import PageBreak, Spacer

from builds.reports.executive import executive
from builds.reports.figures import format_limits
from builds.reports.findings_pdf import edit_table, finding_story
from builds.reports.gather import FaultSummary
from builds.reports.pdf_base import (
    CELL,
    H1,
    H2,
    SMALL,
    diff_para,
    fit_on_one_page,
    keep_heading,
    para,
    table,
    write_pdf,
)
from builds.reports.plot_pdf import plot_drawing
from builds.reports.texts import method_text, more_text
from builds.ui.formatting import format_figure, signed_number
from builds.ui.moments import format_moment
from builds.ui.shares import format_yield

MOST_DEVIATIONS = 400  # printed; the CSV has the rest
MOST_CORRELATIONS = 30
MOST_PHOTOS = 60  # in the whole document; the archive has them all


def summary_pdf(summary: FaultSummary) -> bytes:
    out = BytesIO()
    write_summary(out, summary)
    return out.getvalue()


def write_summary(out, summary: FaultSummary) -> None:
    """Write the PDF to a file. What grows with the builds is capped, and says so where it is."""
    revision = summary.revision
    story = [
        fit_on_one_page(list(_executive(summary))),
        PageBreak(),
        para(_("Findings"), H2),
        *_findings(summary),
        *_edits(summary),
        *_changes(summary),
        *_proofs(summary),
        *_correlations(summary),
        para(_("Stages"), H2),
        _stages(summary),
        PageBreak(),
        para(_("Appendix"), H1),
        *keep_heading(_("All checks"), _checks(summary)),
        *keep_heading(_("All deviations"), *_deviations(summary)),
        *_method(),
    ]
    write_pdf(
        out,
        story,
        title=_title(revision),
        footer=_title(revision),
    )


def _executive(summary):
    """The first page, and no more than that."""
    first = executive(summary)
    yield para(_title(summary.revision), H1)
    made = _("Summary made %(at)s.") % {"at": format_moment(summary.made_at, year=True)}
    yield para(f"{first.programme} {made}", SMALL)
    yield para(first.sentence, H2)
    yield table(
        [[h.label for h in first.headlines], [[para(h.figure, H2), para(h.small, SMALL)] for h in first.headlines]],
        [174 / len(first.headlines)] * len(first.headlines),
    )
    if first.mend_first:
        yield para(_("What to correct first"), H2)
        rows = [["", _("Finding"), _("What to do"), _("State")]]
        rows += [
            [str(n), f"{f.title} ({f.stage}); {f.severity_label}", _short(f.suggestion), f.decided]
            for n, f in first.mend_first
        ]
        yield table(rows, (7, 58, 85, 24))
        if first.more:
            yield para(more_text(first.more), SMALL)
    if first.yields:
        yield para(_("First-pass yield"), H2)
        yield plot_drawing(first.yields, 84 * mm)
    if first.unknown:
        yield para(first.unknown, SMALL)


def _title(revision) -> str:
    names = {"kit": revision.name, "letter": revision.letter}
    return _("Fault summary: %(kit)s, revision %(letter)s") % names


def _changes_title(listed) -> str:
    return (
        _("Change list for revision %(letter)s") % {"letter": listed.next.letter} if listed.next else _("Change list")
    )


def _erratum(erratum) -> str:
    names = {"stage": erratum.stage.title, "about": erratum.about, "text": erratum.told}
    return _("Erratum, %(stage)s, %(about)s: %(text)s") % names


def _short(text: str, most: int = 150) -> str:
    return text if len(text) <= most else text[:most].rsplit(" ", 1)[0] + " …"


def _findings(summary):
    photos_left = MOST_PHOTOS
    for number, finding in enumerate(summary.findings, 1):
        story, photos_left = finding_story(number, finding, photos_left)
        yield from story
    if not summary.findings:
        yield para(_("No check had a reading out of band, and no snag was reported."))


def _edits(summary):
    rows = [edit for finding in summary.findings for edit in finding.edits]
    if rows:
        yield from keep_heading(
            _("Edits of the guide"),
            para(_("Deleted text is struck through, new text is underlined."), SMALL),
            edit_table(rows),
        )


def _changes(summary):
    listed = summary.changes
    if not listed:
        return
    yield para(_changes_title(listed), H2)
    rows = [[_("Where"), _("Decision"), _("Reason"), _("Evidence")]]
    rows += [
        [
            c.about,
            c.state_text,
            c.reason or "–",
            c.evidence_text,
        ]
        for c in listed.changes
    ]
    if len(rows) > 1:
        yield table(rows, (44, 24, 48, 58))
    if listed.by_hand:
        rows = [[d.name, d.what, diff_para(d.pieces, CELL)] for d in listed.other_edits]
        yield table([[_("Other edits"), _("What"), _("Edit")], *rows], (52, 30, 92))
    for erratum in listed.errata:
        yield para(_erratum(erratum), SMALL)


def _proofs(summary):
    if summary.proofs:
        yield para(_("Effect of the changes of this revision"), H2)
        for proof in summary.proofs:
            yield para(f"{proof.about}: {proof.sentence}")


def _correlations(summary):
    """What goes with a batch or a make of part is for the supplier, not for the guide: before the stages."""
    if summary.correlations:
        yield para(_("Correlations"), H2)
        yield table(
            [[_("Check"), _("Correlated with"), _("Finding")]]
            + [
                [f"{r.check.title} ({r.check.stage.title})", r.label, r.sentence]
                for r in summary.correlations[:MOST_CORRELATIONS]
            ],
            (54, 34, 86),
        )
        more = len(summary.correlations) - MOST_CORRELATIONS
        rest = _("%(count)d weaker correlations are in the JSON file.") % {"count": more} if more > 0 else ""
        yield para(
            " ".join(
                filter(
                    None,
                    (_("About one in twenty of these is due to chance. A correlation does not prove a cause."), rest),
                )
            ),
            SMALL,
        )


def _stages(summary):
    rows = [
        [
            _("Stage"),
            _("Builds finished"),
            _("First-pass yield"),
            _("Retakes"),
            _("Snags"),
            _("Median minutes"),
            _("Minutes in the guide"),
        ]
    ]
    rows += [
        [
            s.title,
            s.through,
            format_yield(s.first_pass),
            s.retakes,
            s.snags,
            f"{minutes:.0f}" if minutes is not None else "–",
            s.minutes_guide or "–",
        ]
        for s, minutes in summary.stage_minutes
    ]
    return table(rows, (48, 17, 45, 17, 13, 18, 16))


def _checks(summary):
    rows = [
        [
            _("Check"),
            _("Builds"),
            _("First-pass yield"),
            _("Median"),
            _("Spread"),
            _("Mean (95 % interval)"),
            _("Finding"),
        ]
    ]
    for c in summary.checks:
        s = c.summary
        rows.append(
            [
                f"{c.title} ({c.stage})",
                c.builds_text,
                format_yield(c.first_pass),
                format_figure(s.median, c.unit) if s.median is not None else "–",
                format_figure(s.spread, c.unit) if s.spread is not None else "–",
                c.mean_text,
                c.claim,
            ]
        )
    return table(rows, (45, 13, 27, 17, 16, 24, 32))


def _deviations(summary):
    rows = [[_("Build"), _("Check"), _("Attempt"), _("Reading"), _("Corrected"), _("Band"), _("Verdict (deviation)")]]
    for r in islice(summary.deviations, MOST_DEVIATIONS):
        unit = r.check_row.unit
        rows.append(
            [
                r.build.serial,
                r.check_row.title,
                r.attempt,
                r.shown,
                format_figure(r.at_reference, unit) if r.at_reference is not None else _("over range"),
                format_limits(r.low, r.high, unit),
                f"{r.outcome} ({signed_number(r.deviation, 1)})",
            ]
        )
    yield para(
        _(
            "Corrected: without the loading of the meter, at the mains voltage of the guide. Deviations are in band "
            "half-widths: the limits of the band are at −1 and 1."
        ),
        SMALL,
    )
    yield table(rows, (20, 46, 9, 20, 22, 30, 27)) if len(rows) > 1 else para(_("None."))
    more = len(summary.deviations) - MOST_DEVIATIONS
    if more > 0:
        yield para(_("%(count)d more are in the CSV file of all readings.") % {"count": more}, SMALL)


def _method():
    yield para(_("Method"), H2)
    yield para(method_text(), SMALL)
    yield Spacer(1, 3 * mm)
    yield para(
        _("The kit holds lethal voltages. Local codes and licensed practice come before anything written here."), SMALL
    )
