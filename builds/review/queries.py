"""The numbers of the dashboard, each from one GROUP BY, so that a thousand builds cost little more than ten."""

from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, Q
from django.utils.translation import gettext_lazy

from builds.bench.models import SHOWN_OUTCOME, Build, CheckStatus, Reading, Snag
from builds.guides.models import Check
from builds.review.problems.state import with_snag_state
from builds.review.read_counts import NONE, read_counts
from builds.ui.paging import count_pages
from checks.outcomes import Outcome
from checks.serials import natural
from checks.statistics.proportions import Share, wilson


@dataclass(frozen=True)
class RankedCheck:
    check: Check
    missed: Share  # builds that were not in band at the first attempt
    retakes: int
    not_passed: int


def list_checks(revision) -> list[Check]:
    return list(
        Check.objects.filter(stage__revision=revision)
        .select_related("stage")
        .order_by("stage__position", "position", "pk")
    )


def ranked_checks(checks, counts) -> list[RankedCheck]:
    """Checks by the share of builds that missed first time, worst first. `counts`: of read_counts."""
    ranked = [
        RankedCheck(check, wilson(n.missed_first, n.builds), n.attempts - n.builds, n.not_passed)
        for check in checks
        if (n := counts.get(check.pk))
    ]
    return sorted(ranked, key=lambda r: (-(r.missed.share or 0), -r.missed.n))


def latest_stops(revision, limit=8):
    """Readings past a stop limit, the latest first; `stands` while the check has not read well since."""
    status = CheckStatus.objects.filter(build=OuterRef("build"), check_row=OuterRef("check_row"), stop__isnull=False)
    return (
        Reading.objects.filter(check_row__stage__revision=revision, outcome=Outcome.SWITCH_OFF)
        .annotate(stands=Exists(status))
        .select_related("build__builder", "check_row__stage")
        .order_by("-at")[:limit]
    )


def danger_snags(revision, limit=8):
    rows = Snag.objects.own().filter(build__revision=revision, severity=Snag.Severity.DANGER)
    return with_snag_state(rows.exclude(state=Snag.State.CLOSED)).select_related("build__builder", "stage")[:limit]


def snags_by_stage(revision) -> list[tuple]:
    """[(stage key, title, {kind: count})] of the stages that have snags, in the guide's order."""
    own = Snag.objects.own().filter(build__revision=revision)
    rows = (
        own.values_list("stage__position", "stage__key", "stage__title", "kind")
        .annotate(n=Count("pk"))
        .order_by("stage__position", "kind")
    )
    table: dict[tuple, dict[str, int]] = {}
    for _position, key, title, kind, n in rows:
        table.setdefault((key, title), {})[kind] = n
    return [(key, title, counts) for (key, title), counts in table.items()]


SORTS = {
    "serial": gettext_lazy("serial number"),
    "progress": gettext_lazy("checks passed"),
    "problems": gettext_lazy("checks not in band"),
}
OLD_SORTS = {"troubles": "problems"}  # as addresses had them before


def builds_page(revision, sort: str, start: int, size: int = 50):
    """(builds with progress counts, total) of one page of the matrix; of the last one where it starts past that."""
    serials = dict(Build.objects.filter(revision=revision).order_by().values_list("pk", "serial"))
    ids = sorted(serials, key=lambda pk: natural(serials[pk]))
    total, sort = len(ids), OLD_SORTS.get(sort, sort)
    if sort in SORTS and sort != "serial":
        sorted_by = Q(passed=True) if sort == "progress" else ~Q(outcome=Outcome.IN_BAND)
        counts = dict(
            CheckStatus.objects.filter(sorted_by, build__revision=revision)
            .values_list("build_id")
            .annotate(n=Count("pk"))
        )
        ids.sort(key=lambda pk: -counts.get(pk, 0))  # stable: by serial number within a count
    start = min(start, (count_pages(total, size) - 1) * size)
    ids = ids[start : start + size]
    # Only the builds of this page are counted: counting all of them on every page cost more than the rest.
    builds = (
        Build.objects.filter(pk__in=ids)
        .select_related("builder")
        .annotate(
            passed=Count("statuses", filter=Q(statuses__passed=True)),
            problems=Count("statuses", filter=~Q(statuses__outcome=Outcome.IN_BAND)),
        )
        .in_bulk()
    )
    return [builds[pk] for pk in ids], total


def load_statuses(builds) -> dict:
    """{(build id, check id): (outcome, deviation, attempts, first outcome)} as plain tuples, in one query."""
    rows = CheckStatus.objects.filter(build__in=[b.pk for b in builds]).values_list(
        "build_id", "check_row_id", SHOWN_OUTCOME, "deviation", "attempts", "first_outcome"
    )
    return {(b, c): (outcome, deviation, attempts, first) for b, c, outcome, deviation, attempts, first in rows}


@dataclass(frozen=True)
class StageRow:
    title: str
    first_pass: Share  # checks in band at the first attempt over checks taken
    retakes: int
    through: int  # builds that have done the stage
    minutes_guide: int
    snags: int
    key: str = ""


def stage_table(revision, checks=None, counts=None) -> list[StageRow]:
    """First-pass yield, re-takes and snags of each stage. `checks` and `counts` (read_counts), if at hand."""
    checks = list_checks(revision) if checks is None else checks
    counts = read_counts(checks) if counts is None else counts
    by_stage: dict[int, tuple] = {}
    for check in checks:
        of_check = counts.get(check.pk, NONE)
        n, right, attempts = by_stage.get(check.stage_id, (0, 0, 0))
        right += of_check.builds - of_check.missed_first
        by_stage[check.stage_id] = (n + of_check.builds, right, attempts + of_check.attempts)
    snags = dict(Snag.objects.own().filter(build__revision=revision).values_list("stage_id").annotate(n=Count("pk")))
    # Django drops a model's own order from a counted query, and PostgreSQL then gives the rows in any order.
    stages = revision.stages.annotate(through=Count("visits", filter=Q(visits__done_at__isnull=False))).order_by(
        "position", "pk"
    )
    rows = []
    for stage in stages:
        n, right, attempts = by_stage.get(stage.pk, (0, 0, 0))
        rows.append(
            StageRow(
                stage.title,
                wilson(right, n),
                attempts - n,
                stage.through,
                stage.minutes,
                snags.get(stage.pk, 0),
                stage.key,
            )
        )
    return rows
