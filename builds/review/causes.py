"""What the readings of the builds of a revision point to. A handful of queries, however many builds; a page of them is ranked."""
from collections import OrderedDict
from dataclasses import dataclass

from django.core.paginator import Page, Paginator
from django.db.models import Exists, OuterRef

from builds.bench import extras
from builds.bench.causes import observation_of
from builds.bench.models import Build, Standing
from checks.faults import Ranking, rank

LEAST = 0.15  # causes at least so likely are shown
A_PAGE = 20  # ranking one build takes a hundredth of a second or two
KEPT = 2000  # rankings kept in memory, by the readings they are of
OFF = ("out of band", "switch off")


@dataclass(frozen=True)
class BuildCauses:
    """A build with something out of band, and what ranks first in it."""

    build: object
    ranking: Ranking
    off: tuple  # its checks that are out of band

    @property
    def groups(self) -> tuple:
        return tuple(group for group in self.ranking.groups[:3] if group.probability >= LEAST)


def over_builds(revision, prepared, priors, page=1) -> tuple[Page, list[BuildCauses]]:
    """A page of the builds that have a check out of band now, each ranked by its latest readings."""
    off = Standing.objects.filter(build=OuterRef("pk"), outcome__in=OFF)
    shown = Paginator(Build.objects.filter(Exists(off), revision=revision).select_related("builder"), A_PAGE).get_page(page)
    standings: dict = {build.pk: [] for build in shown}
    for row in Standing.objects.filter(build__in=shown.object_list).select_related("latest", "check_row__stage"):
        standings[row.build_id].append(row)
    beside = extras.observed_by_build(list(shown))
    return shown, [_causes(build, standings[build.pk], beside.get(build.pk, []), prepared, priors) for build in shown]


def _causes(build, standings, beside, prepared, priors) -> BuildCauses:
    seen = [observation_of(s) for s in standings if s.latest.at_reference is not None or s.latest.over_range]
    return BuildCauses(build, ranked(prepared, [*seen, *beside], priors), tuple(s.check_row for s in standings if s.outcome in OFF))


def ranked(prepared, seen, priors) -> Ranking:
    """`rank`, remembered with the book it was made from: until a reading or a prior changes the answer is the same."""
    memo = prepared.__dict__.setdefault("_rankings", OrderedDict())
    key = (tuple(seen), frozenset(priors.items()) if priors else None)
    if key not in memo:
        memo[key] = rank(prepared, seen, priors)
        while len(memo) > KEPT:
            memo.popitem(last=False)
    return memo[key]
