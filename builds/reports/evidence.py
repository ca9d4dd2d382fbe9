"""What the findings rest on, read in a fixed number of queries."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q

from builds.bench.diagnosis.confirmed import ConfirmedCauses
from builds.bench.models import Photo, Snag
from builds.reports.points import PlotPoints
from builds.review.changes.cases import Decisions
from builds.review.models import Triage
from builds.review.problems.state import with_decision_state


@dataclass(frozen=True)
class Evidence:
    """Everything about a revision's builds but the statuses, by what it is about."""

    serials: dict  # build id: serial, in the order of serial numbers
    snags: tuple
    photos: dict  # snag id: [photo]
    points: PlotPoints
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

    def list_photos(self, snags) -> tuple:
        return tuple(p for s in snags for p in self.photos.get(s.pk, ()))

    def list_triages(self, snags) -> list:
        return [self.snag_triages[s.pk] for s in snags if s.pk in self.snag_triages]


def gather_evidence(revision, checks, builds) -> Evidence:
    """Six queries. `builds`: by serial number."""
    serials = {b.pk: b.serial for b in builds}
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
        serials,
        snags,
        _photos(revision),
        PlotPoints(checks, serials),
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
