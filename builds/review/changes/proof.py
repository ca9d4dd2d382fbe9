"""Did it work? The next revision's builds beside those before it."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, Q, Sum
from django.utils.translation import gettext as _

from builds.bench.models import CheckStatus, Snag, StageVisit, Tick
from builds.review.changes.targets import decision_label, target_of_snag
from builds.review.models import Decision
from builds.review.programme.times import medians_by_stage
from builds.ui.formatting import number, signed_number
from checks.outcomes import Outcome
from checks.statistics.difference import Change, Difference, compare


@dataclass(frozen=True)
class StageProof:
    """A stage before and after: first-pass checks, builds without a snag, retakes per check, median minutes at work."""

    title: str
    first_pass: Difference
    snag_free: Difference
    retakes: tuple[float | None, float | None]
    minutes: tuple[float | None, float | None]


@dataclass(frozen=True)
class ChangeProof:
    """One accepted change, and how its check or step went before and after: the builds that read the check in band at
    the first attempt, or else (`counts_snags`) those without a snag."""

    decision: Decision
    difference: Difference | None
    counts_snags: bool = False

    @property
    def about(self) -> str:
        return decision_label(self.decision)

    @property
    def sentence(self) -> str:
        d = self.difference
        if d is None or not d.after.n:
            return _("No build of the new revision has reached it yet.")
        if d.difference is None:
            return _("Nothing to compare with: %(shares)s.") % {"shares": self._shares(d)}
        text = {
            Change.BETTER: _("It worked: %(shares)s (likely difference %(low)s to %(high)s %%; %(p)s)."),
            Change.WORSE: _("It made things worse: %(shares)s (likely difference %(low)s to %(high)s %%; %(p)s)."),
            Change.ALIKE: _("It changed little: %(shares)s (likely difference %(low)s to %(high)s %%; %(p)s)."),
            Change.UNKNOWN: _("Too few builds to say: %(shares)s (likely difference %(low)s to %(high)s %%; %(p)s)."),
        }[d.verdict]
        figures = {"low": _percent(d.low), "high": _percent(d.high), "p": p_value_text(d.p)}
        return text % {"shares": self._shares(d), **figures}

    def _shares(self, d: Difference) -> str:
        text = (
            _("%(a)s of %(m)s without a snag before, %(b)s of %(n)s after")
            if self.counts_snags
            else _("%(a)s of %(m)s in band first time before, %(b)s of %(n)s after")
        )
        return text % {"a": d.before.successes, "m": d.before.n, "b": d.after.successes, "n": d.after.n}


def _percent(share: float) -> str:
    return signed_number(100 * share)


def p_value_text(p: float) -> str:
    """Fisher's p as it is written: three places, and no zero."""
    return f"p < {number(0.001, 3)}" if p < 0.001 else f"p = {number(p, 3)}"


def stage_proofs(before, after) -> list[StageProof]:
    """Stages of `after` that `before` has too, by key. Seventeen queries."""
    old, new = _by_stage(before), _by_stage(after)
    titles = {stage.key: stage.title for stage in after.stages.all()}
    return [_proof(titles[key], old[key], new[key]) for key in titles if key in old]


def _by_stage(revision) -> dict[str, dict]:
    stages: dict[str, dict] = {
        key: defaultdict(int) | {"minutes": None} for key in revision.stages.values_list("key", flat=True)
    }
    counts = (
        CheckStatus.objects.filter(build__revision=revision)
        .values_list("check_row__stage__key")
        .annotate(n=Count("pk"), right=Count("pk", filter=Q(first_outcome=Outcome.IN_BAND)), attempts=Sum("attempts"))
    )
    for key, n, right, attempts in counts:
        stages[key] |= {"n": n, "right": right, "attempts": attempts}
    came, snagged, minutes = defaultdict(set), defaultdict(set), medians_by_stage(revision)
    for key, build in (
        Snag.objects.filter(build__revision=revision).order_by().values_list("stage__key", "build").distinct()
    ):
        snagged[key].add(build)
    for key, build in StageVisit.objects.filter(build__revision=revision).values_list("stage__key", "build"):
        came[key].add(build)
    for key, row in stages.items():
        row["came"], row["snagged"] = len(came[key] | snagged[key]), len(snagged[key])
        row["minutes"] = minutes.get(key)
    return stages


def _proof(title, old, new) -> StageProof:
    def retakes(row):
        return (row["attempts"] - row["n"]) / row["n"] if row["n"] else None

    def free(row):
        return row["came"] - row["snagged"], row["came"]

    return StageProof(
        title,
        compare(old["right"], old["n"], new["right"], new["n"]),
        compare(*free(old), *free(new)),
        (retakes(old), retakes(new)),
        (old["minutes"], new["minutes"]),
    )


def change_proofs(after) -> list[ChangeProof]:
    """Every accepted change that came into `after`."""
    rows = after.changes.filter(state=Decision.State.ACCEPTED).select_related(
        "check_row__stage", "snag__stage", "snag__step__stage", "snag__check_row__stage", "snag__part", "revision"
    )
    return [_build_proof(decision, after) for decision in rows]


def _build_proof(decision, after) -> ChangeProof:
    if decision.check_row is None:
        return ChangeProof(
            decision,
            compare(*_snag_free(decision.snag, decision.revision), *_snag_free(decision.snag, after)),
            counts_snags=True,
        )
    old = _counts(CheckStatus.objects.filter(build__revision=decision.revision, check_row=decision.check_row))
    new = _counts(
        CheckStatus.objects.filter(
            build__revision=after,
            check_row__stage__key=decision.check_row.stage.key,
            check_row__key=decision.check_row.key,
        )
    )
    return ChangeProof(decision, compare(*old, *new))


def _counts(rows) -> tuple[int, int]:
    counts = rows.aggregate(n=Count("pk"), right=Count("pk", filter=Q(first_outcome=Outcome.IN_BAND)))
    return counts["right"], counts["n"]


def _snag_free(snag, revision) -> tuple[int, int]:
    """Builds that came to what a snag is about and reported none on it, of those that came. Who reported one came,
    ticked or not."""
    target, stage = target_of_snag(snag), {"stage__key": snag.stage.key}
    came, about = {
        "step": (Tick, {"step__key": target.key, "step__stage__key": target.stage}),
        "check": (CheckStatus, {"check_row__key": target.key, "check_row__stage__key": target.stage}),
        "part": (StageVisit, {"part__ref": target.key}),
        "stage": (StageVisit, stage | {"step": None, "check_row": None, "part": None}),
    }[target.kind]
    snagged = set(Snag.objects.filter(build__revision=revision, **about).order_by().values_list("build", flat=True))
    where = stage if came is StageVisit else about
    everyone = snagged | set(
        came._default_manager.filter(build__revision=revision, **where).values_list("build", flat=True)
    )
    return len(everyone) - len(snagged), len(everyone)
