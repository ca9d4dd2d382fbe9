"""The release gate of a revision: each criterion, met or not, and what is missing."""

from dataclasses import dataclass

from django.db.models import Count
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.bench.models import Build, CheckStatus, Snag
from builds.guides.circuit.fault_dictionary import request_fault_dictionary
from builds.guides.models import Check
from builds.review.coverage import compute_coverage
from builds.review.models import ReleaseCriteria
from builds.review.programme.stages import StageLine
from checks.statistics.programme import Forecast, forecast_builds
from checks.statistics.proportions import wilson


@dataclass(frozen=True)
class Criterion:
    """One criterion: `met` None when it cannot be said yet. `status` and `missing` are sentences, `missing` empty when
    it is met."""

    code: str
    title: str
    status: str
    met: bool | None
    missing: str = ""


@dataclass(frozen=True)
class Gate:
    criteria: tuple[Criterion, ...]

    @property
    def open(self) -> bool:
        return all(c.met for c in self.criteria)


def load_criteria(kit) -> ReleaseCriteria:
    """The kit's latest criteria; unsaved defaults where none were set."""
    return kit.release_criteria.first() or ReleaseCriteria(kit=kit)


def judge_release(revision, lines: list[StageLine], criteria: ReleaseCriteria) -> Gate:
    """Every criterion for one revision; `lines` are its stages' (stage_lines)."""
    return Gate(
        (
            _done(revision, criteria),
            _yield(lines, criteria),
            _danger(revision, criteria),
            _readings(revision, criteria),
            _coverage(revision, criteria),
        )
    )


def _done(revision, criteria) -> Criterion:
    n = Build.objects.filter(revision=revision, finished_at__isnull=False).count()
    least, missing = criteria.builds_done, criteria.builds_done - n
    return Criterion(
        "builds",
        ngettext("At least %(n)s build signed off", "At least %(n)s builds signed off", least) % {"n": least},
        _("%(n)s signed off.") % {"n": n},
        missing <= 0,
        ngettext("%(n)s more build to be signed off.", "%(n)s more builds to be signed off.", missing) % {"n": missing}
        if missing > 0
        else "",
    )


def _yield(lines, criteria) -> Criterion:
    title = _("First-pass yield of every stage at least %(share)s %%, with %(confidence)s %% confidence") % {
        "share": criteria.first_pass,
        "confidence": criteria.confidence,
    }
    bounds = [
        (wilson(line.right.successes, line.right.n, criteria.confidence / 100).low, line)
        for line in lines
        if line.right
    ]
    if not bounds:
        status = _("No stage with checks has been done yet.")
        return Criterion("first-pass", title, status, None, _("The first build has to complete a stage."))
    low, weakest = min(bounds, key=lambda b: b[0])
    status = _("The weakest stage is “%(stage)s”: %(part)s of %(whole)s builds, which shows at least %(low)s %%.") % {
        "stage": weakest.title,
        "part": weakest.right.successes,
        "whole": weakest.right.n,
        "low": f"{100 * low:.0f}",
    }
    if low >= criteria.first_pass / 100:
        return Criterion("first-pass", title, status, True)
    ahead = forecast_builds(
        weakest.right.successes, weakest.right.n, criteria.first_pass / 100, criteria.confidence / 100
    )
    return Criterion("first-pass", title, status, False, describe_ahead(ahead))


def describe_ahead(ahead: Forecast) -> str:
    """How many more builds it takes, if they are clean and if they miss as often as those so far."""
    if ahead.clean is None:
        return _(
            "Even with no first-pass failure, this takes more builds than a test programme has. "
            "Improve the stage first."
        )
    clean = ngettext(
        "This takes about %(n)s more build with no first-pass failure.",
        "This takes about %(n)s more builds with no first-pass failure.",
        ahead.clean,
    ) % {"n": ahead.clean}
    if ahead.likely is None:
        more = _(
            "At the current rate of first-pass failures, this takes more than eighty builds. Improve the stage first."
        )
    elif ahead.high is None:
        more = _("At the current rate of first-pass failures, this takes about %(n)s builds (likely %(low)s or more).")
    else:
        more = _(
            "At the current rate of first-pass failures, this takes about %(n)s builds (likely %(low)s to %(high)s)."
        )
    return f"{clean} {more % {'n': ahead.likely, 'low': ahead.low, 'high': ahead.high}}"


def _danger(revision, criteria) -> Criterion:
    reported = Snag.objects.own().filter(build__revision=revision, severity=Snag.Severity.DANGER)
    n = reported.exclude(state=Snag.State.CLOSED).count()
    status = _("%(n)s open.") % {"n": n}
    if not criteria.no_danger:
        return Criterion("danger", _("Open danger reports are allowed"), status, True)
    missing = (
        ngettext("Answer and close %(n)s danger report.", "Answer and close %(n)s danger reports.", n) % {"n": n}
        if n
        else ""
    )
    return Criterion("danger", _("No danger report open"), status, n == 0, missing)


def _readings(revision, criteria) -> Criterion:
    counts = dict(
        CheckStatus.objects.filter(check_row__stage__revision=revision)
        .values_list("check_row_id")
        .annotate(n=Count("pk"))
    )
    checks = Check.objects.filter(stage__revision=revision, optional=False).order_by("stage__position", "position")
    counted = [(title, counts.get(pk, 0)) for pk, title in checks.values_list("pk", "title")]
    thin = [(title, n) for title, n in counted if n < criteria.readings_each]
    least = criteria.readings_each
    title = ngettext("Every check read by at least %(n)s build", "Every check read by at least %(n)s builds", least)
    title %= {"n": least}
    if not thin:
        return Criterion("readings", title, _("Every check has enough readings."), True)
    status = ngettext("%(n)s check has too few readings.", "%(n)s checks have too few readings.", len(thin)) % {
        "n": len(thin)
    }
    fewest = min(thin, key=lambda t: t[1])
    missing = _("The fewest: “%(check)s” with %(n)s.") % {"check": fewest[0], "n": fewest[1]}
    return Criterion("readings", title, status, False, missing)


def _coverage(revision, criteria) -> Criterion:
    title = _("The checks detect at least %(share)s %% of the kit’s possible faults") % {"share": criteria.coverage}
    prepared, job = request_fault_dictionary(revision)
    if prepared is None:
        if job.state == job.State.FAILED:
            return Criterion(
                "coverage", title, _("It cannot be calculated."), None, _("The circuit has problems: see its page.")
            )
        return Criterion("coverage", title, _("It is being calculated."), None, _("Come back in a minute."))
    share = compute_coverage(revision, prepared).share
    status = _("%(share)s %% of them, weighted by how often they happen.") % {"share": f"{100 * share:.0f}"}
    met = share >= criteria.coverage / 100
    return Criterion(
        "coverage", title, status, met, "" if met else _("The fault coverage page says which check to add.")
    )
