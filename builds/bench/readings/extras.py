"""Extra readings: which may be taken, taking one, and which still count."""

from django.db.models import F, Max

from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, ExtraReading
from builds.bench.readings.entry_keys import add_once, sent_before
from checks.diagnosis import Observation, Prepared
from checks.diagnosis.place import Place
from checks.entry import parse_reading, refuse_lone_one
from checks.errors import ChecksError
from checks.meter import PRESETS, Measurement, MeterSpec, measure
from checks.outcomes import Outcome


def find_place(prepared: Prepared, name: str) -> Place | None:
    """An extra place of the fault book by its name, None for what is not one."""
    return next((p for p in prepared.places if not p.check and p.name == name), None)


def take_extra(build: Build, place: Place, typed: str, *, entry_key, by) -> ExtraReading:
    """Keep one. The same entry sent twice gives back the one it made. Raises UsedKey, and ChecksError for what cannot
    be read."""
    entered = {"build": build, "place": place.name, "typed": typed.strip()[:40], "by": by}
    if already := sent_before(ExtraReading, entry_key, entered):
        return already
    measured = read_ohms(typed, build.meter.as_spec() if build.meter else PRESETS["basic"])
    figures = {"value": measured.value, "u": measured.u, "at": load_facts(build).dated()}
    return add_once(ExtraReading, entry_key, entered, part=place.part, **figures)[0]


def read_ohms(typed: str, meter: MeterSpec) -> Measurement:
    """What a meter showed between two points, with nothing to judge it by. Raises ChecksError for what cannot be
    read, or not be told apart."""
    quantity = parse_reading(typed, "Ω", "resistance")
    if (quantity.value or 0.0) < 0:
        raise ChecksError(
            "An ohmmeter below zero sees a voltage.", argument="text", code="negative", function="resistance"
        )
    refuse_lone_one(quantity, meter)
    return measure(quantity, "resistance", meter)


def extra_observations_by_build(builds: list[Build]) -> dict[int, list[Observation]]:
    """Build id -> what was measured beside the guide while a check was off: `observed`, and of a build that has been
    mended since, what was measured before. For those builds that have any."""
    some = set(ExtraReading.objects.filter(build__in=builds).values_list("build", flat=True))
    return {
        build.pk: extra_observations(build) or _of_rows(_before_mending(build)) for build in builds if build.pk in some
    }


def _last_mended_at(build: Build):
    """When a check that had been off last came in band."""
    mended = build.statuses.filter(outcome=Outcome.IN_BAND.value, attempts__gt=1).exclude(first_outcome=F("outcome"))
    return mended.aggregate(at=Max("latest__at"))["at"]


def latest_since_mending(build: Build) -> list[ExtraReading]:
    """The latest of each place since something was last mended. What was measured before that told of a kit that is no
    more."""
    since = _last_mended_at(build)
    rows = build.extra_readings.filter(at__gt=since) if since else build.extra_readings.all()
    return list({row.place: row for row in rows}.values())


def _before_mending(build: Build) -> list[ExtraReading]:
    since = _last_mended_at(build)
    return list({row.place: row for row in build.extra_readings.filter(at__lte=since)}.values()) if since else []


def extra_observations(build: Build) -> list[Observation]:
    return _of_rows(latest_since_mending(build))


def _of_rows(rows) -> list[Observation]:
    return [Observation(row.place, row.value, row.u if row.value is not None else 0.0) for row in rows]
