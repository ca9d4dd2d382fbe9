"""Every trouble of a revision in one list: deviations and snags with what was made of each."""
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q
from django.http import QueryDict

from builds.bench.models import Build, Snag, Standing
from builds.guides.models import Check, Revision, Stage
from builds.review.figures import MISSED
from builds.review.models import Cause, Triage

KINDS = {"deviation": "Readings", "snag": "Snags"}


@dataclass(frozen=True)
class Trouble:
    at: datetime
    kind: str  # deviation or snag
    build: Build
    stage: Stage
    row: Standing | Snag
    triage: Triage | None

    @property
    def state(self) -> str:
        return self.triage.state if self.triage else Triage.State.NEW.value

    @property
    def state_words(self) -> str:
        return Triage.State(self.state).label

    @property
    def cause_words(self) -> str:
        return self.triage.get_cause_display() if self.triage else ""


@dataclass(frozen=True)
class TroubleFilter:
    """Empty means all. Values an address makes up are dropped."""

    kind: str = ""
    state: str = ""
    cause: str = ""
    stage: str = ""

    @classmethod
    def read(cls, query: QueryDict, stages: list[Stage]) -> "TroubleFilter":
        known = {"kind": KINDS, "state": Triage.State.values, "cause": Cause.values,
                 "stage": [stage.key for stage in stages]}
        return cls(**{name: query.get(name, "") if query.get(name) in values else ""
                      for name, values in known.items()})

    def keeps(self, trouble: Trouble) -> bool:
        cause = trouble.triage.cause if trouble.triage else ""
        return (self.kind in ("", trouble.kind) and self.state in ("", trouble.state)
                and self.cause in ("", cause) and self.stage in ("", trouble.stage.key))


def troubles(revision: Revision, wanted: TroubleFilter) -> list[Trouble]:
    """Newest first; three queries."""
    found = [*_deviations(revision), *_snags(revision)]
    return sorted((t for t in found if wanted.keeps(t)), key=lambda t: t.at, reverse=True)


def _deviations(revision):
    triages = {(t.build_id, t.check_row_id): t
               for t in Triage.objects.filter(build__revision=revision).select_related("by")}
    standings = (Standing.objects.filter(Q(first_outcome__in=MISSED) | Q(outcome__in=MISSED), build__revision=revision)
                 .select_related("build", "latest", "check_row__stage"))
    for s in standings:
        yield Trouble(s.latest.at, "deviation", s.build, s.check_row.stage, s,
                      triages.get((s.build_id, s.check_row_id)))


def _snags(revision):
    for snag in Snag.objects.filter(build__revision=revision).select_related("build", "stage", "triage", "check_row"):
        yield Trouble(snag.at, "snag", snag.build, snag.stage, snag, getattr(snag, "triage", None))


def triage_of_deviation(build: Build, check: Check) -> Triage:
    """The triage of a build's deviation, not yet saved when there is none."""
    return (Triage.objects.filter(build=build, check_row=check).first()
            or Triage(build=build, check_row=check))


def triage_of_snag(snag: Snag) -> Triage:
    return Triage.objects.filter(snag=snag).first() or Triage(snag=snag)
