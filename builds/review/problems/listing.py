"""The list of all problems: deviations and snags with their state, filtered and cut into pages by the database."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Case, Count, Exists, OuterRef, Q, When

from builds.bench.models import CheckStatus, Snag
from builds.review.models import Triage
from builds.review.problems.state import UNDECIDED, ProblemState, with_deviation_state, with_snag_state
from builds.ui.paging import count_pages
from checks.outcomes import Outcome

PAGE = 25
MISSED = ~Q(outcome=Outcome.IN_BAND) | ~Q(first_outcome=Outcome.IN_BAND)
HELD, OUT, CORRECTED = "held", "out", "corrected"
NOW = {
    HELD: Q(passed=False) & ~Q(outcome=Outcome.IN_BAND),
    OUT: ~Q(outcome=Outcome.IN_BAND),
    CORRECTED: Q(outcome=Outcome.IN_BAND),
}
STOPS_FIRST = Case(When(Q(outcome=Outcome.SWITCH_OFF) | Q(first_outcome=Outcome.SWITCH_OFF), then=0), default=1)
GRAVEST_FIRST = Case(*(When(severity=word, then=n) for n, word in enumerate(Snag.Severity.values)), default=9)


@dataclass(frozen=True)
class Filter:
    """What to show; an empty word shows all. `now`: HELD leaves out what was passed or conceded, OUT and CORRECTED show
    deviations only; `kind`: of snags."""

    state: str = ""
    cause: str = ""
    stage: str = ""
    kind: str = ""
    now: str = ""

    @property
    def is_on(self) -> bool:
        return bool(self.state) or self.is_narrowed

    @property
    def is_narrowed(self) -> bool:
        """By more than the state."""
        return any((self.cause, self.stage, self.kind, self.now))


@dataclass(frozen=True)
class Problem:
    """A deviation or a snag, with its triage, if there is one."""

    row: Any  # a CheckStatus or a Snag
    triage: Triage | None
    is_snag: bool

    @property
    def state(self) -> str:
        return self.row.problem_state

    @property
    def is_corrected(self) -> bool:
        """A deviation whose last reading is in band."""
        return not self.is_snag and self.row.outcome == Outcome.IN_BAND


def list_problems(revision, chosen: Filter, page: int = 1) -> tuple[list[Problem], int]:
    """(the problems of one page, how many there are in all): snags, the gravest first, then deviations, those that said
    switch off first and the others in the guide's order. Five queries."""
    deviations, snags = _deviations(revision, chosen), _snags(revision, chosen)
    counts = snags.count(), deviations.count()
    page = min(page, count_pages(sum(counts), PAGE))
    start, stop = (page - 1) * PAGE, page * PAGE
    on_page = list(snags[start:stop])
    others = list(deviations[max(0, start - counts[0]) : max(0, stop - counts[0])])
    by_snag, by_deviation = _triages(on_page, others)
    rows = [Problem(row, by_snag.get(row.pk), True) for row in on_page]
    rows += [Problem(row, by_deviation.get((row.build_id, row.check_row_id)), False) for row in others]
    return rows, sum(counts)


def count_states(revision, chosen: Filter) -> dict[str, int]:
    """State -> how many problems are in it, under the other filters. Two queries."""
    every = Filter("", chosen.cause, chosen.stage, chosen.kind, chosen.now)
    counts = dict.fromkeys(ProblemState.values, 0)
    for rows in (_deviations(revision, every), _snags(revision, every)):
        for state, n in rows.order_by().values_list("problem_state").annotate(n=Count("pk")):
            counts[state] += n
    return counts


def count_undecided(revision) -> dict[str, int]:
    """State -> problems that wait for the designer: snags, and deviations that hold a build. Two queries."""
    counts = count_states(revision, Filter(now=HELD))
    return {state: counts[state] for state in UNDECIDED}


def _deviations(revision, chosen: Filter):
    if chosen.kind:
        return with_deviation_state(CheckStatus.objects.none())
    rows = CheckStatus.objects.filter(MISSED, build__revision=revision)
    if chosen.stage:
        rows = rows.filter(check_row__stage__key=chosen.stage)
    if chosen.now in NOW:
        rows = rows.filter(NOW[chosen.now])
    mine = Triage.objects.filter(build=OuterRef("build"), check_row=OuterRef("check_row"))
    return (
        _in_state(with_deviation_state(rows), mine, chosen)
        .select_related("build__builder", "check_row__stage", "latest")
        .order_by(STOPS_FIRST, "check_row__stage__position", "check_row__position", "build__serial", "pk")
    )


def _snags(revision, chosen: Filter):
    if chosen.now in (OUT, CORRECTED):
        return with_snag_state(Snag.objects.none())
    rows = Snag.objects.own().filter(build__revision=revision)
    rows = rows.filter(stage__key=chosen.stage) if chosen.stage else rows
    rows = rows.filter(kind=chosen.kind) if chosen.kind else rows
    return (
        _in_state(with_snag_state(rows), Triage.objects.filter(snag=OuterRef("pk")), chosen)
        .select_related("build__builder", "stage", "check_row")
        .order_by(GRAVEST_FIRST, "-at", "pk")
    )


def _in_state(rows, mine, chosen: Filter):
    rows = rows.filter(problem_state=chosen.state) if chosen.state else rows
    return rows.filter(Exists(mine.filter(cause=chosen.cause))) if chosen.cause else rows


def _triages(snags, deviations) -> tuple[dict, dict]:
    """({snag id: triage}, {(build id, check id): triage}). Two queries."""
    of_snags = {t.snag_id: t for t in Triage.objects.filter(snag__in=[snag.pk for snag in snags])}
    of_deviations = {
        (t.build_id, t.check_row_id): t
        for t in Triage.objects.filter(
            build__in={row.build_id for row in deviations}, check_row__in={row.check_row_id for row in deviations}
        )
    }
    return of_snags, of_deviations
