"""Figures worked out from other checks' readings: taken by themselves whenever a reading they rest on is taken."""

import math
from dataclasses import dataclass, replace
from uuid import uuid4

from builds.bench.readings.frequency import find_doubt
from builds.bench.readings.resting import figures_resting_on
from builds.bench.valves.replaced import is_changed_since
from builds.guides.guide_file.figure_sources import read_formula
from builds.guides.models import Check
from builds.ui.messages.errors import message_for
from checks.derived import Estimate
from checks.errors import ChecksError
from checks.tone.formulas import Formula, work_out


@dataclass(frozen=True)
class Input:
    """A check that a figure rests on, and its latest reading, None where it has none."""

    check: Check
    reading: object | None


@dataclass(frozen=True)
class WorkedOut:
    """What a figure is worked out from; `missing` are the checks still to be read, `problem` why these readings give no
    figure. `beyond` is the ± that the meters leave open at the frequencies of the readings."""

    inputs: tuple[Input, ...]
    value: Estimate | None = None
    problem: str = ""
    beyond: float = 0.0

    @property
    def missing(self) -> list[Check]:
        return [row.check for row in self.inputs if row.reading is None]


def work_out_check(build, check: Check) -> WorkedOut:
    """The figure from the latest readings, stored or not."""
    formula = read_formula(check)
    if formula is None:
        raise ValueError("This check is read, not worked out.")
    inputs = _inputs(build, check, formula)
    known = [value for value in (_known(row.reading) for row in inputs) if value is not None]
    if len(known) < len(inputs):
        return WorkedOut(inputs)
    try:
        return WorkedOut(inputs, work_out(formula, known), beyond=_beyond(formula, inputs))
    except ChecksError as error:
        return WorkedOut(inputs, problem=message_for(error))


def _beyond(formula: Formula, inputs) -> float:
    """What the readings' own ± at their frequencies makes of the figure, all of one meter and one way at worst."""
    doubts = [find_doubt(row.reading) for row in inputs]
    if not any(doubts):
        return 0.0
    loads, series = (
        tuple(x and Estimate(x.value) for x in formula.loads),
        formula.series and Estimate(formula.series.value),
    )
    exact = replace(formula, loads=loads, pad=_exact(formula.pad), series=series)
    one = [Estimate(row.reading.true_value, doubt) for row, doubt in zip(inputs, doubts, strict=True)]
    return math.sqrt(len(one)) * work_out(exact, one).u


def _exact(known) -> tuple[Estimate, ...]:
    return tuple(Estimate(each.value) for each in known)


def _inputs(build, check: Check, formula: Formula) -> tuple[Input, ...]:
    rows = {row.key: row for row in check.stage.checks.all()}
    statuses = build.statuses.filter(check_row__in=[rows[key] for key in formula.of])
    statuses = statuses.select_related("latest", "check_row__stage__revision")
    latest = {status.check_row_id: _counted(build, status) for status in statuses}
    return tuple(Input(rows[key], latest.get(rows[key].pk)) for key in formula.of)


def _counted(build, status):
    """The reading that a figure may be worked out from: none while it stops, nor one of another valve, of other mains
    or by figures that were corrected since, which is to be read again."""
    if status.stop_id or status.is_outdated:
        return None
    if not status.passed and is_changed_since(build, status.check_row, status.latest.at):
        return None
    return status.latest


def _known(reading) -> Estimate | None:
    """The reading's value with its uncertainty; None without one, or over range."""
    return None if reading is None or reading.true_value is None else Estimate(reading.true_value, reading.u)


def _passes_no_longer(build, row: Check, facts):
    """A figure of readings that are there no longer, one over range since or past its stop limit, passes nothing."""
    state = facts.check_states.get(row.pk)
    if state is None or not state.passed:
        return facts
    build.statuses.filter(check_row=row).update(passed=False)
    return facts.with_check_state(row.pk, replace(state, passed=False))


def take_worked_out(build, check: Check, facts, add_reading, context_of, *, by, at):
    """Take every figure that rests on this check. The facts with them; for a caller that holds the build's lock."""
    for row in figures_resting_on(check):
        worked_out = work_out_check(build, row)
        context = context_of(build, row, None)
        if worked_out.value is None or context.band is None:
            facts = _passes_no_longer(build, row, facts)
            continue
        judged = context.judged_known(worked_out.value, worked_out.beyond)
        _taken, facts = add_reading(build, judged, judged.shown, facts, by=by, at=at, entry_key=uuid4(), is_slip=False)
    return facts
