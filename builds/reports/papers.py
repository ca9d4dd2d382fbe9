"""Papers for one build: the packing slip with its invitation, and the build record."""

import segno
from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, KeepTogether, Spacer, TableStyle

from builds.accounts.cautions import CAUTIONS
from builds.bench.charts import KINDS, chart
from builds.reports.pdf_base import H1, H2, H3, SMALL, build_pdf, para, picture, table
from builds.reports.record_marks import lead_para, scale_drawing, verdict_para
from builds.reports.words import limits_words
from checks.entry import with_unit
from checks.quantity import format_quantity
from checks.safety import TOUCH_DC

LONG = ParagraphStyle("long", parent=H2, keepWithNext=0)


def qr_drawing(link: str, size: float) -> Drawing:
    matrix = [list(row) for row in segno.make(link, error="m").matrix]
    cell = size / (len(matrix) + 8)
    drawing = Drawing(size, size)
    for y, row in enumerate(matrix):
        for x, dark in enumerate(row):
            if dark:
                drawing.add(
                    Rect((x + 4) * cell, size - (y + 5) * cell, cell, cell, fillColor=colors.black, strokeColor=None)
                )
    return drawing


def packing_slip(build, link: str) -> bytes:
    """What lies in the box: serial number, invitation, the cautions that come before everything, and lines for the
    valves."""
    kit = build.revision
    story = [
        para(kit.name, H1),
        para(f"Serial {build.serial} · guide revision {kit.letter}", H2),
        para(
            "Scan the square with your phone, or type the address. It works once, and only for this kit. It asks your "
            "name, your meter and your mains, and then leads you through the build."
        ),
        qr_drawing(link, 55 * mm),
        para(link, SMALL),
        para("Before anything else", H2),
    ]
    story += [lead_para(f"{title}.", words) for title, words in CAUTIONS.values()]
    story.append(
        para("These are the usual cautions, not a licence: local codes and licensed practice come first.", SMALL)
    )
    story += _valve_lines(kit)
    return build_pdf(story, title=f"Packing slip {build.serial}", footer=f"{kit.name}, serial {build.serial}")


def _valve_lines(revision):
    """Lines to write the make and the date code of each valve on, before it is fitted."""
    valves = [part for part in revision.parts.all() if part.detail.get("base")]
    rows = [["Valve", "Type", "Make", "Date code"], *([v.ref, v.detail.get("type", ""), "", ""] for v in valves)]
    lines = table(rows, (20, 30, 72, 52))
    lines.setStyle(TableStyle([("BOTTOMPADDING", (0, 1), (-1, -1), 14)]))
    return [KeepTogether([para("The valves in this box", H2), lines])] if valves else []


def build_record(build) -> bytes:
    """One build on paper: the voltage and resistance charts, stages, all readings, snags, photos, and where to sign."""
    revision = build.revision
    story = [
        para(f"Build record: {revision.name}", H1),
        para(
            f"Serial {build.serial}, revision {revision.letter}, built by {build.builder or 'nobody yet'}; "
            f"{build.mains_volts} V {build.mains_hertz} Hz; meter: {build.meter.name if build.meter else 'not said'}."
        ),
    ]
    for kind in KINDS:
        story += [para(f"{kind.capitalize()} chart", H2), *_chart(build, kind)]
    story += [
        para("Stages", H2),
        _stages(build),
        _signature(build),
        *_over_pages("Every reading"),
        _readings(build),
        *_extras(build),
        *_made_safes(build),
    ]
    story += [
        para("Snags", H2),
        *([para(f"{s.at:%d %b %Y}, {s.severity}: {s.words}") for s in build.snags.all()] or [para("None.")]),
    ]
    story += [para("Photos", H2), *_photos(build)]
    return build_pdf(story, title=f"Build record {build.serial}", footer=f"{revision.name}, serial {build.serial}")


def _over_pages(title: str):
    """A heading for a table longer than a page: kept with its first rows only, or the whole table would start a new
    page."""
    return [CondPageBreak(45 * mm), para(title, LONG)]


def _extras(build):
    rows = [[f"{e.at:%d %b %H:%M}", e.words, e.typed] for e in build.extra_readings.all()]
    return (
        [para("Beside the guide, power off", H2), table([["When", "Where", "Typed"], *rows], (24, 110, 40))]
        if rows
        else []
    )


def _made_safes(build):
    """Every reading that was logged to make the kit safe, those that were still too high among them."""
    rows = [
        [
            f"{m.at:%d %b %Y %H:%M}",
            with_unit(m.typed, "V"),
            "safe" if m.is_safe else f"not safe: {TOUCH_DC:g} V or more",
        ]
        for m in build.made_safes.all()
    ]
    heading = para("Made safe", H2)
    return [heading, table([["When", "Volts DC", ""], *rows], (44, 60, 70)) if rows else para("None yet.")]


def _limits(band, unit) -> str:
    return limits_words(band.low, band.high, unit) if band else "–"


def _chart(build, kind):
    """A table for each socket and stage; rows may go over to the next page, so that none is left half empty."""
    conceded = _conceded(build)
    for socket in chart(build, kind):
        for found in socket.tables:
            rows = [["Pin", "Electrode", "Expected", "Band", "Read", "Verdict"]]
            rows += [_chart_row(row, cell, conceded) for row in found.rows for cell in row.cells]
            yield para(
                f"{socket.valve.ref} ({socket.valve.detail.get('type', '')}, {socket.base}): {found.stage.title}", H3
            )
            yield table(rows, (12, 34, 26, 42, 26, 34))


def _chart_row(row, cell, conceded):
    unit, expected = cell.check.unit, cell.band.expected if cell.band else None
    read = with_unit(cell.standing.latest.typed, unit) if cell.standing else "–"
    return [
        row.pin,
        row.electrode,
        format_quantity(expected, unit) if expected is not None else "–",
        _limits(cell.band, unit),
        read,
        verdict_para(cell.standing.outcome, conceded.get(cell.check.pk, "")) if cell.standing else "not yet read",
    ]


def _conceded(build) -> dict[int, str]:
    """Check id -> the designer's reason, where a reading was conceded."""
    return dict(build.concessions.values_list("check_row", "reason"))


def _stages(build):
    """Stage by stage: what was ticked, when it was done, and a line to sign on paper."""
    ticks = dict(build.ticks.values_list("step_id", "at"))
    done = dict(build.visits.values_list("stage_id", "done_at"))
    rows = [["Stage", "Steps ticked", "Done", "Signed"]]
    for stage in build.revision.stages.prefetch_related("steps"):
        ticked = sum(s.pk in ticks for s in stage.steps.all())
        when = done.get(stage.pk)
        rows.append(
            [
                stage.title,
                f"{ticked} of {len(stage.steps.all())}",
                f"{when:%d %b %Y %H:%M}" if when else "–",
                f"{build.builder or ''}" if when else "",
            ]
        )
    return table(rows, (70, 28, 38, 38))


def _signature(build):
    """Serial number, date and name, to sign under."""
    done = f"{build.finished_at:%d %B %Y}" if build.finished_at else "not signed off yet"
    rows = [
        ["Serial number", build.serial],
        ["Signed off", done],
        ["Builder", f"{build.builder or ''}"],
        ["Signature", Spacer(1, 14 * mm)],
    ]
    return KeepTogether([para("Signed off", H2), table(rows, (50, 124), header=False)])


MOST_PHOTOS = 40


def _photos(build):
    """The photos, three in a row, each with its stage and date; how many were left out is said."""
    photos = list(build.photos.select_related("stage", "step", "check_row"))
    if not photos:
        return [para("None.")]
    cells = [[picture(photo, 52 * mm), para(_caption(photo), SMALL)] for photo in photos[:MOST_PHOTOS]]
    rows = [cells[n : n + 3] + [""] * (3 - len(cells[n : n + 3])) for n in range(0, len(cells), 3)]
    more = len(photos) - MOST_PHOTOS
    return [
        table(rows, (58, 58, 58), header=False),
        *([para(f"{more} more are on the build's page.", SMALL)] if more > 0 else []),
    ]


def _caption(photo) -> str:
    about = photo.check_row.title if photo.check_row else "a snag" if photo.snag_id else ""
    return f"{photo.stage.title}{', ' if about else ''}{about}, {photo.at:%d %b %H:%M}"


def _readings(build):
    """Every attempt with its scale drawing, its verdict and, where it was conceded, why."""
    conceded = _conceded(build)
    rows = [["When", "Check", "Typed", "On its band", "Verdict"]]
    for r in build.readings.select_related("check_row__stage"):
        check, out = r.check_row, r.outcome not in ("in band", "too close to call")
        again = f" (try {r.attempt}{', a typing slip' if r.is_slip else ''})" if r.attempt > 1 else ""
        band = [
            scale_drawing(r.low, r.high, r.true_value, r.u, 42 * mm),
            para(limits_words(r.low, r.high, check.unit), SMALL),
        ]
        rows.append(
            [
                f"{r.at:%d %b %H:%M}",
                f"{check.title}{again}",
                with_unit(r.typed, "V" if check.through else check.unit),
                band,
                verdict_para(r.outcome, conceded.get(check.pk, "") if out else ""),
            ]
        )
    return table(rows, (23, 48, 21, 45, 37)) if len(rows) > 1 else para("None yet.")
