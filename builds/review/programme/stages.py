"""How builds go through the stages: the funnel, first-pass yield, and hours spent against the guide's minutes."""

from dataclasses import dataclass
from statistics import median

from django.db.models import Count, Exists, OuterRef, Q

from builds.bench.models import CheckStatus, StageVisit
from builds.guides.models import Stage
from builds.review.programme.times import minutes_by_stage
from checks.outcomes import Outcome
from checks.statistics.programme import FirstPassYield, first_pass_yield
from checks.statistics.proportions import Share, wilson


@dataclass(frozen=True)
class StageLine:
    """One stage of a kit over revisions, by its key. `minutes` are (median, shortest, longest) at work, None when not
    known."""

    title: str
    began: int
    done: int
    inside: int
    right: Share | None  # builds right at first in every check, of those that have done the stage; None without checks
    minutes: tuple[float, float, float] | None
    timed: int
    guide_minutes: int
    checks: int = 0  # that every build has to pass

    @property
    def slow(self) -> bool:
        """More than half as long again as the guide says."""
        return bool(self.minutes and self.guide_minutes and self.minutes[0] > 1.5 * self.guide_minutes)


def stage_lines(revisions) -> list[StageLine]:
    """The stages in the order of the latest revision, then any that only earlier ones have. Seven queries."""
    stages: dict[str, Stage] = {}
    must = Count("checks", filter=Q(checks__optional=False))
    for stage in (
        Stage.objects.filter(revision__in=revisions).annotate(must=must).order_by("-revision__issued_at", "position")
    ):
        stages.setdefault(stage.key, stage)
    counted = (
        StageVisit.objects.filter(stage__revision__in=revisions)
        .values_list("stage__key")
        .annotate(n=Count("pk"), done=Count("pk", filter=Q(done_at__isnull=False)))
    )
    visits = {key: (n, done) for key, n, done in counted}
    missed, taken = _first_time(revisions)
    minutes = minutes_by_stage(revisions)
    return [
        _line(stage, visits.get(key, (0, 0)), missed.get(key, 0), taken.get(key, 0), minutes.get(key, []))
        for key, stage in stages.items()
    ]


def _line(stage, visits, missed, taken, minutes) -> StageLine:
    began, done = visits
    spread = (median(minutes), min(minutes), max(minutes)) if minutes else None
    return StageLine(
        stage.title,
        began,
        done,
        began - done,
        wilson(taken - missed, taken) if taken else None,
        spread,
        len(minutes),
        stage.minutes,
        stage.must,
    )


def _first_time(revisions) -> tuple[dict, dict]:
    """({stage key: builds that missed a check at first}, {stage key: builds}) of builds that have done the stage."""
    through = StageVisit.objects.filter(
        build=OuterRef("build"), stage=OuterRef("check_row__stage"), done_at__isnull=False
    )
    rows = CheckStatus.objects.filter(Exists(through), check_row__stage__revision__in=revisions).values_list(
        "check_row__stage__key"
    )
    outcomes = list(
        rows.annotate(
            missed=Count("build", distinct=True, filter=~Q(first_outcome=Outcome.IN_BAND)),
            n=Count("build", distinct=True),
        )
    )
    return {key: missed for key, missed, _n in outcomes}, {key: n for key, _missed, n in outcomes}


def programme_yield(lines: list[StageLine]) -> FirstPassYield:
    """The share of builds that would go through every stage right at first; not known before each stage with checks was
    done once."""
    known = [line for line in lines if line.right or line.checks]
    return first_pass_yield([(line.right.successes, line.right.n) if line.right else (0, 0) for line in known])
