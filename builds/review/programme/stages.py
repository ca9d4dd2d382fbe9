"""How builds go through the stages: the funnel, first-pass yield, and hours spent against the guide's minutes."""
from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from statistics import median

from django.db.models import Count, Exists, OuterRef, Q

from builds.bench.models import Build, Reading, StageVisit, Standing, Tick
from builds.guides.models import Stage
from checks.pooled.programme import Rolled, rolled_through
from checks.pooled.proportions import Share, wilson

BREAK = timedelta(minutes=20)  # a longer pause between two acts is a break, and counts for nothing
TIMED = 60  # builds, those begun last, whose acts are added up


@dataclass(frozen=True)
class StageLine:
    """One stage of a kit over revisions, by its key. `minutes` are (median, shortest, longest) at work, None when not known."""

    title: str
    began: int
    done: int
    inside: int
    right: Share | None  # builds right at first in every check, of those that have done the stage; None without checks
    minutes: tuple[float, float, float] | None
    timed: int
    guide_minutes: int

    @property
    def slow(self) -> bool:
        """More than half as long again as the guide says."""
        return bool(self.minutes and self.guide_minutes and self.minutes[0] > 1.5 * self.guide_minutes)


def stage_lines(revisions) -> list[StageLine]:
    """The stages in the order of the latest revision, then any that only earlier ones have. Seven queries."""
    stages = {}
    for stage in Stage.objects.filter(revision__in=revisions).order_by("-revision__issued_at", "position"):
        stages.setdefault(stage.key, stage)
    counted = StageVisit.objects.filter(stage__revision__in=revisions).values_list("stage__key").annotate(
        n=Count("pk"), done=Count("pk", filter=Q(done_at__isnull=False)))
    visits = {key: (n, done) for key, n, done in counted}
    missed, taken = _first_time(revisions)
    minutes = _minutes(revisions)
    return [_line(stage, visits.get(key, (0, 0)), missed.get(key, 0), taken.get(key, 0), minutes.get(key, [])) for key, stage in
            stages.items()]


def _line(stage, visits, missed, taken, minutes) -> StageLine:
    began, done = visits
    spread = (median(minutes), min(minutes), max(minutes)) if minutes else None
    return StageLine(stage.title, began, done, began - done, wilson(taken - missed, taken) if taken else None, spread, len(minutes),
                     stage.minutes)


def _first_time(revisions) -> tuple[dict, dict]:
    """({stage key: builds that missed a check at first}, {stage key: builds}) of builds that have done the stage."""
    through = StageVisit.objects.filter(build=OuterRef("build"), stage=OuterRef("check_row__stage"), done_at__isnull=False)
    rows = Standing.objects.filter(Exists(through), check_row__stage__revision__in=revisions).values_list("check_row__stage__key")
    found = list(rows.annotate(missed=Count("build", distinct=True, filter=~Q(first_outcome="in band")),
                               n=Count("build", distinct=True)))
    return {key: missed for key, missed, _n in found}, {key: n for key, _missed, n in found}


def _minutes(revisions) -> dict[str, list[float]]:
    """{stage key: minutes at work of each build that has done it}, from the moments of ticks and readings."""
    latest = list(Build.objects.filter(revision__in=revisions, started_at__isnull=False).order_by("-started_at").values_list(
        "pk", flat=True)[:TIMED])
    acts = defaultdict(list)
    for rows in (Reading.objects.filter(build__in=latest).values_list("build_id", "check_row__stage__key", "at"),
                 Tick.objects.filter(build__in=latest).values_list("build_id", "step__stage__key", "at")):
        for build, key, at in rows:
            acts[build, key].append(at)
    done = StageVisit.objects.filter(build__in=latest, done_at__isnull=False).values_list("build_id", "stage__key", "opened_at")
    found = defaultdict(list)
    for build, key, opened in done:
        spent = at_work([opened, *acts[build, key]])
        if spent:
            found[key].append(spent)
    return found


def at_work(moments) -> float:
    """Minutes between first and last act, breaks left out."""
    moments = sorted(moments)
    gaps = (later - earlier for earlier, later in zip(moments, moments[1:], strict=False))
    return sum((gap for gap in gaps if gap <= BREAK), timedelta()).total_seconds() / 60


def rolled(lines: list[StageLine]) -> Rolled:
    """The share of builds that would go through every stage right at first."""
    return rolled_through([(line.right.successes, line.right.n) for line in lines if line.right])
