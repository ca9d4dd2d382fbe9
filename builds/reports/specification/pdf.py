"""The specification sheet on paper."""

import math

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, Spacer

from builds.reports.pdf_base import H1, H2, SMALL, build_pdf, keep_heading, para, table
from builds.reports.plot_pdf import plot_drawing
from builds.reports.specification.abbreviations import explain_measures
from builds.ui.formatting import format_figure, on_one_line
from builds.ui.moments import format_day

BESIDE = 2  # columns of a plot's table
SHAPES = {"dot": "●", "ring": "○", "cross": "×", "square": "■", "diamond": "◆"}


def specification_pdf(sheet) -> bytes:
    revision = sheet.revision
    title = _("%(kit)s, revision %(letter)s: specification") % {"kit": revision.name, "letter": revision.letter}
    story = [para(revision.name, H1), para(_heading(sheet), SMALL)]
    if not sheet.figures:
        story.append(para(_("No figure of the finished amplifier has been measured yet.")))
    else:
        story += keep_heading(_("Measured figures"), _figures(sheet))
    if sheet.valves:
        story += keep_heading(_("Valves"), _valves(sheet))
    if sheet.measured_on:
        story += keep_heading(_("Builds measured"), _builds(sheet))
    if sheet.plots:
        heading = [para(_("Plots of build %(serial)s") % {"serial": sheet.reference.serial}, H2)]
        for plot in sheet.plots:
            marks = "; ".join(f"{SHAPES.get(shape, shape)} {text}" for shape, text in plot.legend)
            caption = f"{plot.description} {marks}".strip()
            together = KeepTogether([*heading, plot_drawing(plot, 150 * mm), para(caption, SMALL)])
            story, heading = [*story, together, Spacer(1, 2 * mm), _behind(plot), Spacer(1, 4 * mm)], []
    if terms := [list(row) for row in explain_measures(sheet.measured)]:
        story += keep_heading(_("Terms"), table(terms, (42, 132), header=False))
    return build_pdf(story, title=title, footer=title)


def _heading(sheet) -> str:
    return _("Revision %(letter)s, %(volts)s V %(hertz)s Hz mains. Made on %(day)s.") % {
        "letter": sheet.revision.letter,
        "volts": sheet.revision.mains_volts,
        "hertz": sheet.revision.mains_hertz,
        "day": format_day(sheet.made_at),
    }


def _figures(sheet):
    rows = [[_("Figure"), _("Median"), _("10 % to 90 % of builds"), _("Builds"), _("Conditions")]]
    for figure in sheet.figures:
        unit = figure.check.unit
        spread = spread_text(figure)
        rows.append(
            [
                figure.check.title,
                format_figure(figure.median, unit),
                spread,
                str(figure.builds),
                "; ".join(figure.conditions),
            ]
        )
    return table(rows, (46, 23, 41, 14, 50))


def spread_text(figure) -> str:
    if figure.low is None:
        return ngettext("one build only", "too few builds", figure.builds)
    low, high = (on_one_line(format_figure(value, figure.check.unit)) for value in (figure.low, figure.high))
    return _("%(low)s to %(high)s") % {"low": low, "high": high}


def _behind(plot):
    """The table behind a plot, side by side where it is long."""
    half = math.ceil(len(plot.rows) / BESIDE)
    columns = [plot.rows[at : at + half] for at in range(0, len(plot.rows), half or 1)]
    blank = ("",) * len(plot.head)
    rows = [[text for column in columns for text in (column[n] if n < len(column) else blank)] for n in range(half)]
    return table(
        [list(plot.head) * len(columns), *rows], (174 / len(plot.head) / BESIDE,) * len(plot.head) * len(columns)
    )


def _builds(sheet):
    head = [_("Build"), _("Mains"), _("Instrument"), _("Valves fitted: type, make, date code")]
    rows = [[b.serial, b.mains, b.instrument, valves_text(b)] for b in sheet.measured_on]
    return table([head, *rows], (22, 28, 54, 70))


def valves_text(build) -> str:
    """One line a socket."""
    return "; ".join(" ".join(filter(None, valve)) for valve in build.valves) or _("not noted")


def _valves(sheet):
    rows = [[_("Socket"), _("Type"), _("Permitted alternatives")], *map(list, sheet.valves)]
    return table(rows, (30, 50, 94))
