"""The dashboard's numbers: grouped in the database, so that they grow no faster than the readings do."""
from dataclasses import dataclass

from django.db.models import Count, Q

from builds.bench.models import Build, Reading, Snag, Standing
from builds.guides.models import Check, Revision, Stage
from builds.review.filters import PAGE_SIZE, MatrixFilter
from checks.pooled.proportions import wilson
from checks.verdict import Outcome

MISSED = (Outcome.OUT_OF_BAND.value, Outcome.SWITCH_OFF.value)
LATEST = 8


@dataclass(frozen=True)
class Missed:
    """How often builds missed a check at the first attempt; low and high are Wilson's 95 % limits."""

    check: Check
    read: int
    missed: int
    low: float
    high: float

    @property
    def share(self) -> float:
        return self.missed / self.read


@dataclass(frozen=True)
class BuildPage:
    builds: list[Build]
    total: int
    page: int
    pages: int


def stages_of(revision: Revision) -> list[Stage]:
    return list(revision.stages.prefetch_related("checks"))


def missed_first(checks: list[Check]) -> list[Missed]:
    """Checks missed at least once first time, the surest troubles first (by the lower limit of the share)."""
    counts: dict[int, dict[str, int]] = {}
    # Grouped by the two columns of one index: the rows themselves are never read.
    grouped = (Standing.objects.filter(check_row__in=[c.pk for c in checks]).order_by()
               .values_list("check_row_id", "first_outcome").annotate(n=Count("pk")))
    for check_id, outcome, n in grouped:
        counts.setdefault(check_id, {})[outcome] = n
    rows = [_missed(check, counts[check.pk]) for check in checks if check.pk in counts]
    return sorted((r for r in rows if r.missed), key=lambda r: (-r.low, -r.share, r.check.pk))


def _missed(check: Check, counts: dict[str, int]) -> Missed:
    read, missed = sum(counts.values()), sum(counts.get(outcome, 0) for outcome in MISSED)
    low, high = wilson(missed, read)[:2]
    return Missed(check, read, missed, low, high)


def build_page(revision: Revision, wanted: MatrixFilter) -> BuildPage:
    """One page of builds in the order asked for. Sorting by what was read costs one grouping of the standings."""
    builds = revision.builds.select_related("builder")
    ids = list(builds.values_list("pk", flat=True))
    if wanted.sort != "serial":
        ids = _sorted(ids, revision, wanted.sort)
    pages = max(1, -(-len(ids) // PAGE_SIZE))
    page = min(wanted.page, pages)
    chosen = ids[(page - 1) * PAGE_SIZE:page * PAGE_SIZE]
    found = builds.in_bulk(chosen)
    return BuildPage([found[pk] for pk in chosen], len(ids), page, pages)


def _sorted(ids: list[int], revision: Revision, sort: str) -> list[int]:
    wanted = Q(passed=True) if sort == "progress" else Q(outcome__in=MISSED)
    counts = dict(Standing.objects.filter(wanted, build__revision=revision).order_by()
                  .values_list("build_id").annotate(n=Count("pk")))
    return sorted(ids, key=lambda pk: -counts.get(pk, 0))  # stable: serial number within a count


def cells_of(builds: list[Build]) -> dict[int, dict[int, tuple]]:
    """Build id -> check id -> (outcome, first outcome, deviation, attempts, passed, reading id)."""
    cells: dict[int, dict[int, tuple]] = {build.pk: {} for build in builds}
    rows = Standing.objects.filter(build__in=list(cells)).values_list(
        "build_id", "check_row_id", "outcome", "first_outcome", "deviation", "attempts", "passed", "latest_id")
    for build_id, check_id, *facts in rows:
        cells[build_id][check_id] = tuple(facts)
    return cells


def progress_of(build: Build, stages: list[Stage], cells: dict[int, tuple]) -> list[tuple[Stage, int, int, int]]:
    """For each stage: (stage, checks passed, checks to pass, checks that stand out of band or switched off)."""
    rows = []
    for stage in stages:
        checks = [c for c in stage.checks.all() if not c.optional or c.pk in cells]
        found = [cells[c.pk] for c in checks if c.pk in cells]
        rows.append((stage, sum(f[4] for f in found), len(checks), sum(f[0] in MISSED for f in found)))
    return rows


def latest_stops(revision: Revision) -> list[Reading]:
    return list(Reading.objects.filter(build__revision=revision, outcome=Outcome.SWITCH_OFF.value)
                .select_related("build", "check_row__stage").order_by("-at")[:LATEST])


def danger_snags(revision: Revision) -> list[Snag]:
    return list(Snag.objects.filter(build__revision=revision, kind=Snag.Kind.DANGER)
                .exclude(state=Snag.State.CLOSED).select_related("build", "stage")[:LATEST])


def snag_counts(revision: Revision, stages: list[Stage]) -> tuple[list[str], list[tuple[Stage, list[int], int]]]:
    """(words of the kinds met, rows of (stage, number of each kind, total)); stages without snags are left out."""
    grouped = {(stage, kind): n for stage, kind, n in Snag.objects.filter(build__revision=revision).order_by()
               .values_list("stage_id", "kind").annotate(n=Count("pk"))}
    kinds = [kind for kind in Snag.Kind if any(k == kind.value for _, k in grouped)]
    rows = []
    for stage in stages:
        numbers = [grouped.get((stage.pk, kind.value), 0) for kind in kinds]
        if any(numbers):
            rows.append((stage, numbers, sum(numbers)))
    return [kind.label for kind in kinds], rows
