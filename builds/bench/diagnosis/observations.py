"""What a build's readings are to the ranking: at the guide's mains, with those that came along and those beside the
guide."""

import math

from builds.bench.models import Build, Carried
from builds.bench.readings import extras
from builds.bench.readings.repeats import find_repeated
from checks.diagnosis import Observation
from checks.meter import MeterSpec
from checks.outcomes import Outcome


def observations(build: Build) -> list[Observation]:
    """Where the build is on each check, at the guide's mains, and what was measured beside the guide."""
    rows = build.statuses.select_related("latest", "check_row__stage")
    carried = carried_by_build([build]).get(build.pk, [])
    again = find_repeated([build])
    own = [
        make_observation(s.check_row, s.latest, (build.pk, s.check_row_id) in again)
        for s in rows
        if (s.latest.at_reference is not None or s.latest.over_range) and not s.is_outdated
    ]
    return [*carried, *own, *extras.extra_observations(build)]


def carried_by_build(builds) -> dict[int, list[Observation]]:
    """Build id -> the readings that came along from an earlier revision. One query."""
    by_build: dict[int, list[Observation]] = {}
    along = Carried.objects.filter(build__in=builds, reading__at_reference__isnull=False)
    for c in along.select_related("reading", "check_row__stage"):
        by_build.setdefault(c.build_id, []).append(make_observation(c.check_row, c.reading))
    return by_build


def make_observation(check, reading, again: bool = False) -> Observation:
    """A reading of a check, at the guide's mains; what is over range is at least so much."""
    return Observation(
        make_name(check),
        None if reading.over_range else reading.at_reference,
        0.0 if reading.over_range else reading.u,
        again,
        reading.outcome == Outcome.SWITCH_OFF.value,
        reading.mains_volts is not None,
        check.stage.is_powered and reading.mains_volts is None,
        _meter_ohms(reading),
    )


def _meter_ohms(reading) -> float | None:
    """What the bench took the meter to load this reading with; a pointer's load goes with its range."""
    if not reading.meter_spec or reading.meter_spec.get("input_ohms"):
        return reading.meter_spec.get("input_ohms")
    spec = MeterSpec.from_dict(reading.meter_spec)
    return spec.resistance_on(spec.range_for(reading.value if reading.value is not None else math.inf))


def make_name(check) -> str:
    """A check's name in the fault dictionary."""
    return f"{check.stage.key}/{check.key}"
