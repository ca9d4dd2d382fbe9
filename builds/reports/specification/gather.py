"""The figures of the finished amplifiers of a revision. A figure that nobody measured is left out."""

import math
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.bench.models import CheckStatus, Recording
from builds.bench.valves.fitting import in_order
from builds.guides.alternatives import list_alternatives, own_type
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.figure_sources import read_formula, read_request
from builds.guides.guide_file.shape import VALVES
from builds.guides.models import Check, Revision
from builds.review.amplifier.recorded import find_reference
from builds.ui.drawings.curves import response_plot, spectrum_plot
from builds.ui.drawings.plot import Plot
from builds.ui.formatting import format_figure, short_number
from builds.ui.messages.recordings import SIGNAL_LABELS
from checks.circuit.netlist.signal import stated_signal
from checks.outcomes import Outcome
from checks.serials import natural
from checks.tone.sources import Signal

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
    serials: tuple[str, ...] = ()


@dataclass(frozen=True)
class MeasuredBuild:
    """A build whose figures count: `valves` are (socket, type, make, date code), as they were when it was recorded."""

    serial: str
    mains: str
    instrument: str
    valves: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True)
class Specification:
    """`valves` are (reference, type, permitted alternatives); `plots` are the reference build's."""

    revision: Revision
    figures: tuple[SpecifiedFigure, ...]
    valves: tuple[tuple[str, str, str], ...]
    reference: object | None
    plots: tuple[Plot, ...]
    measured_on: tuple[MeasuredBuild, ...] = ()
    made_at: datetime = field(default_factory=timezone.now)

    @property
    def measured(self) -> list[str]:
        """The measures that occur, each once."""
        return list(dict.fromkeys(figure.check.measure for figure in self.figures))


def gather_specification(revision: Revision) -> Specification:
    """From the latest readings that passed, of every build of the revision."""
    reference = find_reference(revision)
    figures, valves = tuple(_figures(revision)), tuple(_valves(revision))
    serials = {serial for figure in figures for serial in figure.serials}
    types = {ref: kind for ref, kind, _other in valves}
    builds = tuple(_measured_on(revision, serials, types))
    return Specification(revision, figures, valves, reference, tuple(_plots(reference)), builds)


def _measured_on(revision: Revision, serials: set[str], types: dict[str, str]):
    rows = revision.builds.filter(serial__in=serials).select_related("meter").prefetch_related("valves", "recordings")
    for build in sorted(rows, key=lambda row: natural(row.serial)):
        recorded = [row for row in build.recordings.all() if not row.is_loopback and row.state == row.State.ANALYSED]
        instrument = build.meter.name if build.meter else _("meter not stated")
        if recorded:
            card = {"rate": f"{short_number(recorded[0].rate / 1000)} kHz", "bits": recorded[0].bits}
            instrument += "; " + _("sound card, %(rate)s, %(bits)s bits") % card
        mains = _("%(volts)s V, %(hertz)s Hz") % {
            "volts": short_number(build.mains_volts),
            "hertz": short_number(build.mains_hertz),
        }
        yield MeasuredBuild(build.serial, mains, instrument, tuple(_fitted(build, recorded, types)))


def _fitted(build, recorded, types: dict[str, str]):
    """As kept with the latest recording; where there is none, as noted now."""
    now = [{"ref": ref, "make": rows[-1].make, "code": rows[-1].code} for ref, rows in in_order(_oldest(build)).items()]
    for row in (recorded[0].valves or now) if recorded else now:
        yield row["ref"], types.get(row["ref"], ""), row["make"], row["code"]


def _oldest(build):
    return sorted(build.valves.all(), key=lambda row: (row.at, row.pk))


def _figures(revision: Revision):
    rows = (
        Check.objects.filter(stage__revision=revision).select_related("stage").order_by("stage__position", "position")
    )
    every = {(check.stage_id, check.key): check for check in rows}
    checks = [check for check in every.values() if check.formula or check.recording]
    values: dict[int, list[tuple[float, str]]] = {}
    latest = CheckStatus.objects.filter(check_row__in=checks, latest__true_value__isnull=False)
    columns = ("check_row_id", "latest__true_value", "build__serial")
    for pk, value, serial in latest.exclude(outcome=Outcome.SWITCH_OFF).values_list(*columns):
        values.setdefault(pk, []).append((value, serial))
    for check in checks:
        if rows := values.get(check.pk):
            read_values, serials = zip(*rows, strict=True)
            low, high = np.quantile(read_values, (0.1, 0.9)) if len(read_values) >= FEW else (None, None)
            yield SpecifiedFigure(
                check,
                float(np.median(read_values)),
                low,
                high,
                len(read_values),
                tuple(_conditions(check, every)),
                serials,
            )


def _conditions(check: Check, every: dict[tuple[int, str], Check]):
    """`every` holds the revision's checks by stage and key: what a figure is calculated from was read under them."""
    if check.recording:
        request = read_request(check)
        figures = [format_figure(f, "Hz") for f in request.plan.hertz]
        hertz = ", ".join(figures)
        if request.plan.signal is Signal.SWEEP:
            hertz = _("%(low)s to %(high)s") % {"low": figures[0], "high": figures[1]}
        signal = str(SIGNAL_LABELS[str(request.plan.signal)])
        yield f"{signal}, {hertz}" if hertz else signal
        if request.load:
            yield _("load %(ohms)s") % {"ohms": format_figure(request.load.value, "Ω")}
        yield _("sound card, calibrated with a meter") if request.needs_volts else _("sound card")
        return
    formula = read_formula(check)
    inputs = [every[key] for key in ((check.stage_id, of) for of in formula.of) if key in every]
    ohms = [load.value for load in formula.loads if load] or [load for row in inputs if (load := _find_load(row))]
    for value in dict.fromkeys(ohms):
        yield _("load %(ohms)s") % {"ohms": format_figure(value, "Ω")}
    if formula.series:
        yield _("%(ohms)s in series with the source") % {"ohms": format_figure(formula.series.value, "Ω")}
    if any(row.recording for row in inputs):
        yield _("calculated from a recording and a meter reading")
    else:
        yield _("calculated from readings of a meter")


def _find_load(check: Check) -> float | None:
    """Ohms that a reading of volts was taken across; None where its check states none."""
    if check.recording:
        request = read_request(check)
        return request.load.value if request and request.load else None
    stated = stated_signal(check.signal)
    return stated.signal.load_ohms if stated else None


def _valves(revision: Revision):
    for part in load_guide(revision).parts.values():
        if part.kind in VALVES:
            yield part.ref, own_type(part), ", ".join(alternative.type for alternative in list_alternatives(part))


def _plots(reference):
    """The spectrum of each tone, the one nearest 1 kHz first, then the response, by their latest recordings."""
    if reference is None:
        return
    rows = Recording.objects.filter(build=reference, state=Recording.State.ANALYSED, stage__isnull=False)
    latest: dict[tuple, Recording] = {}
    for row in rows:
        if row.results and row.results[0]["is_usable"]:
            latest.setdefault((row.plan["signal"], *row.plan["hertz"]), row)
    for row in sorted(latest.values(), key=_away_from_the_middle):
        table = row.results[0]
        if "tone" in table and "spectrum" in table:
            plot = spectrum_plot(table)
            name = _("Tone, %(hertz)s.") % {"hertz": format_figure(row.plan["hertz"][0], "Hz")}
            yield replace(plot, description=f"{name} {plot.description}")
        if "response" in table:
            yield response_plot(table["response"])


def _away_from_the_middle(row: Recording) -> float:
    hertz = row.plan["hertz"]
    return abs(math.log(hertz[0] / 1000)) if len(hertz) == 1 else math.inf
