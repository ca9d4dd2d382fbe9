"""The fault summary as a PDF: a page for whoever has a minute, findings, edits, the change list, stages, and the
appendix."""

from io import BytesIO
from itertools import islice

from reportlab.lib.units import mm
from reportlab.platypus import PageBreak, Spacer

from builds.reports.executive import executive
from builds.reports.findings_pdf import edit_table, finding_story
from builds.reports.gather import FaultSummary
from builds.reports.pdf_base import CELL, H1, H2, SMALL, diff_para, headed, one_page, para, table, write_pdf
from builds.reports.plot_pdf import plot_drawing
from builds.reports.words import METHOD, interval_words, limits_words, signed
from checks.quantity import format_quantity

MOST_DEVIATIONS = 400  # printed; the CSV has the rest
MOST_LEANINGS = 30
MOST_PHOTOS = 60  # in the whole document; the archive has them all


def summary_pdf(summary: FaultSummary) -> bytes:
    out = BytesIO()
    write_summary(out, summary)
    return out.getvalue()


def write_summary(out, summary: FaultSummary) -> None:
    """Write the PDF to a file. What grows with the builds is capped, and says so where it is."""
    revision = summary.revision
    story = [
        one_page(list(_executive(summary))),
        PageBreak(),
        para("Findings", H2),
        *_findings(summary),
        *_edits(summary),
        *_changes(summary),
        *_proofs(summary),
        *_leanings(summary),
        para("Stages", H2),
        _stages(summary),
        PageBreak(),
        para("Appendix", H1),
        *headed("Every check", _checks(summary)),
        *headed("Every deviation", *_deviations(summary)),
        *_method(),
    ]
    write_pdf(
        out,
        story,
        title=f"Fault summary: {revision.name}, revision {revision.letter}",
        footer=f"{revision.name}, revision {revision.letter}: fault summary",
    )


def _executive(summary):
    """The first page, and no more than that."""
    told, revision = executive(summary), summary.revision
    mains = ", ".join(f"{k} ({n})" for k, n in summary.mains.items()) or "none"
    meters = ", ".join(f"{k} ({n})" for k, n in summary.meters.items()) or "none"
    yield para(f"Fault summary: {revision.name}, revision {revision.letter}", H1)
    yield para(
        f"{len(summary.builds)} builds made. Mains: {mains}. Meters: {meters}. "
        f"Made {summary.made_at:%d %B %Y, %H:%M} UTC.",
        SMALL,
    )
    yield para(told.sentence, H2)
    yield table(
        [[h.label for h in told.headlines], [[para(h.figure, H2), para(h.small, SMALL)] for h in told.headlines]],
        [174 / len(told.headlines)] * len(told.headlines),
    )
    if told.mend_first:
        yield para("What to mend first", H2)
        rows = [["", "Finding", "What to do", "Decided"]]
        rows += [
            [str(n), f"{f.title} ({f.stage}); {f.harm_words}", _short(f.suggestion), f.decided]
            for n, f in enumerate(told.mend_first, 1)
        ]
        yield table(rows, (7, 58, 85, 24))
        if told.more:
            yield para(f"{told.more} more follow on the next pages.", SMALL)
    if told.yields:
        yield para("Right at the first attempt", H2)
        yield plot_drawing(told.yields, 84 * mm)
    if told.unknown:
        yield para(told.unknown, SMALL)


def _short(words: str, most: int = 150) -> str:
    return words if len(words) <= most else words[:most].rsplit(" ", 1)[0] + " …"


def _findings(summary):
    left = MOST_PHOTOS
    for number, finding in enumerate(summary.findings, 1):
        story, left = finding_story(number, finding, left)
        yield from story
    if not summary.findings:
        yield para("No check was missed and no snag was reported.")


def _edits(summary):
    rows = [edit for finding in summary.findings for edit in finding.edits]
    if rows:
        yield from headed(
            "Edits of the guide's text",
            para("What goes is struck through, what comes is underlined.", SMALL),
            edit_table(rows),
        )


def _changes(summary):
    listed = summary.changes
    if not listed:
        return
    yield para(f"Change list{f' for revision {listed.next.letter}' if listed.next else ''}", H2)
    rows = [["Where", "Decided", "Why", "On what evidence"]]
    rows += [
        [
            c.about,
            f"{c.state}{f', in {c.letter}' if c.letter else ''}",
            c.reason or "–",
            f"{c.evidence}{f' (answers {c.answers})' if c.answers else ''}",
        ]
        for c in listed.changes
    ]
    if len(rows) > 1:
        yield table(rows, (44, 24, 48, 58))
    if listed.by_hand:
        rows = [[d.name, d.what, diff_para(d.pieces, CELL)] for d in listed.told_by_hand]
        yield table([["By hand", "What", "Edit"], *rows], (52, 30, 92))
    for erratum in listed.errata:
        yield para(f"Erratum, {erratum.stage.title}, {erratum.about}: {erratum.words}", SMALL)


def _proofs(summary):
    if summary.proofs:
        yield para(f"What revision {summary.revision.letter} changed, and whether it worked", H2)
        for proof in summary.proofs:
            yield para(f"{proof.about}: {proof.words}")


def _leanings(summary):
    """What goes with a batch or a make is mended at the supplier's and not in the guide: said before the stages."""
    if summary.leanings:
        yield para("What the readings go with", H2)
        yield table(
            [["Check", "With", "In words"]]
            + [[f"{r.check.title} ({r.check.stage.title})", r.of, r.words] for r in summary.leanings[:MOST_LEANINGS]],
            (54, 34, 86),
        )
        more = len(summary.leanings) - MOST_LEANINGS
        yield para(
            "One in twenty of these may be chance. What goes together need not be cause and effect."
            f"{f' The {more} less sure are in the JSON.' if more > 0 else ''}",
            SMALL,
        )


def _stages(summary):
    rows = [["Stage", "Builds done", "Right at first", "Re-takes", "Snags", "Minutes, middle", "Guide's"]]
    rows += [
        [
            s.title,
            s.through,
            interval_words(s.first_pass),
            s.retakes,
            s.snags,
            f"{minutes:.0f}" if minutes is not None else "–",
            s.minutes_guide or "–",
        ]
        for s, minutes in summary.stage_minutes
    ]
    return table(rows, (48, 17, 45, 17, 13, 18, 16))


def _checks(summary):
    rows = [["Check", "Builds", "Right at first", "Middle", "Spread", "Mean, likely", "What it means"]]
    for c in summary.checks:
        s = c.summary
        mean = "–" if s.mean_low is None else limits_words(s.mean_low, s.mean_high, c.unit)
        rows.append(
            [
                f"{c.title} ({c.stage})",
                f"{s.n}{f', {s.over} over' if s.over else ''}",
                interval_words(c.first_pass),
                format_quantity(s.median, c.unit) if s.median is not None else "–",
                format_quantity(s.spread, c.unit, 2) if s.spread is not None else "–",
                mean,
                c.meaning.claim,
            ]
        )
    return table(rows, (45, 13, 27, 17, 16, 24, 32))


def _deviations(summary):
    rows = [["Build", "Check", "Try", "Typed", "Corrected", "Band there", "Verdict"]]
    for r in islice(summary.deviations, MOST_DEVIATIONS):
        unit = r.check_row.unit
        rows.append(
            [
                r.build.serial,
                r.check_row.title,
                r.attempt,
                r.typed,
                format_quantity(r.at_reference, unit) if r.at_reference is not None else "over range",
                limits_words(r.low, r.high, unit),
                f"{r.outcome} ({signed(r.deviation)})",
            ]
        )
    yield para(
        "Corrected: without the meter's loading, and at the guide's mains. Beside the verdict: how far "
        "from the figure, where 1 "
        "is the limit.",
        SMALL,
    )
    yield table(rows, (20, 46, 9, 20, 22, 30, 27)) if len(rows) > 1 else para("None.")
    more = len(summary.deviations) - MOST_DEVIATIONS
    if more > 0:
        yield para(f"{more} more are in the file of all readings.", SMALL)


def _method():
    yield para("How this was worked out", H2)
    yield para(METHOD, SMALL)
    yield Spacer(1, 3 * mm)
    yield para(
        "The kit holds lethal voltages; local codes and licensed practice come before anything said here.", SMALL
    )
