"""The figures of the finished amplifiers of a revision. A figure that nobody measured is left out."""

from dataclasses import dataclass, field
from datetime import datetime

import numpy as np
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.bench.models import CheckStatus, Recording
from builds.guides.alternatives import alternatives_of, own_type
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.figure_sources import formula_of, request_of
from builds.guides.guide_file.shape import VALVES
from builds.guides.models import Check, Revision
from builds.review.amplifier.recorded import reference_of
from builds.ui.drawings.curves import response_plot, spectrum_plot
from builds.ui.drawings.plot import Plot
from builds.ui.formatting import format_figure
from builds.ui.messages.recordings import SIGNAL_LABELS
from checks.outcomes import Outcome

FEW = 3  # builds below which a spread says nothing


@dataclass(frozen=True)
class SpecifiedFigure:
    """One figure over the builds: median and the range that holds the middle 80 %, in the check's unit.

    `low` and `high` are None below FEW builds. `conditions` are sentences: signal, load, instrument.
    """

    check: Check
    median: float
    low: float | None
    high: float | None
    builds: int
    conditions: tuple[str, ...]


@dataclass(frozen=True)
class Specification:
    """`valves` are (reference, type, permitted alternatives); `plots` are the reference build's."""

    revision: Revision
    figures: tuple[SpecifiedFigure, ...]
    valves: tuple[tuple[str, str, str], ...]
    reference: object | None
    plots: tuple[Plot, ...]
    made_at: datetime = field(default_factory=timezone.now)

    @property
    def measured(self) -> list[str]:
        """The measures that occur, each once."""
        return list(dict.fromkeys(figure.check.measure for figure in self.figures))


def gather_specification(revision: Revision) -> Specification:
    """From the latest readings that passed, of every build of the revision."""
    reference = reference_of(revision)
    parts = (tuple(part) for part in (_figures(revision), _valves(revision)))
    return Specification(revision, *parts, reference, tuple(_plots(reference)))


def _figures(revision: Revision):
    rows = Check.objects.filter(stage__revision=revision).select_related("stage")
    checks = [check for check in rows.order_by("stage__position", "position") if check.formula or check.recording]
    values: dict[int, list[float]] = {}
    latest = CheckStatus.objects.filter(check_row__in=checks, latest__true_value__isnull=False)
    for pk, value in latest.exclude(outcome=Outcome.SWITCH_OFF).values_list("check_row_id", "latest__true_value"):
        values.setdefault(pk, []).append(value)
    for check in checks:
        if found := values.get(check.pk):
            low, high = np.quantile(found, (0.1, 0.9)) if len(found) >= FEW else (None, None)
            yield SpecifiedFigure(check, float(np.median(found)), low, high, len(found), tuple(_conditions(check)))


def _conditions(check: Check):
    if check.recording:
        request = request_of(check)
        hertz = ", ".join(format_figure(f, "Hz") for f in request.plan.hertz)
        signal = str(SIGNAL_LABELS[str(request.plan.signal)])
        yield f"{signal}, {hertz}" if hertz else signal
        if request.load:
            yield _("load %(ohms)s") % {"ohms": format_figure(request.load.value, "Ω")}
        yield _("sound card, calibrated with a meter") if request.needs_volts else _("sound card")
        return
    formula = formula_of(check)
    for load in formula.loads:
        if load:
            yield _("load %(ohms)s") % {"ohms": format_figure(load.value, "Ω")}
    yield _("calculated from readings of a meter")


def _valves(revision: Revision):
    for part in load_guide(revision).parts.values():
        if part.kind in VALVES:
            yield part.ref, own_type(part), ", ".join(each.type for each in alternatives_of(part))


def _plots(reference):
    if reference is None:
        return
    rows = Recording.objects.filter(build=reference, state=Recording.State.ANALYSED, stage__isnull=False)
    seen = set()
    for row in rows:
        if row.plan["signal"] in seen or not row.results or not row.results[0]["is_usable"]:
            continue
        seen.add(row.plan["signal"])
        table = row.results[0]
        if "tone" in table and "spectrum" in table:
            yield spectrum_plot(table)
        if "response" in table:
            yield response_plot(table["response"])
