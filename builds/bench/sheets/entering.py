"""Putting a typed sheet on record: line by line in the order of its times, by the rules of the bench.

Nothing of the build may be on record after a line's time, so that what is known of the build now is what was known
then; gates, locks and stops are asked before every line as if it had been typed at that moment. The first line that
they refuse ends the entry: what was taken before it stays, and it and all after it come back.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from uuid import uuid5

from django.db.models import Max

from builds.bench.gates import gating, locks
from builds.bench.gates.facts import Facts
from builds.bench.models import Acknowledgement, MadeSafe, PowerOn, Reading, Sheet, Sitting, StageVisit, Tick
from builds.bench.readings.entry_keys import add_once
from builds.bench.readings.made_safe import is_safe
from builds.bench.readings.taking import add_reading
from builds.bench.sheets.lines import CheckLine, Line, SafeLine, StepLine, TypedSheet
from checks.outcomes import Outcome


class HeldLine(StrEnum):
    """Why an entry ended before its last line."""

    STOP = "stop"  # a reading said switch off, and no made-safe reading follows
    SHUT = "shut"  # the stage was not open
    LOCK = "lock"  # a step or check comes first, or the kit had (or had no) power
    BEFORE = "before"  # this sheet was sent before, and ended at this line then


@dataclass
class Entered:
    """What became of a sheet. `held` says why it ended at `line`; None where all was taken."""

    taken: int = 0
    held: HeldLine | None = None
    line: Line | None = None
    stopped: bool = False  # a reading of it said switch off


def newest_on_record(build) -> datetime | None:
    """The moment of the newest thing that the builder put on record: a sheet is entered from there on."""
    moments = [
        build.readings.aggregate(newest=Max("at"))["newest"],
        build.made_safes.aggregate(newest=Max("at"))["newest"],
        build.ticks.aggregate(newest=Max("at"))["newest"],
        PowerOn.objects.filter(build=build).aggregate(newest=Max("at"))["newest"],
    ]
    return max((moment for moment in moments if moment), default=None)


def newest_if_too_early(sheet: TypedSheet) -> datetime | None:
    """The newest moment on record where a line does not lie after it. A sheet has no seconds: within one minute nobody
    knows whether power or the made-safe reading came last."""
    newest = newest_on_record(sheet.build)
    return newest if newest and any(line.moment <= newest for line in sheet.filled) else None


def enter(sheet: TypedSheet, facts: Facts, *, by) -> Entered:
    """Put the sheet on record. For a caller that holds the build's lock, fetched the facts under it, and found no
    errors in the sheet."""
    row, is_new = add_once(Sheet, sheet.key, {"build": sheet.build, "stage": sheet.stage, "by": by})
    if not is_new:
        return answer_sheet_again(sheet, row)
    entered = Entered()
    _begin(sheet)
    for line in sheet.filled:
        held = _held(sheet, line, facts)
        if held:
            entered.held, entered.line = held, line
            break
        facts, reading = _take(sheet, line, facts, by)
        line.saved = True
        entered.taken += 1
        if reading is not None:
            row.readings.add(reading)
            entered.stopped |= reading.outcome == Outcome.SWITCH_OFF
    _note_visit(sheet, facts)
    return entered


def _begin(sheet: TypedSheet) -> None:
    """The session at the bench that the sheet stands for. It is over now."""
    first, last = sheet.filled[0].moment, sheet.filled[-1].moment
    sitting = Sitting.objects.create(
        build=sheet.build, begun_at=first, seen_at=last, ended_at=last, mains_asked_at=first, mains_volts=sheet.mains
    )
    Acknowledgement.objects.create(sitting=sitting, stage=sheet.stage, at=first)
    if sheet.build.started_at is None:
        sheet.build.started_at = first
        sheet.build.save(update_fields=["started_at"])


def note_saved(sheet: TypedSheet) -> None:
    """Mark the lines that an entry of this sheet put on record before, as they are typed now where they are."""
    lines = {uuid5(sheet.key, line.key): line for line in sheet.lines if isinstance(line, CheckLine | SafeLine)}
    for model in (Reading, MadeSafe):
        rows = model.objects.filter(build=sheet.build, entry_key__in=lines)
        for key, typed, at in rows.values_list("entry_key", "typed", "at"):
            line = lines[key]
            if not line.is_filled or typed == line.form.cleaned_data.get("typed"):
                line.saved, line.at = True, at
    ticked = dict(Tick.objects.filter(build=sheet.build, step__stage=sheet.stage).values_list("step_id", "at"))
    for step in sheet.lines:
        if isinstance(step, StepLine) and step.step.pk in ticked:
            step.saved, step.at = True, ticked[step.step.pk]


def answer_sheet_again(sheet: TypedSheet, row: Sheet) -> Entered:
    """The sheet sent once more: nothing is added, and what was held back then is held back still."""
    note_saved(sheet)
    unsaved = next((line for line in sheet.filled if not line.saved), None)
    stopped = row.readings.filter(outcome=Outcome.SWITCH_OFF).exists()
    return Entered(len(sheet.filled) - _count_left(sheet), HeldLine.BEFORE if unsaved else None, unsaved, stopped)


def _count_left(sheet: TypedSheet) -> int:
    return sum(not line.saved for line in sheet.filled)


def _power_on(sheet: TypedSheet, line: CheckLine, facts: Facts, by) -> Facts:
    """Power at the moment of the first live reading since the kit was made safe: the sheet was made with the power on,
    and that has to be answered by a made-safe reading."""
    needs = sheet.stage.is_powered and not gating.find_power(sheet.build, facts).needs_made_safe
    if not needs or locks.is_stopped_elsewhere(line.check, facts):
        return facts
    PowerOn.objects.create(build=sheet.build, stage=sheet.stage, why=PowerOn.Why.CAUTIONS, by=by, at=line.moment)
    return replace(facts, last_power=line.moment)


def _power_of_step(sheet: TypedSheet, line: StepLine, facts: Facts, by) -> Facts:
    """A step of live work after made safe may have switched on, and nobody can ask the sheet: from then on the kit
    counts as live, until a made-safe reading follows."""
    if locks.asks_power(line.step, sheet.stage, gating.find_power(sheet.build, facts)) is None:
        return facts
    PowerOn.objects.create(build=sheet.build, stage=sheet.stage, why=PowerOn.Why.AGAIN, by=by, at=line.moment)
    return replace(facts, last_power=line.moment)


def _held(sheet: TypedSheet, line: Line, facts: Facts) -> HeldLine | None:
    """Would this line have been refused, at that moment?"""
    if line.is_safe:
        return None  # whatever is shut: making safe is always possible
    power = gating.find_power(sheet.build, facts)
    if power.stop_unanswered:
        return HeldLine.STOP
    state = next(s for s in gating.stage_states(sheet.build, facts) if s.stage.pk == sheet.stage.pk)
    if state.is_shut or sheet.stage.pk in facts.errata:
        return HeldLine.SHUT
    if isinstance(line, StepLine):
        return HeldLine.LOCK if locks.find_lock(line.step, sheet.stage, facts, power) else None
    if not sheet.stage.is_powered and power.needs_made_safe:
        return HeldLine.SHUT
    assert isinstance(line, CheckLine)
    lock = locks.lock_of_check(line.check, sheet.stage, facts, power)
    return HeldLine.LOCK if lock and not lock.is_power else None  # the sheet itself says that the power was on


def _take(sheet: TypedSheet, line: Line, facts: Facts, by) -> tuple[Facts, Reading | None]:
    if isinstance(line, CheckLine):
        facts = _power_on(sheet, line, facts, by)
        data = line.form.cleaned_data
        assert line.judged is not None  # no error was found in the sheet
        reading, facts = add_reading(
            sheet.build,
            line.judged,
            data["typed"],
            facts,
            by=by,
            entry_key=data["entry_key"],
            at=line.moment,
            is_slip=data["is_slip"],
        )
        return facts, reading
    if isinstance(line, StepLine):
        facts = _power_of_step(sheet, line, facts, by)
        Tick.objects.get_or_create(build=sheet.build, step=line.step, defaults={"at": line.moment})
        return facts.with_tick(line.step.pk, True), None
    assert isinstance(line, SafeLine)
    return _make_safe(sheet, line, facts), None


def _make_safe(sheet: TypedSheet, line: SafeLine, facts: Facts) -> Facts:
    quantity = line.form.quantity
    made = MadeSafe.objects.create(
        build=sheet.build,
        entry_key=line.form.cleaned_data["entry_key"],
        typed=line.form.cleaned_data["typed"],
        volts=quantity.number,
        is_safe=is_safe(sheet.bench_at(line.moment), quantity),
        at=line.moment,
    )
    return replace(facts, last_safe=line.moment) if made.is_safe else replace(facts, last_unsafe=line.moment)


def _note_visit(sheet: TypedSheet, facts: Facts) -> None:
    done = sheet.filled[-1].moment if gating.state_in(sheet.stage, facts).complete else None
    StageVisit.objects.update_or_create(
        build=sheet.build,
        stage=sheet.stage,
        defaults={"done_at": done},
        create_defaults={"opened_at": sheet.filled[0].moment, "done_at": done},
    )
