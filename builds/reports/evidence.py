"""What the findings rest on, read in a fixed number of queries and one check at a time."""

from collections import defaultdict
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Q

from builds.bench.diagnosis.confirmed import ConfirmedCauses
from builds.bench.models import Photo, Reading, Snag
from builds.review.changes.cases import Decisions
from builds.review.models import Triage
from builds.review.problems.state import with_decision_state
from builds.review.proposals import rows_of
from checks.outcomes import Outcome


@dataclass(frozen=True)
class FirstTry:
    """A first attempt that missed and was taken again."""

    value: float | None
    outcome: str
    deviation: float


@dataclass(frozen=True)
class Evidence:
    """Everything about a revision's builds but the statuses, by what it is about."""

    serials: dict  # build id: serial, in the order of serial numbers
    snags: tuple
    photos: dict  # snag id: [photo]
    firsts: dict  # (check id, build id): FirstTry
    triages: dict  # check id: [triage]
    snag_triages: dict  # snag id: triage
    decisions: dict  # ("check" or "snag", id): decision
    confirmed: ConfirmedCauses

    def decision_on(self, check, snags):
        """The decision that counts for a check (builds/review/changes/cases.py)."""
        by_check = {pk: d for (kind, pk), d in self.decisions.items() if kind == "check"}
        by_snag = {pk: d for (kind, pk), d in self.decisions.items() if kind == "snag"}
        return Decisions(by_check, by_snag).on(check, snags)

    def about_check(self, check) -> tuple:
        return tuple(s for s in self.snags if s.check_row_id == check.pk)

    def photos_of(self, snags) -> tuple:
        return tuple(p for s in snags for p in self.photos.get(s.pk, ()))

    def triages_of(self, snags) -> list:
        return [self.snag_triages[s.pk] for s in snags if s.pk in self.snag_triages]


def evidence_of(revision, builds) -> Evidence:
    """Seven queries."""
    snags = tuple(
        Snag.objects.filter(build__revision=revision).select_related(
            "build__builder", "stage", "step", "check_row", "part"
        )
    )
    triages = Triage.objects.filter(Q(build__revision=revision) | Q(snag__build__revision=revision))
    by_check, by_snag = defaultdict(list), {}
    for triage in triages:
        if triage.snag_id:
            by_snag[triage.snag_id] = triage
        else:
            by_check[triage.check_row_id].append(triage)
    decisions = {
        ("snag", d.snag_id) if d.snag_id else ("check", d.check_row_id): d
        for d in with_decision_state(revision.decisions).select_related(
            "draft", "check_row__stage", "snag__check_row__stage"
        )
    }
    return Evidence(
        {b.pk: b.serial for b in builds},
        snags,
        _photos(revision),
        _firsts(revision),
        by_check,
        by_snag,
        decisions,
        ConfirmedCauses.of(revision),
    )


def _photos(revision) -> dict:
    photos = defaultdict(list)
    for photo in Photo.objects.filter(build__revision=revision).exclude(snag=None):
        photos[photo.snag_id].append(photo)
    return photos


def _firsts(revision) -> dict:
    rows = (
        Reading.objects.filter(build__revision=revision, attempt=1)
        .exclude(outcome=Outcome.IN_BAND)
        .values_list("check_row_id", "build_id", "at_reference", "outcome", "deviation")
    )
    return {(check, build): FirstTry(*rest) for check, build, *rest in rows}


def rows_by_check(checks):
    """Yield (check, its rows in any order) for every check, in any order: one query, and one check's rows in memory at
    a time. To have the database put a hundred thousand rows into the guide's order takes it longer than to read
    them."""
    left = {check.pk: check for check in checks}
    for pk, group in groupby(rows_of(checks, "check_row_id"), key=lambda row: row.check):
        yield left.pop(pk), list(group)
    for check in left.values():
        yield check, []
