"""The release gate of a revision: each criterion, met or not, and what is missing."""

from dataclasses import dataclass

from django.db.models import Count

from builds.bench.models import Build, CheckStatus, Snag
from builds.guides.circuit.fault_dictionary import request_fault_dictionary
from builds.guides.models import Check
from builds.review.coverage import coverage_of
from builds.review.models import ReleaseCriteria
from builds.review.programme.stages import StageLine
from checks.statistics.programme import Ahead, builds_ahead
from checks.statistics.proportions import wilson


@dataclass(frozen=True)
class Criterion:
    """One criterion: `met` None when it cannot be said yet. `missing` is a sentence, empty when met."""

    words: str
    stands: str
    met: bool | None
    missing: str = ""


@dataclass(frozen=True)
class Gate:
    criteria: tuple[Criterion, ...]

    @property
    def open(self) -> bool:
        return all(c.met for c in self.criteria)


def criteria_of(kit) -> ReleaseCriteria:
    """The kit's latest criteria; unsaved defaults where none were set."""
    return kit.release_criteria.first() or ReleaseCriteria(kit=kit)


def gate_of(revision, lines: list[StageLine], criteria: ReleaseCriteria) -> Gate:
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
    short = criteria.builds_done - n
    return Criterion(
        f"At least {criteria.builds_done} builds signed off",
        f"{n} signed off",
        short <= 0,
        f"{short} more build{'s' if short > 1 else ''} to be signed off." if short > 0 else "",
    )


def _yield(lines, criteria) -> Criterion:
    words = f"Every stage right at first in {criteria.first_pass} % of builds or more, {criteria.confidence} % sure"
    bounds = [
        (wilson(line.right.successes, line.right.n, criteria.confidence / 100).low, line)
        for line in lines
        if line.right
    ]
    if not bounds:
        return Criterion(
            words, "no stage with checks is done yet", None, "The first build has to come through a stage."
        )
    low, weakest = min(bounds, key=lambda b: b[0])
    stands = (
        f"weakest is “{weakest.title}”: {weakest.right.successes} of {weakest.right.n} builds, "
        f"which shows {100 * low:.0f} % or more"
    )
    if low >= criteria.first_pass / 100:
        return Criterion(words, stands, True)
    ahead = builds_ahead(weakest.right.successes, weakest.right.n, criteria.first_pass / 100, criteria.confidence / 100)
    return Criterion(words, stands, False, ahead_words(ahead))


def ahead_words(ahead: Ahead) -> str:
    """ "About 4 more clean builds. With as many misses as so far, …"."""
    if ahead.clean is None:
        return "Even clean builds would take more than a test programme has: mend the stage first."
    clean = f"About {ahead.clean} more clean build{'s' if ahead.clean > 1 else ''}"
    if ahead.likely is None:
        return f"{clean}. With as many misses as so far it would take more than eighty builds: mend the stage first."
    spread = f"{ahead.low} to {ahead.high}" if ahead.high is not None else f"{ahead.low} or more"
    return f"{clean}. With as many misses as so far, about {ahead.likely} builds (likely {spread})."


def _danger(revision, criteria) -> Criterion:
    n = (
        Snag.objects.own()
        .filter(build__revision=revision, severity=Snag.Severity.DANGER)
        .exclude(state=Snag.State.CLOSED)
        .count()
    )
    if not criteria.no_danger:
        return Criterion("Open danger snags are let pass", f"{n} open", True)
    missing = f"Answer and close {n} danger snag{'s' if n > 1 else ''}." if n else ""
    return Criterion("No danger snag open", f"{n} open", n == 0, missing)


def _readings(revision, criteria) -> Criterion:
    counts = dict(
        CheckStatus.objects.filter(check_row__stage__revision=revision)
        .values_list("check_row_id")
        .annotate(n=Count("pk"))
    )
    checks = Check.objects.filter(stage__revision=revision, optional=False).order_by("stage__position", "position")
    each = [(title, counts.get(pk, 0)) for pk, title in checks.values_list("pk", "title")]
    thin = [(title, n) for title, n in each if n < criteria.readings_each]
    words = f"Every check read by {criteria.readings_each} builds or more"
    if not thin:
        return Criterion(words, "all of them", True)
    fewest = min(thin, key=lambda t: t[1])
    return Criterion(
        words,
        f"{len(thin)} check{'s have' if len(thin) > 1 else ' has'} fewer",
        False,
        f"Fewest is “{fewest[0]}” with {fewest[1]}.",
    )


def _coverage(revision, criteria) -> Criterion:
    words = f"The checks show {criteria.coverage} % of the faults this kit could have, or more"
    prepared, job = request_fault_dictionary(revision)
    if prepared is None:
        failed = job.state == job.State.FAILED
        return Criterion(
            words,
            "cannot be worked out" if failed else "being worked out",
            None,
            "The circuit has troubles: see its page." if failed else "Come back in a minute.",
        )
    share = coverage_of(revision, prepared).share
    met = share >= criteria.coverage / 100
    stands = f"{100 * share:.0f} % of them, weighed by how often they happen"
    return Criterion(words, stands, met, "" if met else "The page on coverage says which check to add.")
