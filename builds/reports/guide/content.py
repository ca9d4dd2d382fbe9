"""What the printed guide says, gathered once for the PDF and the HTML file alike."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.accounts.cautions import CAUTIONS
from builds.bench.models import Erratum
from builds.bench.recordings.cautions import caution_on_paper, note_on_paper
from builds.bench.unpacking import rating_text as part_text
from builds.guides.check_signals import signal_label
from builds.guides.circuit.stored import attach, saved_figures
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_texts import load_guide_in
from builds.guides.row_labels import correction_note
from builds.reports.figures import format_limits
from builds.ui.drawings.resistor import list_colours
from builds.ui.formatting import format_figure
from builds.ui.messages.quantities import measure_label
from checks.band import Band
from checks.serials import natural

__all__ = ["CheckLine", "GuideText", "StageText", "gather", "part_text"]

TOOLS = ("iron", "meter", "clip", "discharge", "lamp", "driver", "cutters", "light")


@dataclass(frozen=True)
class CheckLine:
    """One reading to take as the tables print it."""

    title: str
    measure: str
    red: str
    black: str
    expected: str
    limits: str
    stop: str
    note: str
    optional: bool
    band: Band | None = None


@dataclass(frozen=True)
class StageText:
    number: int
    stage: object
    items: tuple  # ("step", n, step) and ("checks", [CheckLine]) as they follow each other
    cautions: tuple

    @property
    def is_recorded(self) -> bool:
        """Does it ask for recordings?"""
        return any(item.recording for item in self.stage.items if item.is_check)

    @property
    def has_checks(self) -> bool:
        return any(kind == "checks" for kind, *_rest in self.items)


@dataclass(frozen=True)
class GuideText:
    revision: object
    stages: tuple[StageText, ...]
    bags: tuple  # (bag, [(part, colours)])
    pictures: dict
    cautions: tuple
    errata: tuple
    tools: tuple[str, ...]
    guide: object = None


def tool_names() -> dict[str, str]:
    """The usual tools of a build; what else a kit needs, its guide says."""
    return {
        "iron": _("Soldering iron and solder"),
        "meter": _("Multimeter with insulated probes, 600 V CAT III or better"),
        "clip": _("Clip lead for the black probe"),
        "discharge": _("Discharge lead: a resistor in an insulated probe, with a clip"),
        "lamp": _("Series lamp for the first power"),
        "driver": _("Screwdrivers and nut drivers"),
        "cutters": _("Side cutters, pliers and wire strippers"),
        "light": _("Good light, eye protection and a fan"),
    }


def video_text(video) -> str:
    """A moment in a video as it is printed."""
    if not video.at:
        return video.address
    return _("%(address)s at %(at)s") % {
        "address": video.address.replace("{seconds}", str(video.seconds)),
        "at": video.at,
    }


def gather(revision, language: str = "") -> GuideText:
    """The revision's guide with its figures; errata of an issued one are told beside."""
    guide = load_guide_in(revision, language) if language else load_guide(revision)
    checks = [check for stage in guide.stages for check in stage.checks.all()]
    figures = saved_figures(revision, guide) if revision.is_draft or revision.figures_id else None
    attach(revision, checks, figures.detail["checks"] if figures else {})
    recorded = caution_on_paper(guide.stages)
    return GuideText(
        revision,
        tuple(_stage(n, stage, guide, recorded.get(stage.pk)) for n, stage in enumerate(guide.stages, 1)),
        tuple(_bags(guide)),
        guide.pictures,
        tuple(CAUTIONS.values()),
        tuple(
            Erratum.objects.filter(revision=revision, withdrawn_at=None).select_related(
                "stage", "step", "check_row", "part", "correction"
            )
        ),
        tuple(tool_names()[name] for name in TOOLS),
        guide,
    )


def _errata(revision):
    rows = Erratum.objects.filter(revision=revision, withdrawn_at=None)
    return rows.select_related("stage", "step", "check_row", "part")


def _stage(number: int, stage, guide, recorded: tuple[str, str] | None) -> StageText:
    items: list[tuple] = []
    steps = 0
    for item in stage.items:
        if item.is_check:
            if not items or items[-1][0] != "checks":
                items.append(("checks", []))
            items[-1][1].append(_check(item, guide))
        else:
            steps += 1
            items.append(("step", steps, item))
    cautions = [CAUTIONS[key] for key in stage.cautions if key in CAUTIONS]
    return StageText(number, stage, tuple(items), (*cautions, *([recorded] if recorded else ())))


def _check(check, guide) -> CheckLine:
    red, black = guide.probes.pair(check)
    band, unit = band_for(check), check.unit
    stop = [
        sign % format_figure(limit, unit)
        for sign, limit in (("> %s", band and band.stop_above), ("< %s", band and band.stop_below))
        if limit is not None
    ]
    return CheckLine(
        check.title,
        measure_label(check.measure),
        red.location,
        black.location,
        format_figure(band.expected, unit) if band and band.expected is not None else "–",
        format_limits(band.low, band.high, unit) if band else "–",
        " ".join(stop) or "–",
        " ".join(
            filter(
                None,
                (signal_label(check.signal, guide.probes), note_on_paper(check), check.note, correction_note(check)),
            )
        ),
        check.optional,
        band,
    )


def _notes(check, guide):
    return signal_label(check.signal, guide.probes), note_on_paper(check), check.note, correction_note(check)


def _bags(guide):
    """(bag, parts with their colours), the bags in the order of their numbers; parts without one come last."""
    bags: dict[str, list] = {}
    for part in guide.parts.values():
        bags.setdefault(part.bag, []).append((part, list_colours(part)))
    for bag in sorted(bags, key=lambda name: (name == "", natural(name))):
        yield bag, sorted(bags[bag], key=lambda row: natural(row[0].ref))
