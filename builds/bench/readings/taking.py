"""Taking a reading: store what was judged, and bring the check's status up to date. Readings are only ever added."""

from dataclasses import replace
from uuid import uuid4

from django.db import transaction
from django.utils import timezone

from builds.bench import notices
from builds.bench.gates.facts import CheckState, Facts, load_facts
from builds.bench.models import Build, CheckStatus, Reading
from builds.bench.offline.arrival import LATE
from builds.bench.readings.context import ReadingContext, build_context
from builds.bench.readings.entry_keys import refuse_other
from builds.bench.readings.passing import is_conceded, is_confirmed, passes, supersedes
from builds.bench.readings.worked_out import take_worked_out
from builds.bench.valves.replaced import is_changed_since
from builds.guides.models import Check
from checks.outcomes import OFF, Outcome


@transaction.atomic
def take_reading(
    build: Build, check: Check, typed: str, *, by, entry_key=None, at=None, mains_volts=None, is_slip=False
) -> Reading:
    """Judge and store a reading; the same entry sent twice gives back the reading it made the first time.

    Raises UsedKey, and ChecksError when what was typed cannot be read.
    """
    Build.objects.select_for_update().get(pk=build.pk)  # two posts at once take their turns
    facts = load_facts(build, entry_key)
    if first := find_first_entry(facts, build, check, typed, is_slip, by):
        return first
    return add_reading(
        build,
        build_context(build, check, mains_volts).judged(typed),
        typed,
        facts,
        by=by,
        entry_key=entry_key or uuid4(),
        at=at or timezone.now(),
        is_slip=is_slip,
    )[0]


def find_first_entry(facts: Facts, build: Build, check: Check, typed: str, is_slip: bool, by) -> Reading | None:
    """The reading that an earlier post of the same entry made. Raises UsedKey where its key is another entry's."""
    if facts.reading is None:
        return None
    first = Reading.objects.get(pk=facts.reading)
    entered = {
        "build_id": build.pk,
        "check_row_id": check.pk,
        "typed": typed.strip()[:40],
        "is_slip": is_slip,
        "by": by,
    }
    refuse_other(first, entered)
    return first


def add_reading(build: Build, context: ReadingContext, typed: str, facts: Facts, **fields) -> tuple[Reading, Facts]:
    """The next attempt, as judged, and the facts with it. For a caller that holds the build's lock and fetched the
    facts under it. `more` is kept beside what the verdict's sentence is made from."""
    check = context.check
    before = facts.check_states.get(check.pk)
    fields["at"] = facts.dated(fields.get("at"), reassures=_reassures(context, facts))
    reading = _store(build, context, typed, attempt=before.attempts + 1 if before else 1, **fields)
    if before is not None and not supersedes(reading, before):
        CheckStatus.objects.filter(build=build, check_row=check).update(attempts=reading.attempt)
        return reading, facts.with_check_state(check.pk, replace(before, attempts=reading.attempt))
    passed = passes(
        reading,
        confirmed=reading.outcome == Outcome.TOO_CLOSE and _is_confirmed(build, reading, before),
        conceded=check.pk in facts.conceded and is_conceded(build, reading),
    )
    is_late = timezone.now() - reading.at > LATE  # from a phone or a sheet: of a valve that has gone since?
    if passed and (is_late or check.pk in facts.corrected):
        passed = not is_changed_since(build, check, reading.at)
    _update_status(reading, before, passed)
    if reading.outcome == Outcome.SWITCH_OFF:
        notices.notify_of_stop(reading)
    facts = facts.with_check_state(
        check.pk, CheckState(reading.attempt, passed, reading.outcome, reading.at, reading.confirms)
    )
    return reading, take_worked_out(build, check, facts, add_reading, build_context, by=reading.by, at=reading.at)


def _reassures(context: ReadingContext, facts: Facts) -> bool:
    """May this reading let its check pass?"""
    outcome = context.result[2].outcome
    return outcome not in OFF or (outcome == Outcome.OUT_OF_BAND and context.check.pk in facts.conceded)


def _is_confirmed(build: Build, reading: Reading, before: CheckState | None) -> bool:
    """Does the attempt before, of the same valve, confirm a reading that is too close to call?"""
    if before is None or not is_confirmed(reading, before):
        return False
    return not is_changed_since(build, reading.check_row, before.at)


def _store(build: Build, context: ReadingContext, typed: str, *, more: dict | None = None, **fields) -> Reading:
    quantity, measurement, verdict = context.result
    return Reading.objects.create(
        build=build,
        check_row=context.check,
        typed=typed.strip()[:40],
        value=quantity.value,
        over_range=quantity.over_range and not quantity.is_below,
        below_range=quantity.is_below,
        true_value=measurement.value,
        u=verdict.u,
        at_reference=context.at_reference,
        low=verdict.band.low,
        high=verdict.band.high,
        expected=verdict.band.expected,
        outcome=verdict.outcome.value,
        probability=verdict.probability,
        deviation=verdict.deviation,
        confirms=verdict.confirms,
        reason=verdict.reason.value,
        params=verdict.params | (more or {}),
        meter_spec=context.meter.as_dict(),
        mains_volts=context.mains_volts,
        **fields,
    )


def _update_status(reading: Reading, before: CheckState | None, passed: bool) -> None:
    """A slip's first outcome is replaced: it was never a reading of the kit."""
    news = {
        "attempts": reading.attempt,
        "latest": reading,
        "passed": passed,
        "outcome": reading.outcome,
        "deviation": reading.deviation,
        "at_reference": reading.at_reference,
        "u": reading.u,
    }
    if reading.is_stop:
        news["stop"] = reading
    elif passed or reading.outcome == Outcome.IN_BAND:
        news["stop"] = None
    if before is None or (reading.is_slip and before.attempts == 1):
        news["first_outcome"] = reading.outcome
    if before is None:
        CheckStatus.objects.create(build_id=reading.build_id, check_row_id=reading.check_row_id, **news)
    else:
        CheckStatus.objects.filter(build=reading.build_id, check_row=reading.check_row_id).update(**news)
