"""Papers for one build: the packing slip with its invitation, and the build record."""

import segno
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, KeepTogether, Spacer, TableStyle

from builds.accounts.cautions import CAUTIONS
from builds.bench.charts import KINDS, chart
from builds.bench.gates.gating import find_power
from builds.bench.readings.passing import is_conceded
from builds.bench.valves.own_valves import list_tests
from builds.guides.alternatives import permitted_types
from builds.reports.figures import format_limits
from builds.reports.pdf_base import H1, H2, H3, SMALL, build_pdf, para, picture, table
from builds.reports.record_marks import lead_para, scale_drawing, verdict_para
from builds.reports.stop_words import stop_words
from builds.ui.formatting import format_entry, format_figure
from builds.ui.moments import format_day, format_moment
from checks.outcomes import Outcome
from checks.safety import TOUCH_DC

CHART_TITLES = {"voltage": gettext_lazy("Voltage chart"), "resistance": gettext_lazy("Resistance chart")}
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
    """The slip in the box: serial number, invitation, cautions, and lines to note the valves on."""
    kit = build.revision
    story = [
        para(kit.name, H1),
        para(_("Serial number %(serial)s · guide revision %(letter)s") % _names(build), H2),
        para(
            _(
                "Scan the QR code with your phone, or type the address. It works once, and only for this kit. It asks "
                "for your name, your meter and your mains, and then leads you through the build."
            )
        ),
        qr_drawing(link, 55 * mm),
        para(link, SMALL),
        para(_("Read this first"), H2),
    ]
    story += [lead_para(f"{title}.", str(text)) for title, text in CAUTIONS.values()]
    story.append(
        para(_("These are the usual cautions. Your local electrical codes and licensed practice come first."), SMALL)
    )
    story += _valve_lines(kit, build)
    return build_pdf(story, title=_("Packing slip %(serial)s") % _names(build), footer=_footer(build))


def _valve_lines(revision, build):
    """Lines to write the make and the date code of each valve on, before it is fitted, and what was measured of it."""
    valves = [part for part in revision.parts.all() if part.detail.get("base")]
    tests = list_tests(build)
    first = {ref: next(iter(rows.values())) for ref, rows in tests.items()}
    rows = [[_("Valve"), _("Type"), _("Make"), _("Date code")]]
    for v in valves:
        test = first.get(v.ref)
        permitted = ", ".join(permitted_types(v))
        rows.append([v.ref, test.type if test else permitted, test.make if test else "", test.code if test else ""])
    lines = table(rows, (20, 46, 62, 46))
    lines.setStyle(TableStyle([("BOTTOMPADDING", (0, 1), (-1, -1), 14)]))
    return [KeepTogether([para(_("Valves in this box"), H2), lines]), *_tested(tests)] if valves else []


def _tested(tests):
    rows = [
        [
            f"{row.ref} {row.section}".strip(),
            ", ".join(
                format_figure(v, "V") for v in (row.anode_volts, row.screen_volts, row.grid_volts) if v is not None
            ),
            format_figure(row.anode_amps, "A"),
            f"{format_figure(row.transconductance, 'A')}/V" if row.transconductance else "–",
        ]
        for by_section in tests.values()
        for row in by_section.values()
    ]
    head = [_("Valve"), _("Anode, screen, grid"), _("Anode current"), _("Transconductance")]
    if not rows:
        return []
    return [KeepTogether([para(_("Measured before dispatch"), H2), table([head, *rows], (20, 62, 46, 46))])]


def build_record(build) -> bytes:
    """One build on paper: voltage and resistance charts, stages, all readings, snags, photos and the sign-off."""
    revision = build.revision
    story = [
        para(_("Build record: %(kit)s") % {"kit": revision.name}, H1),
        para(
            _(
                "Serial number %(serial)s, revision %(letter)s. Builder: %(builder)s. Mains: %(volts)s V, %(hertz)s Hz."
                " Meter: %(meter)s."
            )
            % _names(build)
        ),
        *_stop_first(build),
    ]
    for kind in KINDS:
        story += [para(CHART_TITLES[kind], H2), *_chart(build, kind)]
    story += [
        para(_("Stages"), H2),
        _stages(build),
        _signature(build),
        *_over_pages(_("All readings")),
        _readings(build),
        *_extras(build),
        *_power_record(build),
    ]
    story += [
        para(_("Snags"), H2),
        *([para(f"{format_day(s.at)}, {s.get_severity_display()}: {s.words}") for s in build.snags.all()] or _none()),
    ]
    story += [para(_("Photos"), H2), *_photos(build)]
    return build_pdf(story, title=_("Build record %(serial)s") % _names(build), footer=_footer(build))


def _stop_first(build) -> list:
    orders = stop_words(build, find_power(build))
    return [lead_para(orders, "")] if orders else []


def _names(build) -> dict:
    """What the papers call a build and where it is built."""
    return {
        "serial": build.serial,
        "letter": build.revision.letter,
        "builder": build.builder or _("none yet"),
        "volts": build.mains_volts,
        "hertz": build.mains_hertz,
        "meter": build.meter.name if build.meter else _("not stated"),
    }


def _footer(build) -> str:
    return _("%(kit)s, serial number %(serial)s") % {"kit": build.revision.name, "serial": build.serial}


def _none() -> list:
    return [para(_("None."))]


def _over_pages(title: str):
    """A heading for a table longer than a page: kept with its first rows only, or the whole table would start a new
    page."""
    return [CondPageBreak(45 * mm), para(title, LONG)]


def _extras(build):
    rows = [[format_moment(e.at), e.label, format_entry(e.typed, "Ω")] for e in build.extra_readings.all()]
    head = [_("Time"), _("Probe points"), _("Reading")]
    return [para(_("Extra readings, power off"), H2), table([head, *rows], (34, 100, 40))] if rows else []


def _power_record(build):
    """When the kit was given power, and every reading that was logged to make it safe, those still too high among
    them."""
    events = [(p.at, _("Power on"), "", _why_on(p)) for p in build.power_ons.select_related("stage")]
    events += [(m.at, _("Made safe"), format_entry(m.typed, "V"), _is_safe(m)) for m in build.made_safes.all()]
    rows = [[format_moment(at, year=True), *more] for at, *more in sorted(events)]
    head = [_("Time"), "", _("Volts DC"), ""]
    return [para(_("Power and made safe"), H2), *([table([head, *rows], (44, 30, 30, 70))] if rows else _none())]


def _why_on(power_on) -> str:
    where = f"{power_on.stage.title}: " if power_on.stage else ""
    return f"{where}{power_on.get_why_display()}"


def _is_safe(made) -> str:
    return _("safe") if made.is_safe else _("not safe: %(volts)g V or more") % {"volts": TOUCH_DC}


def _limits(band, unit) -> str:
    return format_limits(band.low, band.high, unit) if band else "–"


def _chart(build, kind):
    """A table for each socket and stage; rows may go over to the next page, so that none is left half empty."""
    conceded = _conceded(build)
    for socket in chart(build, kind):
        for positions in socket.tables:
            rows = [[_("Pin"), _("Electrode"), _("Expected"), _("Band"), _("Reading"), _("Verdict")]]
            rows += [_chart_row(row, cell, conceded) for row in positions.rows for cell in row.cells]
            yield para(
                f"{socket.valve.ref} ({socket.valve.detail.get('type', '')}, {socket.base}): {positions.stage.title}",
                H3,
            )
            yield table(rows, (12, 34, 26, 42, 26, 34))


def _chart_row(row, cell, conceded):
    unit, expected = cell.check.unit, cell.band.expected if cell.band else None
    read = format_entry(cell.status.latest.typed, "V" if cell.check.through else unit) if cell.status else "–"
    is_let_pass = cell.status and cell.status.passed and cell.status.outcome == Outcome.OUT_OF_BAND
    return [
        row.pin,
        row.electrode,
        format_figure(expected, unit) if expected is not None else "–",
        _limits(cell.band, unit),
        read,
        verdict_para(cell.status.shown_outcome, conceded.get(cell.check.pk, "") if is_let_pass else "")
        if cell.status
        else _("not yet read"),
    ]


def _conceded(build) -> dict[int, str]:
    """Check id -> the designer's reason, where a reading was conceded."""
    return dict(build.concessions.values_list("check_row", "reason"))


def _stages(build):
    """Stage by stage: what was ticked, when it was done, and a line to sign on paper."""
    ticks = dict(build.ticks.values_list("step_id", "at"))
    done = dict(build.visits.values_list("stage_id", "done_at"))
    rows = [[_("Stage"), _("Steps ticked"), _("Finished"), _("Signed")]]
    for stage in build.revision.stages.prefetch_related("steps"):
        ticked = sum(s.pk in ticks for s in stage.steps.all())
        when = done.get(stage.pk)
        rows.append(
            [
                stage.title,
                _("%(count)d of %(total)d") % {"count": ticked, "total": len(stage.steps.all())},
                format_moment(when, year=True) if when else "–",
                f"{build.builder or ''}" if when else "",
            ]
        )
    return table(rows, (66, 26, 44, 38))


def _signature(build):
    """Serial number, date and name, to sign under."""
    done = format_day(build.finished_at) if build.finished_at else _("not signed off yet")
    rows = [
        [_("Serial number"), build.serial],
        [_("Date"), done],
        [_("Builder"), f"{build.builder or ''}"],
        [_("Signature"), Spacer(1, 14 * mm)],
    ]
    return KeepTogether([para(_("Sign-off"), H2), table(rows, (50, 124), header=False)])


MOST_PHOTOS = 40


def _photos(build):
    """The photos, three in a row, each with its stage and date; how many were left out is said."""
    photos = list(build.photos.select_related("stage", "step", "check_row"))
    if not photos:
        return _none()
    cells = [[picture(photo, 52 * mm), para(_caption(photo), SMALL)] for photo in photos[:MOST_PHOTOS]]
    rows = [cells[n : n + 3] + [""] * (3 - len(cells[n : n + 3])) for n in range(0, len(cells), 3)]
    more = len(photos) - MOST_PHOTOS
    return [
        table(rows, (58, 58, 58), header=False),
        *([para(_more_photos(more), SMALL)] if more > 0 else []),
    ]


def _more_photos(count: int) -> str:
    text = ngettext(
        "%(count)d more photo is on the build's page.", "%(count)d more photos are on the build's page.", count
    )
    return text % {"count": count}


def _caption(photo) -> str:
    about = photo.check_row.title if photo.check_row else _("a snag") if photo.snag_id else ""
    return ", ".join(filter(None, (photo.stage.title, about, format_moment(photo.at))))


def _readings(build):
    """Every attempt with its scale drawing, its verdict and, where it was conceded, why."""
    conceded = _conceded(build)
    shown_outcomes = {status.latest_id: status.shown_outcome for status in build.statuses.all()}
    rows = [[_("Time"), _("Check"), _("Reading"), _("Tolerance band"), _("Verdict")]]
    for r in build.readings.select_related("check_row__stage"):
        check = r.check_row
        is_let_pass = r.outcome == Outcome.OUT_OF_BAND and check.pk in conceded and is_conceded(build, r)
        band = [
            scale_drawing(r.low, r.high, r.true_value, r.u, 42 * mm),
            para(format_limits(r.low, r.high, check.unit), SMALL),
        ]
        rows.append(
            [
                format_moment(r.at),
                _title(r),
                format_entry(r.typed, "V" if check.through else check.unit),
                band,
                verdict_para(shown_outcomes.get(r.pk, r.outcome), conceded[check.pk] if is_let_pass else ""),
            ]
        )
    return table(rows, (27, 44, 21, 45, 37)) if len(rows) > 1 else para(_("None yet."))


def _title(reading) -> str:
    """The check of a reading, with its attempt where it was retaken."""
    names = {"check": reading.check_row.title, "number": reading.attempt}
    if reading.is_slip:
        return _("%(check)s (attempt %(number)d, corrects a typing error)") % names
    return _("%(check)s (attempt %(number)d)") % names if reading.attempt > 1 else reading.check_row.title
