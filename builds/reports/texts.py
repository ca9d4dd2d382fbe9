"""Sentences that the pages and papers of a fault summary share."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.ui.formatting import format_figure
from builds.ui.messages.findings import band_widths


def method_text() -> str:
    """How a fault summary was worked out, for its appendix."""
    return " ".join(
        (
            _(
                "Readings are corrected for the loading of the meter and scaled to the mains voltage of the guide, and "
                "judged with the builder's own meter."
            ),
            _("Spread is the scaled median absolute deviation."),
            _("“Likely” gives a 95 % interval: Wilson's for a share, Student's for a mean."),
            _("The percentage beside a finding is its probability among seven explanations, given the builds."),
            _(
                "Proposed bands are tolerance intervals (ISO 16269-6) with 90 % confidence, wide enough for 90 of 100 "
                "good builds to pass every check of the guide if builds follow a normal distribution; where they do "
                "not show that, nothing is promised. Deviations are given in band widths; a band width is the whole "
                "band, from low to high."
            ),
            _("Of the findings in this summary, no more than 5 % are expected to be false."),
            _("Correlations are shown where the false discovery rate over all checks is 5 % or less."),
            _(
                "Before and after are compared with Newcombe's interval and Fisher's exact test, and called better or "
                "worse where both agree."
            ),
        )
    )


def median_text(finding) -> str:
    """Guide beside builds: "Guide: 262 V. Median of 9 builds: 231 V (−0.96 band widths)."."""
    summary, unit, band = finding.summary, finding.unit, finding.band
    median = ngettext("Median of %(count)d build: %(median)s", "Median of %(count)d builds: %(median)s", summary.n) % {
        "count": summary.n,
        "median": format_figure(summary.median, unit),
    }
    if band is None or band.expected is None:
        return f"{with_over_range(median, summary)}."
    names = {
        "expected": format_figure(band.expected, unit),
        "median": with_over_range(median, summary),
        "widths": band_widths(finding.meaning.shift),
    }
    return _("Guide: %(expected)s. %(median)s (%(widths)s band widths).") % names


def with_over_range(middle: str, summary) -> str:
    """How many of the builds behind a median are over range, where any is."""
    if not summary.over:
        return middle
    return _("%(what)s, %(count)d of them over range") % {"what": middle, "count": summary.over}


def more_text(count: int) -> str:
    """How many more of a list are elsewhere."""
    return ngettext("%(count)d more follows.", "%(count)d more follow.", count) % {"count": count}
