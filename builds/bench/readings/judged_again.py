"""Readings on record, judged by figures that an erratum corrected after they were taken."""

from dataclasses import dataclass, replace
from uuid import uuid4

from django.db.models import Q

from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, Reading
from builds.bench.readings.context import ReadingContext, build_context
from builds.bench.readings.taking import add_reading
from builds.guides.corrected import standing
from builds.guides.models import Check
from builds.ui.messages.verdicts import finding_text
from checks.errors import ChecksError
from checks.measures import find_measure
from checks.meter import Measurement, MeterSpec, on_highest_range
from checks.outcomes import OFF, Outcome
from checks.quantity import Quantity
from checks.verdict import Verdict, judge_at_line


def judge_again(build: Build, check: Check) -> Reading | None:
    """Put a stop on record where the reading that a check stands on is past its stop limit as corrected. Readings are
    only added: the same entry is judged once more, as of the moment it was taken, by the meter and at the mains of
    then. Nothing else that it may come to is of use: a corrected check is read again. For a caller that holds the
    build's lock."""
    past_stop = _past_stop(build, check)
    if past_stop is None:
        return None
    reading, context, verdict = past_stop
    judged = replace(context, quantity=_quantity(reading, context), measurement=_measured(reading, context))
    return add_reading(
        build,
        replace(judged, verdict=verdict),
        reading.typed,
        load_facts(build),
        by=reading.by,
        at=reading.at,
        entry_key=uuid4(),
        is_slip=False,
        more={"judged_again": True},
    )[0]


@dataclass(frozen=True)
class FailsAsCorrected:
    """A reading that an ended build's check stands on, off by the figures as corrected since. Its row stays as it was
    judged."""

    reading: Reading
    verdict: Verdict

    @property
    def is_stop(self) -> bool:
        return self.verdict.outcome is Outcome.SWITCH_OFF

    @property
    def finding(self) -> str:
        return finding_text(self.verdict.reason.value, self.verdict.params, self.reading.check_row.unit)


def off_as_corrected(build: Build, check: Check) -> FailsAsCorrected | None:
    """Puts nothing on record."""
    judged = _judged_now(build, check)
    if judged is None or judged[2].outcome not in OFF:
        return None
    judged[0].check_row = judged[1].check
    return FailsAsCorrected(judged[0], judged[2])


def off_since_sign_off(build: Build) -> list[FailsAsCorrected]:
    """Of a build that is signed off: what its checks stand on and corrections since call off, the gravest first. No
    query where nothing was corrected since."""
    revision = build.revision
    if not build.finished_at or revision.corrected_at is None or revision.corrected_at <= build.finished_at:
        return []
    changed = Q(corrections__at__gt=build.finished_at) | Q(corrections__withdrawn_at__gt=build.finished_at)
    checks = Check.objects.filter(changed, stage__revision=revision).distinct().order_by("stage__position", "position")
    off = [reading for check in checks if (reading := off_as_corrected(build, check))]
    return sorted(off, key=lambda one: not one.is_stop)


def _past_stop(build: Build, check: Check) -> tuple[Reading, ReadingContext, Verdict] | None:
    judged = _judged_now(build, check)
    return judged if judged and judged[2].outcome is Outcome.SWITCH_OFF else None


def _judged_now(build: Build, check: Check) -> tuple[Reading, ReadingContext, Verdict] | None:
    """What the check stands on, by the figures as they are now; None of a stop, which stands as it is."""
    check = standing(Check.objects.select_related("stage__revision").get(pk=check.pk))
    reading = _stands_on(build, check)
    if reading is None or reading.is_stop:
        return None
    context = as_it_was_read(build, check, reading)
    verdict = verdict_now(context, reading)
    return (reading, context, verdict) if verdict else None


def _stands_on(build: Build, check: Check) -> Reading | None:
    """The latest attempt of this build, else the one that came along from an earlier revision."""
    status = build.statuses.filter(check_row=check).select_related("latest__by").first()
    if status is not None:
        return None if status.stop_id else status.latest
    along = build.carried.filter(check_row=check).select_related("reading__by").first()
    return along.reading if along else None


def as_it_was_read(build: Build, check: Check, reading: Reading) -> ReadingContext:
    """The check with the meter and the mains of that reading."""
    context = build_context(build, check, reading.mains_volts)
    return replace(context, meter=MeterSpec.from_dict(reading.meter_spec)) if reading.meter_spec else context


def verdict_now(context: ReadingContext, reading: Reading) -> Verdict | None:
    """The verdict on a reading on record by the check's figures as they are now; None where it has none. Its
    uncertainty holds what the mains adds already."""
    if context.band is None:
        return None
    try:
        return judge_at_line(_measured(reading, context), context.band, unit=find_measure(context.check.measure).unit)
    except ChecksError:
        return None


def _measured(reading: Reading, context: ReadingContext) -> Measurement:
    """The raw value counts for a stop like the corrected one: of a current, through the resistor it was read across."""
    over = reading.over_range or reading.below_range
    raw = reading.value
    if raw is not None and context.through is not None:
        raw /= context.through.ohms
    lightest = None
    if raw is not None and context.measure.shows == "V":
        lightest = on_highest_range(raw, context.source_ohms, context.meter)
    return Measurement(
        reading.true_value, reading.u, raw, over_range=over, is_below=reading.below_range, lightest=lightest
    )


def _quantity(reading: Reading, context: ReadingContext) -> Quantity:
    over = reading.over_range or reading.below_range
    return Quantity(reading.value, context.measure.shows, over_range=over, is_below=reading.below_range)
