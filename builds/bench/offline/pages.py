"""The parts of a build's copy: every stage with its cautions, steps and checks, as their pages show them."""

from dataclasses import dataclass, field
from json import dumps

from django.urls import reverse
from django.utils.translation import get_language

from builds.accounts.cautions import cautions_for
from builds.bench import errata
from builds.bench.gates import locks
from builds.bench.gates.gating import StageState
from builds.bench.offline.judging import make_key
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.mains import tap_share
from builds.bench.views.figures import describe_meter, list_figures
from builds.bench.views.grid import GridRow, make_ids
from builds.guides.circuit.stored import find_figure
from builds.guides.feeding import setting_sentences, variac_volts
from builds.guides.figures import expected_text
from builds.guides.guide_texts import load_guide_in
from builds.guides.models import Check, Step
from builds.guides.probes import marked


@dataclass
class StepPart:
    step: Step
    number: int
    ticked: bool
    after: str  # what the guide puts before it and is not done, as the scripts read it
    errata: list = field(default_factory=list)
    is_check = False


@dataclass
class CheckPart:
    check: Check
    path: str
    about: str
    number: int
    status: object
    after: str
    form: ReadingForm | None
    key: str
    red: object
    black: object
    shown: object
    figures: list
    settle: list
    errata: list
    row: GridRow  # the same check in the table of the stage
    is_check = True


@dataclass
class StagePart:
    stage: object
    state: StageState
    path: str
    cautions_path: str
    cautions: list
    to_set: list
    may_work: bool
    why_not: str  # closed, stop, shut, erratum or cautions; empty where it may be worked on
    lines: list
    parts: dict
    errata: list
    grid_path: str
    steps: list  # for the fast track: as views.grid gives them

    @property
    def rows(self) -> list[GridRow]:
        return [line.row for line in self.lines if line.is_check]


def stage_part(at_hand, state: StageState) -> StagePart:
    """`at_hand`: offline.copies.AtHand."""
    build, stage = at_hand.build, state.stage
    guide = load_guide_in(build.revision, get_language())
    corrected = errata.active_errata(build, stage)
    may_work = at_hand.may_work_on(state)
    statuses = {s.check_row_id: s for s in build.statuses.filter(check_row__stage=stage).select_related("latest")}
    lines, numbers = [], {True: 0, False: 0}
    for item in stage.items:
        numbers[item.is_check] += 1
        make = _check_part if item.is_check else _step_part
        lines.append(make(at_hand, state, item, numbers[item.is_check], may_work, corrected, guide, statuses))
    return StagePart(
        stage,
        state,
        reverse("bench:stage", args=[build.pk, stage.key]),
        reverse("bench:cautions", args=[build.pk, stage.key]),
        cautions_for(stage.cautions),
        setting_sentences(stage, tap_share(build), guide.parts),
        may_work,
        "" if may_work else _why_not(at_hand, state),
        lines,
        guide.parts,
        errata.errata_of_stage(corrected, stage.steps.all()),
        reverse("bench:grid", args=[build.pk, stage.key]),
        [(s.number, s.step, s.ticked, None, s.after) for s in lines if not s.is_check] if build.fast_track else [],
    )


def _why_not(at_hand, state: StageState) -> str:
    """What a stage waits for, as open_stage would find it."""
    if at_hand.build.finished_at or at_hand.build.given_up_at:
        return "closed"
    if at_hand.power.stop_unanswered:
        return "stop"
    if state.is_shut:
        return "shut"
    return "erratum" if state.stage.pk in at_hand.facts.errata else "cautions"


def _step_part(at_hand, state, step, number, _may_work, corrected, _guide, _statuses) -> StepPart:
    stage = state.stage
    before = [
        item
        for item in _before(stage, step)
        if item.is_check and not item.optional and not locks.has_passed(item, at_hand.facts)
    ]
    ticked = step.pk in at_hand.facts.ticked
    return StepPart(
        step, number, ticked, _keys(stage, [] if ticked else before), errata.errata_of_step(corrected, step)
    )


def _check_part(at_hand, state, check, number, may_work, corrected, guide, statuses) -> CheckPart:
    stage = state.stage
    red, black = guide.probes.pair(check)
    context = at_hand.build_context(check, stage)
    ohms = context.through and context.through.ohms
    follows = bool(not variac_volts(stage) and context.exponent)
    before = [
        item
        for item in _before(stage, check)
        if not item.is_check and item.hands_in and item.pk not in at_hand.facts.ticked
    ]
    after, status = _keys(stage, before), statuses.get(check.pk)
    figures = list_figures(
        check, context.band, ohms, expected_text(context.check), follows, meter_note=describe_meter(context)
    )
    is_open = may_work and context.band and not _is_shut(at_hand, check, state)
    return CheckPart(
        check,
        reverse("bench:check", args=[at_hand.build.pk, stage.key, check.key]),
        f"{stage.key}/{check.key}",
        number,
        status,
        after,
        ReadingForm(context=context) if is_open else None,
        make_key(context),
        red,
        black,
        marked(check, red, guide.pictures),
        figures,
        (find_figure(context.check) or {}).get("settle", []),
        errata.errata_of_check(corrected, check),
        _row(
            at_hand,
            check,
            red,
            black,
            figures,
            status,
            ReadingForm(context=context, auto_id=make_ids(check)),
            is_open,
            after,
        ),
    )


def _row(at_hand, check, red, black, figures, status, form, is_open, after) -> GridRow:
    is_carried = status is None and check.pk in at_hand.facts.carried
    passed = is_carried or bool(status and status.passed)
    last = status and status.latest
    if last:
        last.check_row = check
    return GridRow(
        check,
        red.location,
        black.location,
        figures,
        last,
        passed,
        is_carried,
        form if is_open and not passed else None,
        None,
        after,
    )


def _is_shut(at_hand, check, state: StageState) -> bool:
    """A live reading while a stop stands elsewhere, or no power is on record and only the site may say that it is on;
    and what is not typed but worked out or recorded. A step that comes first is done here."""
    if check.formula or check.recording:
        return True
    lock = locks.lock_of_check(check, state.stage, at_hand.facts, at_hand.power)
    return lock is not None and (lock.is_stop or (lock.is_power and not at_hand.may_switch_on(state)))


def _before(stage, item) -> list:
    items = list(stage.items)
    return items[: items.index(item)]


def _keys(stage, items) -> str:
    return dumps([["check" if item.is_check else "step", f"{stage.key}/{item.key}"] for item in items]) if items else ""
