"""The fault summary as a PDF: what was built, findings ranked, stages, and every deviation."""

from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, PageBreak, Spacer

from builds.reports.gather import FaultSummary, Finding
from builds.reports.pdf_base import BODY, H1, H2, H3, QUOTE, SMALL, build_pdf, para, picture, scale_drawing, table
from checks.quantity import format_quantity

HARM = {4: "danger or stop", 3: "out of band under power", 2: "out of band or repeated snag", 1: "minor"}


def summary_pdf(summary: FaultSummary) -> bytes:
    revision = summary.revision
    story = [para(f"Fault summary: {revision.name}, revision {revision.letter}", H1),
             para(f"Made {summary.made_at:%d %B %Y, %H:%M} UTC", SMALL), *_opening(summary), para("Findings", H2)]
    for number, finding in enumerate(summary.findings, 1):
        story += _finding(number, finding)
    if not summary.findings:
        story.append(para("No check was missed and no snag was reported."))
    story += [para("Stages", H2), _stages(summary), PageBreak(), para("Appendix: every deviation", H2), _appendix(summary),
              Spacer(1, 6 * mm), para("Readings were judged with each builder's meter and mains. The kit holds lethal voltages; "
                                      "local codes and licensed practice come before anything said here.", SMALL)]
    return build_pdf(story, title=f"Fault summary: {revision.name}, revision {revision.letter}",
                     footer=f"{revision.name}, revision {revision.letter}: fault summary")


def _opening(summary):
    taken = sum(1 for b in summary.builds if b.builder_id)
    people = len({b.builder_id for b in summary.builds if b.builder_id})
    mains = ", ".join(f"{k} ({n})" for k, n in summary.mains.items()) or "none"
    meters = ", ".join(f"{k} ({n})" for k, n in summary.meters.items()) or "none"
    worst = [f for f in summary.findings if f.harm == 4]
    lines = [f"{len(summary.builds)} builds made, {taken} taken on by {people} builders, {summary.under_way} begun, "
             f"{summary.finished} signed off.", f"Mains: {mains}.", f"Meters: {meters}.",
             f"{len(summary.findings)} findings, {len(worst)} of them with a stop or danger."]
    top = [["", "Finding", "Suggested edit"]] + [[str(n), f"{f.title} ({f.stage})", f.suggestion]
                                                 for n, f in enumerate(summary.findings[:6], 1)]
    return [*(para(line) for line in lines), *([para("What to mend first", H2), table(top, (8, 62, 104))]
                                               if summary.findings else [])]


def _finding(number: int, finding: Finding):
    head = [para(f"{number}. {finding.title}", H3),
            para(f"{finding.stage} · {HARM[finding.harm]} · missed by {finding.missed.successes} of {finding.missed.n} builds "
                 f"({finding.missed.low:.0%} to {finding.missed.high:.0%} at 95 %)", SMALL)]
    body = []
    if finding.summary and finding.summary.median is not None:
        body += [para(_evidence(finding)), scale_drawing(finding.band, finding.values, finding.unit)]
    body += [para(f"“{snag.words}” ({snag.build.serial}, {snag.severity}: {snag.get_kind_display()})", QUOTE)
             for snag in finding.snags[:6]]
    if finding.causes:
        body.append(para(f"Cause found: {', '.join(finding.causes)}."))
    body.append(para(f"Suggested edit: {finding.suggestion}", BODY))
    pictures = [picture(photo, 54 * mm) for photo in finding.photos[:60]]
    rows = [pictures[i:i + 3] for i in range(0, len(pictures), 3)]
    shown = [table([row + [""] * (3 - len(row)) for row in rows], (58, 58, 58), header=False)] if rows else []
    more = len(finding.photos) - len(pictures)
    left_out = [para(f"{more} more photos are on the pages of these builds.", SMALL)] if more else []
    return [KeepTogether(head + body[:3]), *body[3:], *shown, *left_out]


def _evidence(finding: Finding) -> str:
    s, unit = finding.summary, finding.unit
    figure = (f"Guide {format_quantity(finding.band.expected, unit)}, " if finding.band and
              finding.band.expected is not None else "")
    over = f", {s.over} over range" if s.over else ""
    return (f"{figure}{s.n} builds{over}: median {format_quantity(s.median, unit)}, robust spread "
            f"{format_quantity(s.spread, unit, 2)}; centre off by {finding.meaning.shift:+.2f} half-bands. "
            f"{finding.meaning.words}")


def _stages(summary):
    rows = [["Stage", "Builds done", "First-pass yield", "Re-takes", "Snags", "Guide's minutes"]]
    rows += [[s.title, s.through, f"{s.first_pass.share:.0%} of {s.first_pass.n} ({s.first_pass.low:.0%}–"
              f"{s.first_pass.high:.0%})" if s.first_pass.n else "–", s.retakes, s.snags, s.minutes_guide or "–"]
             for s in summary.stages]
    return table(rows, (58, 22, 42, 18, 14, 20))


def _appendix(summary):
    rows = [["Build", "Check", "Try", "Typed", "At guide's mains", "Band there", "Verdict"]]
    for r in summary.deviations:
        unit = r.check_row.unit
        at = format_quantity(r.at_reference, unit) if r.at_reference is not None else "over range"
        limits = " – ".join(format_quantity(v, unit) if v is not None else "" for v in (r.low, r.high))
        rows.append([r.build.serial, r.check_row.title, r.attempt, r.typed, at, limits, f"{r.outcome} ({r.deviation:+.1f})"])
    return table(rows, (20, 48, 9, 20, 24, 30, 23)) if len(rows) > 1 else para("None.")
