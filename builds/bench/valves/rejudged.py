"""What passed by figures that hold no longer: a valve's test figures, another type, or other mains move and narrow a
build's bands after readings were taken."""

from builds.bench.models import Build
from builds.bench.readings.context import ReadingContext, build_context
from builds.bench.readings.judged_again import verdict_now
from builds.bench.valves.replaced import let_pass_no_longer
from builds.guides.models import Check
from checks.outcomes import Outcome

PASSING = (Outcome.IN_BAND, Outcome.TOO_CLOSE)


def reopen_narrowed(build: Build) -> list[Check]:
    """Let no reading pass its check that this build's figures, as they are now, would not let pass. Each stays on
    record as it was judged, and so does a concession. Returns the checks that pass no longer. Nothing changes once a
    build is signed off."""
    if build.finished_at:
        return []
    lost = [check for check, reading in _passing(build) if not _still_passes(build, check, reading)]
    let_pass_no_longer(build, lost)
    return lost


def _passing(build: Build) -> list[tuple]:
    """(powered check, the reading that lets it pass), of this build or from before it moved."""
    statuses = build.statuses.filter(passed=True, outcome__in=PASSING, check_row__stage__power="on")
    read = [(row.check_row, row.latest) for row in statuses.select_related("latest", "check_row__stage__revision")]
    along = build.carried.filter(check_row__stage__power="on").exclude(check_row__in=build.statuses.values("check_row"))
    rows = along.select_related("reading", "check_row__stage__revision")
    return [*read, *((row.check_row, row.reading) for row in rows if row.reading)]


def _still_passes(build: Build, check: Check, reading) -> bool:
    context = build_context(build, check, reading.mains_volts)
    if context.is_waiting or (context.band and _limits(context) == (reading.low, reading.high)):
        return True
    verdict = verdict_now(context, reading)
    outcome = verdict and verdict.outcome
    return outcome == Outcome.IN_BAND or outcome == reading.outcome == Outcome.TOO_CLOSE


def _limits(context: ReadingContext) -> tuple | None:
    return (context.band.low, context.band.high) if context.band else None
