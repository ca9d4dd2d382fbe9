"""What was typed from a filled worksheet: its lines, each with its time, read before anything is saved."""

from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import cached_property
from uuid import UUID, uuid5

from django.utils import timezone
from django.utils.translation import gettext as _

from builds.bench.forms import MadeSafeForm
from builds.bench.models import Build, PastBench
from builds.bench.readings.bench_then import bench_among
from builds.bench.readings.context import ReadingContext, build_context
from builds.bench.readings.forms import ReadingForm
from builds.bench.readings.made_safe import is_safe
from builds.bench.sheets.hands_in import made_safe_before
from builds.guides.models import Check, Stage, Step
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError
from checks.outcomes import Outcome

# The prefix of a form names its line. An empty line is skipped, so no browser may ask for it.
OF_LINE: dict = {"auto_id": "%s", "use_required_attribute": False}
# The key of the last line of a powered sheet, and with a step's after a point of the line before that step, where hands
# go in; a check or step is called by its own.
SAFE = "made-safe"


@dataclass
class Line:
    """One line of the sheet. `at`: the moment it stands for, once its time was read."""

    key: str
    place: int
    time_typed: str = ""
    error: str = ""
    at: datetime | None = None
    saved: bool = False  # it is on record now

    @property
    def is_filled(self) -> bool:
        raise NotImplementedError

    @property
    def moment(self) -> datetime:
        """The moment of a line whose time was read."""
        assert self.at is not None
        return self.at

    @property
    def is_check(self) -> bool:
        return isinstance(self, CheckLine)

    @property
    def is_safe(self) -> bool:
        return isinstance(self, SafeLine)


@dataclass
class CheckLine(Line):
    check: Check = field(kw_only=True)
    form: ReadingForm = field(kw_only=True)
    judged: ReadingContext | None = None
    asks: bool = False  # a slip of a thousand is likely: to be confirmed

    @property
    def says_stop(self) -> bool:
        verdict = self.judged.verdict if self.judged else None
        return verdict is not None and verdict.outcome == Outcome.SWITCH_OFF

    @property
    def is_filled(self) -> bool:
        return bool((self.form["typed"].value() or "").strip())


@dataclass
class StepLine(Line):
    step: Step = field(kw_only=True)
    number: int = 0
    done: bool = False

    @property
    def is_filled(self) -> bool:
        return self.done


@dataclass
class SafeLine(Line):
    form: MadeSafeForm = field(kw_only=True)

    @property
    def is_filled(self) -> bool:
        return bool((self.form["typed"].value() or "").strip())


@dataclass
class TypedSheet:
    """A sheet as it was typed. `posted` is None while it is empty."""

    build: Build
    stage: Stage
    key: UUID
    day: date
    mains: float | None
    posted: dict | None = None
    lines: list[Line] = field(default_factory=list)

    @cached_property
    def past_benches(self) -> list[PastBench]:
        return list(self.build.past_benches.select_related("meter"))

    def bench_at(self, moment: datetime | None) -> Build:
        """The build with the meter and mains that it was measured with then, for judging."""
        return bench_among(self.build, self.past_benches, moment) if moment else self.build

    @property
    def filled(self) -> list[Line]:
        """The filled lines in the order of their times; at one time, in the guide's order."""
        return sorted((line for line in self.lines if line.is_filled and line.at), key=lambda x: (x.moment, x.place))

    @property
    def stops(self) -> list["CheckLine"]:
        """The lines that say switch off and are followed by no made-safe reading, whatever is wrong with others."""
        checks = [line for line in self.lines if isinstance(line, CheckLine) and line.says_stop]
        safe = [line for line in self.lines if isinstance(line, SafeLine) and self._is_safe(line)]
        return [line for line in checks if not any(s.at and line.at and s.at > line.at for s in safe)]

    def _is_safe(self, line: SafeLine) -> bool:
        if not line.is_filled or line.error or not line.form.is_valid():
            return False
        return is_safe(self.bench_at(line.at), line.form.quantity)

    @property
    def has_errors(self) -> bool:
        return any(line.error or getattr(line, "asks", False) for line in self.lines)


def read_sheet(sheet: TypedSheet) -> TypedSheet:
    """Every line of the stage, with what was typed in it read and its time found. Nothing is saved."""
    steps, behind = 0, made_safe_before(sheet.stage)
    for place, item in enumerate(sheet.stage.items):
        if isinstance(item, Check):
            if item.is_read:
                sheet.lines.append(_check_line(sheet, item, place))
        else:
            steps += 1
            if item.key in behind:
                sheet.lines.append(_safe_line(sheet, place, f"{SAFE}.{item.key}"))
            sheet.lines.append(_step_line(sheet, item, place, steps))
    if sheet.stage.is_powered:
        sheet.lines.append(_safe_line(sheet, len(sheet.stage.items), SAFE))
    if sheet.posted is not None:
        for line in sheet.lines:
            if line.is_filled:
                _read_time(sheet, line)
        _refuse_one_minute(sheet)
    return sheet


def _refuse_one_minute(sheet: TypedSheet) -> None:
    """A made-safe reading and a live one of the same minute: nobody knows which came last."""
    live = {line.at for line in sheet.lines if line.is_check and line.at}
    for line in sheet.lines:
        if line.is_safe and line.at in live:
            line.error = line.error or _(
                "A live reading has the same time. The made-safe reading must be at least a minute later."
            )


def _typed(sheet: TypedSheet, name: str) -> str:
    return (sheet.posted or {}).get(name, "")


def _check_line(sheet: TypedSheet, check: Check, place: int) -> CheckLine:
    time_typed = _typed(sheet, f"{check.key}-at")
    bench = sheet.bench_at(_moment(sheet, time_typed)) if sheet.posted else sheet.build
    context = build_context(bench, check, sheet.mains if sheet.stage.is_powered else None)
    names = ("typed", "unit", "sure", "is_slip")
    data = {f"{check.key}-{name}": _typed(sheet, f"{check.key}-{name}") for name in names}
    data[f"{check.key}-entry_key"] = str(uuid5(sheet.key, check.key))
    bound = data if data[f"{check.key}-typed"].strip() else None
    form = ReadingForm(bound, context=context, prefix=check.key, **OF_LINE)
    line = CheckLine(check.key, place, time_typed, check=check, form=form)
    if bound is not None:
        _judge(line, context)
    return line


def _judge(line: CheckLine, context: ReadingContext) -> None:
    """The verdict does not depend on when it was read, so it is known before anything is saved."""
    form = line.form
    if not form.is_valid():
        line.error = " ".join(str(error) for errors in form.errors.values() for error in errors)
        return
    try:
        line.judged = context.judged(form.cleaned_data["typed"])
        meant = None if form.cleaned_data["sure"] else line.judged.likely_typing_error()
    except ChecksError as error:
        line.error = message_for(error)
        return
    if meant:
        form.put_question(meant, form.cleaned_data["typed"])
        line.asks = True


def _step_line(sheet: TypedSheet, step: Step, place: int, number: int) -> StepLine:
    done = bool(_typed(sheet, f"{step.key}-done"))
    return StepLine(step.key, place, _typed(sheet, f"{step.key}-at"), step=step, number=number, done=done)


def _safe_line(sheet: TypedSheet, place: int, key: str) -> SafeLine:
    typed = _typed(sheet, f"{key}-typed")
    data = {f"{key}-typed": typed, f"{key}-entry_key": str(uuid5(sheet.key, key))} if typed.strip() else None
    form = MadeSafeForm(data, prefix=key, **OF_LINE)
    line = SafeLine(key, place, _typed(sheet, f"{key}-at"), form=form)
    if data and not form.is_valid():
        line.error = " ".join(str(error) for error in form.errors["typed"])
    return line


def _moment(sheet: TypedSheet, typed: str) -> datetime | None:
    try:
        hour, minute = (int(part) for part in typed.strip().split(":")[:2])
        return timezone.make_aware(datetime.combine(sheet.day, time(hour, minute)))
    except ValueError:
        return None


def _read_time(sheet: TypedSheet, line: Line) -> None:
    line.at = _moment(sheet, line.time_typed)
    if line.at is None:
        line.error = line.error or _("Type the time of day that is written on the sheet, such as 14:05.")
        return
    if line.at > timezone.now():
        line.error = line.error or _("This time is in the future. Check the date and the time.")
