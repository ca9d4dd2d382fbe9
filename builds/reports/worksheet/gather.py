"""What a worksheet says of each stage of a build. The page and the PDF are drawn from the same."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import get_language

from builds.accounts.cautions import cautions_for
from builds.bench.gates.sittings import current_sitting
from builds.bench.models import Build
from builds.bench.readings.context import build_context
from builds.bench.readings.mains import tap_share
from builds.bench.recordings.cautions import caution_on_paper
from builds.bench.sheets.hands_in import made_safe_before
from builds.bench.views.figures import Figure, describe_meter, list_figures
from builds.guides.feeding import setting_sentences, variac_volts
from builds.guides.figures import expected_text
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Check, Stage, Step
from builds.guides.probes import Probe
from builds.reports.worksheet.news import SheetNews
from builds.ui.messages.bench import power_label
from builds.ui.rich_text import to_text
from checks.entry import SHOWN

ALWAYS = ("lethal-voltage", "one-hand", "discharge")  # on every powered page, whatever the guide names


@dataclass(frozen=True)
class SheetStep:
    step: Step
    number: int
    text: str

    is_check = is_safe = False


@dataclass(frozen=True)
class SheetSafe:
    """A made-safe reading: at the end of live work, and before hands go in in the middle of it."""

    is_check, is_safe = False, True


@dataclass(frozen=True)
class SheetCheck:
    """`socket`: (base, red pin, black pin, reference) where a probe goes to a valve socket."""

    check: Check
    number: int
    red: Probe
    black: Probe
    figures: list[Figure]
    note: str
    unit: str

    is_check, is_safe = True, False

    @property
    def socket(self) -> tuple[str, str, str, str] | None:
        red, black = self.red, self.black
        if red.base and black.ref == red.ref:
            return red.base, red.pin, black.pin, red.ref
        if red.base:
            return red.base, red.pin, "", red.ref
        return (black.base, "", black.pin, black.ref) if black.base else None


@dataclass(frozen=True)
class SheetStage:
    stage: Stage
    power: str
    lines: tuple[SheetStep | SheetCheck | SheetSafe, ...]
    cautions: list
    to_set: list[str]
    address: str
    news: tuple[str, ...]  # before all else: an order to switch off, corrections of the guide

    @property
    def has_checks(self) -> bool:
        return any(line.is_check for line in self.lines)


def worksheet(build: Build, keys: tuple[str, ...] | None, absolute) -> list[SheetStage]:
    """The stages named by `keys`, or all of them, in the guide's order. `absolute` makes an address of a path."""
    guide = load_guide_in(build.revision, get_language())
    sitting = current_sitting(build)
    mains, news = sitting.mains_volts if sitting else None, SheetNews(build)
    stages = [stage for stage in guide.stages if keys is None or stage.key in keys]
    return [_stage(build, guide, stage, mains, absolute, news) for stage in stages]


def _stage(build, guide, stage: Stage, mains, absolute, news: SheetNews) -> SheetStage:
    lines: list[SheetStep | SheetCheck | SheetSafe] = []
    steps, checks, behind = 0, 0, made_safe_before(stage)
    for item in stage.items:
        if item.is_check and not item.is_read:
            continue  # worked out or recorded: no box to fill
        if item.is_check:
            checks += 1
            lines.append(_check(build, guide, stage, item, checks, mains))
        else:
            steps += 1
            lines += [SheetSafe()] if item.key in behind else []
            lines.append(SheetStep(item, steps, to_text(item.text)))
    lines += [SheetSafe()] if stage.is_powered else []
    recorded = caution_on_paper([stage]).get(stage.pk)
    keys = [*stage.cautions, *(key for key in ALWAYS if stage.is_powered and key not in stage.cautions)]
    return SheetStage(
        stage,
        power_label(stage.is_powered, stage.not_fitted),
        tuple(lines),
        [*cautions_for(keys), *([("recordings", *recorded)] if recorded else ())],
        setting_sentences(stage, tap_share(build), guide.parts),
        absolute(reverse("bench:stage", args=[build.pk, stage.key])),
        news.of(stage),
    )


def _check(build, guide, stage: Stage, check: Check, number: int, mains) -> SheetCheck:
    """The band stands at the mains voltage of this session where it was measured, else as wide as the supply may be."""
    reading = build_context(build, check, mains if stage.is_powered else None)
    ohms = reading.through and reading.through.ohms
    follows = bool(not variac_volts(stage) and reading.exponent)
    red, black = guide.probes.pair(check)
    figures = list_figures(
        check, reading.band, ohms, expected_text(reading.check), follows, meter_note=describe_meter(reading)
    )
    return SheetCheck(check, number, red, black, figures, to_text(check.note), _units(reading))


def _units(reading) -> str:
    """The unit of a box, or those to tick where a meter may show another: 250 written beside a V may have been mV."""
    units = SHOWN.get(reading.measure.shows, ())
    if reading.unit_beforehand or not units:
        return reading.unit_beforehand or reading.measure.shows
    return " ".join(f"☐\u00a0{unit}" for unit in units)
