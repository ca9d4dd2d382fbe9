"""Did it work? The next revision's builds beside those before it."""
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, F, Q, Sum

from builds.bench.models import Snag, StageVisit, Standing
from builds.review.models import Decision
from checks.pooled.difference import Difference, compare


@dataclass(frozen=True)
class StageProof:
    """A stage before and after: first-pass checks, builds without a snag, re-takes a check, median minutes."""

    title: str
    first_pass: Difference
    snag_free: Difference
    retakes: tuple[float | None, float | None]
    minutes: tuple[float | None, float | None]


@dataclass(frozen=True)
class ChangeProof:
    """One accepted change, and its check's first-time passes before and after."""

    decision: Decision
    difference: Difference | None

    @property
    def words(self) -> str:
        if self.difference is None or not self.difference.after.n:
            return "No build of the new revision has come to it yet."
        d = self.difference
        share = f"{d.before.successes} of {d.before.n} right at first before, {d.after.successes} of {d.after.n} after"
        return {"better": f"It worked: {share}.", "worse": f"It made things worse: {share}."}.get(
            d.verdict, f"Too few builds to say: {share} (difference {d.low:+.0%} to {d.high:+.0%}).")


def stage_proofs(before, after) -> list[StageProof]:
    """Stages of `after` that `before` has too, by key. Eight queries."""
    old, new = _by_stage(before), _by_stage(after)
    titles = {stage.key: stage.title for stage in after.stages.all()}
    return [_proof(titles[key], old[key], new[key]) for key in titles if key in old]


def _by_stage(revision) -> dict[str, dict]:
    found = {key: defaultdict(int) | {"minutes": None} for key in revision.stages.values_list("key", flat=True)}
    counts = Standing.objects.filter(build__revision=revision).values_list("check_row__stage__key").annotate(
        n=Count("pk"), right=Count("pk", filter=Q(first_outcome="in band")), attempts=Sum("attempts"))
    for key, n, right, attempts in counts:
        found[key] |= {"n": n, "right": right, "attempts": attempts}
    for key, n in Snag.objects.filter(build__revision=revision).values_list("stage__key").annotate(n=Count("build", distinct=True)):
        found[key]["snagged"] = n
    times = defaultdict(list)
    for key, opened, done in StageVisit.objects.filter(build__revision=revision, done_at__gt=F("opened_at")).values_list(
            "stage__key", "opened_at", "done_at"):
        times[key].append((done - opened).total_seconds() / 60)
    visits = dict(StageVisit.objects.filter(build__revision=revision).values_list("stage__key").annotate(n=Count("pk")))
    for key, row in found.items():
        row["visits"] = visits.get(key, 0)
        row["minutes"] = sorted(times[key])[len(times[key]) // 2] if times[key] else None
    return found


def _proof(title, old, new) -> StageProof:
    def retakes(row):
        return (row["attempts"] - row["n"]) / row["n"] if row["n"] else None

    def free(row):
        return max(0, row["visits"] - row["snagged"]), row["visits"]
    return StageProof(title, compare(old["right"], old["n"], new["right"], new["n"]), compare(*free(old), *free(new)),
                      (retakes(old), retakes(new)), (old["minutes"], new["minutes"]))


def change_proofs(after) -> list[ChangeProof]:
    """Every accepted change that came into `after`."""
    rows = after.changes.filter(state=Decision.State.ACCEPTED).select_related(
        "check_row__stage", "snag__stage", "snag__step", "revision")
    return [ChangeProof(decision, _difference(decision, after)) for decision in rows]


def _difference(decision, after) -> Difference | None:
    if decision.check_row is None:
        return _step_difference(decision, after)
    old = _counts(Standing.objects.filter(build__revision=decision.revision, check_row=decision.check_row))
    new = _counts(Standing.objects.filter(build__revision=after, check_row__stage__key=decision.check_row.stage.key,
                                          check_row__key=decision.check_row.key))
    return compare(*old, *new)


def _counts(rows) -> tuple[int, int]:
    found = rows.aggregate(n=Count("pk"), right=Count("pk", filter=Q(first_outcome="in band")))
    return found["right"], found["n"]


def _step_difference(decision, after) -> Difference:
    """Builds that ticked the step without a snag on it, before and after."""
    from builds.bench.models import Tick

    def counts(revision):
        where = {"step__stage__key": decision.snag.stage.key, "step__key": decision.snag.step.key}
        n = Tick.objects.filter(build__revision=revision, **where).count()
        snagged = Snag.objects.filter(build__revision=revision, **where).values("build").distinct().count()
        return max(0, n - snagged), n
    return compare(*counts(decision.revision), *counts(after))
