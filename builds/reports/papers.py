"""Papers for one build: the packing slip with its invitation, and the build record."""
import segno
from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib import colors
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether

from builds.accounts.cautions import CAUTIONS
from builds.bench.charts import KINDS, chart
from builds.reports.pdf_base import BODY, H1, H2, H3, SMALL, build_pdf, para, table
from checks.quantity import format_quantity


def qr_drawing(link: str, size: float) -> Drawing:
    matrix = [list(row) for row in segno.make(link, error="m").matrix]
    cell = size / (len(matrix) + 8)
    drawing = Drawing(size, size)
    for y, row in enumerate(matrix):
        for x, dark in enumerate(row):
            if dark:
                drawing.add(Rect((x + 4) * cell, size - (y + 5) * cell, cell, cell, fillColor=colors.black, strokeColor=None))
    return drawing


def packing_slip(build, link: str) -> bytes:
    """What lies in the box: serial number, invitation, and the cautions that come before everything."""
    kit = build.revision
    story = [para(kit.name, H1), para(f"Serial {build.serial} · guide revision {kit.letter}", H2),
             para("Scan the square with your phone, or type the address. It works once, and only for this kit. It asks your "
                  "name, your meter and your mains, and then leads you through the build."),
             qr_drawing(link, 55 * mm), para(link, SMALL), para("Before anything else", H2)]
    story += [para(f"{title}. {words}", BODY) for title, words in CAUTIONS.values()]
    story.append(para("These are the usual cautions, not a licence: local codes and licensed practice come first.", SMALL))
    return build_pdf(story, title=f"Packing slip {build.serial}", footer=f"{kit.name}, serial {build.serial}")


def build_record(build) -> bytes:
    """One build on paper: the voltage and resistance charts, all readings, steps ticked and snags."""
    revision = build.revision
    story = [para(f"Build record: {revision.name}", H1),
             para(f"Serial {build.serial}, revision {revision.letter}, built by {build.builder or 'nobody yet'}; "
                  f"{build.mains_volts} V {build.mains_hertz} Hz; meter: {build.meter.name if build.meter else 'not said'}.")]
    for kind in KINDS:
        story += [para(f"{kind.capitalize()} chart", H2), *_chart(build, kind)]
    story += [para("Steps", H2), _steps(build), para("Every reading", H2), _readings(build), para("Snags", H2)]
    story += [para(f"{s.at:%d %b %Y}: {s.words}") for s in build.snags.all()] or [para("None.")]
    return build_pdf(story, title=f"Build record {build.serial}", footer=f"{revision.name}, serial {build.serial}")


def _limits(band, unit) -> str:
    if band is None:
        return "–"
    return " – ".join(format_quantity(v, unit) if v is not None else "" for v in (band.low, band.high))


def _chart(build, kind):
    for socket in chart(build, kind):
        rows = [["Pin", "Electrode", "Check", "Expected", "Band", "Read", "Verdict"]]
        for row in socket.rows:
            for cell in row.cells:
                unit, expected = cell.check.unit, cell.band.expected if cell.band else None
                rows.append([row.pin, row.electrode, cell.check.title,
                             format_quantity(expected, unit) if expected is not None else "–", _limits(cell.band, unit),
                             cell.standing.latest.typed if cell.standing else "–",
                             cell.standing.outcome if cell.standing else "not yet read"])
        yield KeepTogether([para(f"{socket.valve.ref} ({socket.valve.detail.get('type', '')}, {socket.base})", H3),
                            table(rows, (9, 24, 46, 20, 36, 17, 22))])


def _steps(build):
    ticks = dict(build.ticks.values_list("step_id", "at"))
    rows = [["Stage", "Steps ticked", "Last tick"]]
    for stage in build.revision.stages.prefetch_related("steps"):
        times = [ticks[s.pk] for s in stage.steps.all() if s.pk in ticks]
        rows.append([stage.title, f"{len(times)} of {len(stage.steps.all())}", f"{max(times):%d %b %Y %H:%M}" if times else "–"])
    return table(rows, (90, 40, 44))


def _readings(build):
    rows = [["When", "Check", "Try", "Typed", "Band there", "Verdict"]]
    rows += [[f"{r.at:%d %b %H:%M}", r.check_row.title, r.attempt, r.typed, " – ".join(
        format_quantity(v, r.check_row.unit) if v is not None else "" for v in (r.low, r.high)), r.outcome]
        for r in build.readings.select_related("check_row__stage")]
    return table(rows, (24, 60, 9, 22, 36, 23)) if len(rows) > 1 else para("None yet.")
