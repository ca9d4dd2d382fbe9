"""Minutes at work in each stage: the one way they are counted, on the programme's page, the changes' and in the fault
summary."""

from collections import defaultdict
from datetime import timedelta
from statistics import median

from builds.bench.models import Build, Reading, StageVisit, Tick

BREAK = timedelta(minutes=20)  # a longer pause between two acts is a break, and counts for nothing
TIMED = 60  # builds, those begun last, whose acts are added up


def minutes_by_stage(revisions) -> dict[str, list[float]]:
    """{stage key: minutes at work of each build that has done it}, from the moments of ticks and readings. Four
    queries."""
    latest = list(
        Build.objects.filter(revision__in=revisions, started_at__isnull=False)
        .order_by("-started_at")
        .values_list("pk", flat=True)[:TIMED]
    )
    acts = defaultdict(list)
    for rows in (
        Reading.objects.filter(build__in=latest).values_list("build_id", "check_row__stage__key", "at"),
        Tick.objects.filter(build__in=latest).values_list("build_id", "step__stage__key", "at"),
    ):
        for build, key, at in rows.order_by():
            acts[build, key].append(at)
    done = StageVisit.objects.filter(build__in=latest, done_at__isnull=False).values_list(
        "build_id", "stage__key", "opened_at"
    )
    minutes = defaultdict(list)
    for build, key, opened in done:
        spent = minutes_at_work([opened, *acts[build, key]])
        if spent:
            minutes[key].append(spent)
    return minutes


def medians_by_stage(revision) -> dict[str, float]:
    """{stage key: median minutes at work} of one revision. Four queries."""
    return {key: median(minutes) for key, minutes in minutes_by_stage([revision]).items()}


def minutes_at_work(moments) -> float:
    """Minutes between first and last act, breaks left out."""
    moments = sorted(moments)
    gaps = (later - earlier for earlier, later in zip(moments, moments[1:], strict=False))
    return sum((gap for gap in gaps if gap <= BREAK), timedelta()).total_seconds() / 60
