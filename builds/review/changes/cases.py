"""The cases behind the findings: what was found to be the cause of each, so that no page suggests what does not fit
it. `build_case` is the one way a case is made; the fault summary calls it too."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q

from builds.bench.diagnosis.confirmed import ConfirmedCauses
from builds.bench.models import Build, Snag
from builds.guides.figures import band_for
from builds.review.changes.case import Case
from builds.review.models import Cause, Decision, Triage
from builds.review.problems.state import with_decision_state
from checks.outcomes import Outcome
from checks.serials import natural
from checks.statistics.proportions import wilson


@dataclass(frozen=True)
class MissedCheck:
    """A build that missed a check, first or last; `deviation` of its first reading."""

    serial: str
    first_outcome: str
    outcome: str
    deviation: float


@dataclass(frozen=True)
class Decisions:
    """What was decided in a revision, by check and by snag."""

    by_check: dict[int, Decision]
    by_snag: dict[int, Decision]

    @classmethod
    def of(cls, revision) -> "Decisions":
        """One query."""
        rows = list(with_decision_state(revision.decisions.select_related("draft")))
        return cls({d.check_row_id: d for d in rows if d.check_row_id}, {d.snag_id: d for d in rows if d.snag_id})

    def on(self, check, snags) -> Decision | None:
        """The decision that counts for a check: one that was accepted, on it or on a snag about it, else its own."""
        own = self.by_check.get(check.pk)
        decisions = [d for d in (own, *(self.by_snag.get(snag.pk) for snag in snags)) if d]
        return next((d for d in decisions if d.state == Decision.State.ACCEPTED), own)


def build_case(
    check,
    meaning,
    misses: Iterable[MissedCheck],
    causes: Iterable[tuple[str, str]],
    confirmed: Mapping[str, Iterable[str]],
    snags: tuple,
    decision: Decision | None,
) -> Case:
    """`causes`: (cause, serial) as triaged; `confirmed`: serial -> causes confirmed at its bench."""
    misses = sorted(misses, key=lambda miss: natural(miss.serial))
    first = [miss for miss in misses if miss.first_outcome != Outcome.IN_BAND]
    read = meaning.summary.n + meaning.summary.over
    return Case(
        check,
        band_for(check),
        meaning.summary,
        meaning.finding,
        wilson(len(first), max(read, len(misses))),
        meaning.proposal,
        sum(Outcome.SWITCH_OFF in (miss.first_outcome, miss.outcome) for miss in misses),
        any(snag.severity == Snag.Severity.DANGER for snag in snags),
        tuple((cause, serial) for cause, serial in causes if cause != Cause.UNKNOWN),
        _confirmed_causes(first, confirmed),
        tuple(miss.serial for miss in misses if miss.outcome != Outcome.IN_BAND),
        len(snags),
        decision,
        meaning.agreement,
    )


def _confirmed_causes(misses, confirmed) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
    """(low or high, cause, serials) of the builds whose cause was confirmed."""
    causes: dict[tuple[str, str], list[str]] = defaultdict(list)
    for miss in misses:
        for cause in confirmed.get(miss.serial, ()):
            causes["low" if miss.deviation < 0 else "high", cause].append(miss.serial)
    return tuple((side, cause, tuple(serials)) for (side, cause), serials in causes.items())


def planned_change(texts: Iterable[str]) -> str:
    """The changes the designer planned, each once."""
    return " ".join(dict.fromkeys(text.strip() for text in texts if text.strip()))


def list_cases(revision, checks, meanings, snags, decisions: Decisions) -> dict[int, tuple[Case, str]]:
    """Check id -> (its case, the change the designer planned). `meanings`: check id -> Meaning; `snags`: check id ->
    snags about it. Three queries."""
    serials = dict(Build.objects.filter(revision=revision).order_by().values_list("pk", "serial"))
    triages, confirmed = _triages(revision), ConfirmedCauses.of(revision)
    cases = {}
    for check in checks:
        about = tuple(snags[check.pk])
        causes = [(cause, serial) for cause, serial, _planned in triages[check.pk]]
        case = build_case(
            check,
            meanings[check.pk],
            list_misses(meanings[check.pk], serials),
            causes,
            confirmed.of_check(check),
            about,
            decisions.on(check, about),
        )
        cases[check.pk] = (case, planned_change(planned for *_cause, planned in triages[check.pk]))
    return cases


def list_misses(meaning, serials: Mapping[int, str]) -> list[MissedCheck]:
    """The builds that missed a check. `serials`: build id -> serial number."""
    return [MissedCheck(serials[m.build], m.first_outcome, m.outcome, m.deviation) for m in meaning.misses]


def _triages(revision) -> dict[int, list[tuple[str, str, str]]]:
    """Check id -> (cause, serial, planned change) of its deviations and of the snags about it."""
    triages = defaultdict(list)
    rows = Triage.objects.filter(Q(build__revision=revision) | Q(snag__build__revision=revision)).order_by("pk")
    for check, about, build, reported_by, cause, planned in rows.values_list(
        "check_row_id", "snag__check_row_id", "build__serial", "snag__build__serial", "cause", "planned_change"
    ):
        if check or about:
            triages[check or about].append((cause, build or reported_by, planned))
    return triages
