"""Builds that are stuck, and on what; snags open and answered; root causes."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from django.db.models import Count, Max, Min
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from builds.bench.models import Build, CheckStatus, ConfirmedFault, Message, Sitting, Snag
from builds.review.models import Cause, Triage
from builds.review.programme.holds import list_holds
from checks.outcomes import Outcome

CLOSE = Outcome.TOO_CLOSE
MISSED = {
    Outcome.SWITCH_OFF: gettext_lazy("Switch off at %(check)s"),
    Outcome.OUT_OF_BAND: gettext_lazy("Out of band: %(check)s"),
    CLOSE: gettext_lazy("Too close to call, needs a second reading: %(check)s"),
}
QUIET = timedelta(days=7)  # without an act for so long, somebody should ask


@dataclass(frozen=True)
class WaitingBuild:
    """A build that does not go on: `code` and `why` say what for, since when, and `link` leads there if it is one
    thing."""

    code: str  # "answer", an outcome, "halt", "erratum" or "quiet"
    build: Build
    why: str
    since: datetime
    link: str = ""


def list_waiting(revisions) -> list[WaitingBuild]:
    """Unfinished builds that wait for something, the longest first: one line a build, the gravest reason. Six queries;
    up to three more where there is a halt or an erratum."""
    going = {
        b.pk: b
        for b in Build.objects.filter(
            revision__in=revisions, started_at__isnull=False, finished_at=None, given_up_at=None
        ).select_related("builder", "revision__kit")
    }
    builds: dict[int, WaitingBuild] = {}
    for snag in Snag.objects.filter(
        build__in=list(going), state=Snag.State.OPEN, severity__in=("danger", "stopped")
    ).order_by("at"):
        why = _("Waiting for an answer: %(severity)s") % {"severity": snag.get_severity_display()}
        link = reverse("review:snag", args=[snag.pk])
        builds.setdefault(snag.build_id, WaitingBuild("answer", going[snag.build_id], why, snag.at, link))
    missed = list(
        CheckStatus.objects.filter(build__in=list(going), passed=False, outcome__in=MISSED)
        .select_related("check_row", "latest")
        .order_by("latest__at")
    )
    for row in (row for row in missed if row.outcome != CLOSE):
        builds.setdefault(row.build_id, _at_check(going[row.build_id], row))
    for held in list_holds(going):
        builds.setdefault(held.build.pk, WaitingBuild(held.code, held.build, held.why, held.since))
    for row in (row for row in missed if row.outcome == CLOSE):
        builds.setdefault(row.build_id, _at_check(going[row.build_id], row))
    for pk, seen in Sitting.objects.filter(build__in=list(going)).values_list("build").annotate(at=Max("seen_at")):
        if timezone.now() - seen > QUIET:
            builds.setdefault(pk, WaitingBuild("quiet", going[pk], _("No activity for a week or more"), seen))
    return sorted(builds.values(), key=lambda s: s.since)


def _at_check(build, row) -> WaitingBuild:
    why = MISSED[row.outcome] % {"check": row.check_row.title}
    return WaitingBuild(
        row.outcome, build, why, row.latest.at, reverse("review:deviation", args=[build.pk, row.check_row_id])
    )


@dataclass(frozen=True)
class SnagAges:
    """`waiting` snags, oldest first, with their days; how many were answered, and the median days that took."""

    waiting: tuple
    answered: int
    days: float | None


def snag_ages(revisions) -> SnagAges:
    """Open and answered snags with their age. Three queries."""
    own = Snag.objects.own().filter(build__revision__in=revisions)
    waiting = own.filter(state=Snag.State.OPEN).select_related("build", "stage").order_by("at")
    others = own.exclude(state=Snag.State.OPEN)
    first = dict(
        Message.objects.filter(snag__in=others, by__kits__isnull=False).values_list("snag").annotate(at=Min("at"))
    )
    taken = [(first[pk] - at).total_seconds() / 86400 for pk, at in others.values_list("pk", "at") if pk in first]
    now = timezone.now()
    return SnagAges(
        tuple((snag, (now - snag.at).days) for snag in waiting), others.count(), median(taken) if taken else None
    )


@dataclass(frozen=True)
class CauseLine:
    label: str
    n: int
    together: float  # share of all, this and those before it


def pareto(revisions) -> list[CauseLine]:
    """Root causes, the most frequent first: of deviations and snags as triaged, and confirmed faults. Three queries."""
    counts: dict[str, int] = {}
    for field in ("build__revision__in", "snag__build__revision__in"):
        causes = (
            Triage.objects.filter(**{field: revisions})
            .exclude(cause=Cause.UNKNOWN)
            .values_list("cause")
            .annotate(n=Count("pk"))
        )
        for cause, n in causes:
            label = str(Cause(cause).label)
            counts[label] = counts.get(label, 0) + n
    for row in ConfirmedFault.objects.filter(build__revision__in=revisions, taken_back_at=None):
        label = _("confirmed: %(fault)s") % {"fault": row.sentence}
        counts[label] = counts.get(label, 0) + 1
    rows: list[CauseLine] = []
    so_far, whole = 0, sum(counts.values())
    for label, n in sorted(counts.items(), key=lambda c: (-c[1], c[0])):
        so_far += n
        rows.append(CauseLine(label, n, so_far / whole))
    return rows
