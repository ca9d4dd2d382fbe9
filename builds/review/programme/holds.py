"""Builds that the designer keeps from going on: a stage halted for all, an erratum they have not confirmed."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from builds.bench.models import Build, Erratum, ErratumSeen, Halt, StageVisit
from builds.guides.models import Stage


@dataclass(frozen=True)
class Hold:
    code: str  # "halt" or "erratum"
    build: Build
    why: str
    since: datetime


@dataclass(frozen=True)
class Place:
    """Where a build is: the first stage it has not done (None after the last), the stages it has been in, and when it
    came there."""

    at: int | None
    been: frozenset[int]
    since: datetime


def list_holds(going: dict[int, Build]) -> list[Hold]:
    """Halts before errata, oldest first. `going`: builds under way by id. Two queries; up to three more where there is
    a halt or an erratum."""
    revisions = {b.revision_id for b in going.values()}
    halts = list(
        Halt.objects.filter(stage__revision__in=revisions, lifted_at=None).select_related("stage").order_by("at")
    )
    errata = list(
        Erratum.objects.filter(revision__in=revisions, withdrawn_at=None).select_related("stage").order_by("at")
    )
    if not (halts or errata):
        return []
    stages = [halt.stage for halt in halts] + [erratum.stage for erratum in errata]
    places = _places(going, {stage.revision_id for stage in stages})
    seen = set(
        ErratumSeen.objects.filter(erratum__in=errata, build__in=list(places)).values_list("erratum_id", "build_id")
    )
    return [
        Hold("halt", going[pk], _halt_text(halt), max(halt.at, place.since))
        for halt in halts
        for pk, place in places.items()
        if place.at == halt.stage_id
    ] + [
        Hold("erratum", going[pk], _erratum_text(row), max(row.at, place.since))
        for row in errata
        for pk, place in places.items()
        if (row.stage_id == place.at or row.stage_id in place.been) and (row.pk, pk) not in seen
    ]


def _halt_text(halt) -> str:
    return _("“%(stage)s” is halted: %(reason)s") % {"stage": halt.stage.title, "reason": halt.reason}


def _erratum_text(erratum) -> str:
    return _("Has not confirmed the erratum on “%(stage)s”") % {"stage": erratum.stage.title}


def _places(going, revisions) -> dict[int, Place]:
    """Where the builds of these revisions are."""
    stages = defaultdict(list)
    for revision, pk in (
        Stage.objects.filter(revision__in=revisions).order_by("position", "pk").values_list("revision_id", "pk")
    ):
        stages[revision].append(pk)
    builds = {pk: build for pk, build in going.items() if build.revision_id in revisions}
    been: defaultdict[int, set] = defaultdict(set)
    done: defaultdict[int, dict] = defaultdict(dict)
    for build, stage, done_at in StageVisit.objects.filter(build__in=list(builds)).values_list(
        "build_id", "stage_id", "done_at"
    ):
        been[build].add(stage)
        if done_at:
            done[build][stage] = done_at
    return {
        pk: Place(
            next((stage for stage in stages[build.revision_id] if stage not in done[pk]), None),
            frozenset(been[pk]),
            max(done[pk].values(), default=build.started_at),
        )
        for pk, build in builds.items()
    }
