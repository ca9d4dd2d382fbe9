"""The specification sheet on paper."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, Spacer

from builds.reports.pdf_base import H1, H2, SMALL, build_pdf, para, table
from builds.reports.plot_pdf import plot_drawing
from builds.reports.specification.abbreviations import explained
from builds.ui.formatting import format_figure
from builds.ui.moments import format_day

SHAPES = {"dot": "●", "ring": "○", "cross": "×", "square": "■", "diamond": "◆"}


def specification_pdf(found) -> bytes:
    revision = found.revision
    title = _("%(kit)s, revision %(letter)s: specification") % {"kit": revision.name, "letter": revision.letter}
    story = [para(revision.name, H1), para(_heading(found), SMALL)]
    if not found.figures:
        story.append(para(_("No figure of the finished amplifier has been measured yet.")))
    else:
        story += [para(_("Measured figures"), H2), _figures(found)]
    if found.valves:
        story += [para(_("Valves"), H2), _valves(found)]
    if found.measured_on:
        story += [para(_("Builds measured"), H2), _builds(found)]
    if found.plots:
        story.append(para(_("Plots of build %(serial)s") % {"serial": found.reference.serial}, H2))
        for plot in found.plots:
            marks = "; ".join(f"{SHAPES.get(shape, shape)} {words}" for shape, words in plot.legend)
            caption = f"{plot.description} {marks}".strip()
            story += [KeepTogether([plot_drawing(plot, 150 * mm), para(caption, SMALL)]), Spacer(1, 4 * mm)]
    if terms := [list(row) for row in explained(found.measured)]:
        story += [para(_("Terms"), H2), table(terms, (42, 132), header=False)]
    return build_pdf(story, title=title, footer=title)


def _heading(found) -> str:
    return _("Revision %(letter)s, %(volts)s V %(hertz)s Hz mains. Made on %(day)s.") % {
        "letter": found.revision.letter,
        "volts": found.revision.mains_volts,
        "hertz": found.revision.mains_hertz,
        "day": format_day(found.made_at),
    }


def _figures(found):
    rows = [[_("Figure"), _("Median"), _("10 % to 90 % of builds"), _("Builds"), _("Conditions")]]
    for figure in found.figures:
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
    return table(rows, (52, 26, 36, 16, 44))


def spread_text(figure) -> str:
    if figure.low is None:
        return ngettext("one build only", "too few builds", figure.builds)
    unit = figure.check.unit
    return _("%(low)s to %(high)s") % {"low": format_figure(figure.low, unit), "high": format_figure(figure.high, unit)}


def _builds(found):
    head = [_("Build"), _("Mains"), _("Instrument"), _("Valves fitted: type, make, date code")]
    rows = [[b.serial, b.mains, b.instrument, valves_text(b)] for b in found.measured_on]
    return table([head, *rows], (22, 28, 54, 70))


def valves_text(build) -> str:
    """One line a socket."""
    return "; ".join(" ".join(filter(None, valve)) for valve in build.valves) or _("not noted")


def _valves(found):
    rows = [[_("Socket"), _("Type"), _("Permitted alternatives")], *map(list, found.valves)]
    return table(rows, (30, 50, 94))
