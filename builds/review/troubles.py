"""The list of all troubles: deviations and snags with what they turned out to be, filtered and cut into pages by the
database."""

from django.db.models import Case, Exists, OuterRef, Q, When

from builds.bench.models import CheckStatus, Snag
from builds.review.models import Triage

PAGE = 100
STOPS_FIRST = Case(When(Q(outcome="switch off") | Q(first_outcome="switch off"), then=0), default=1)
GRAVEST_FIRST = Case(*(When(severity=word, then=n) for n, word in enumerate(Snag.Severity.values)), default=9)


def troubles(
    revision, page: int = 1, *, state: str = "", cause: str = "", stage: str = "", kind: str = ""
) -> tuple[list, int]:
    """([("deviation" or "snag", row, triage or None)] of one page, how many there are in all): snags, the gravest
    first, then deviations, those that said switch off first and the others in the guide's order. Five queries."""
    deviations = _deviations(revision, state, cause, stage) if not kind else CheckStatus.objects.none()
    snags = _snags(revision, state, cause, stage, kind)
    counts = snags.count(), deviations.count()
    start, stop = (page - 1) * PAGE, page * PAGE
    rows = [("snag", row) for row in snags[start:stop]]
    rows += [("deviation", row) for row in deviations[max(0, start - counts[0]) : max(0, stop - counts[0])]]
    told = _triages(rows)
    return [(what, row, told.get((what, row.pk))) for what, row in rows], sum(counts)


def _deviations(revision, state, cause, stage):
    rows = CheckStatus.objects.filter(build__revision=revision).filter(
        ~Q(outcome="in band") | ~Q(first_outcome="in band")
    )
    rows = rows.filter(check_row__stage__key=stage) if stage else rows
    mine = Triage.objects.filter(build=OuterRef("build"), check_row=OuterRef("check_row"))
    return (
        _of_triage(rows, mine, state, cause)
        .select_related("build__builder", "check_row__stage", "latest")
        .order_by(STOPS_FIRST, "check_row__stage__position", "check_row__position", "build__serial", "pk")
    )


def _snags(revision, state, cause, stage, kind):
    rows = Snag.objects.own().filter(build__revision=revision)
    rows = rows.filter(stage__key=stage) if stage else rows
    rows = rows.filter(kind=kind) if kind else rows
    return (
        _of_triage(rows, Triage.objects.filter(snag=OuterRef("pk")), state, cause)
        .select_related("build__builder", "stage", "check_row")
        .order_by(GRAVEST_FIRST, "-at", "pk")
    )


def _of_triage(rows, mine, state, cause):
    """Without a triage, a trouble is as good as new."""
    if state == Triage.State.NEW:
        rows = rows.filter(Exists(mine.filter(state=state)) | ~Exists(mine))
    elif state:
        rows = rows.filter(Exists(mine.filter(state=state)))
    return rows.filter(Exists(mine.filter(cause=cause))) if cause else rows


def _triages(rows) -> dict:
    deviations = {(row.build_id, row.check_row_id): row.pk for what, row in rows if what == "deviation"}
    snags = [row.pk for what, row in rows if what == "snag"]
    pairs = Triage.objects.filter(build__in={b for b, _ in deviations}, check_row__in={c for _, c in deviations})
    found = {
        ("deviation", deviations[t.build_id, t.check_row_id]): t
        for t in pairs
        if (t.build_id, t.check_row_id) in deviations
    }
    return found | {("snag", t.snag_id): t for t in Triage.objects.filter(snag__in=snags)}
