"""What the readings of every build of a revision point to. A handful of queries, however many builds."""
from dataclasses import dataclass

from builds.bench.models import Standing
from checks.faults import Observation, Ranking, rank

LEAST = 0.15  # causes at least so likely are shown


@dataclass(frozen=True)
class BuildCauses:
    """A build with something out of band, and what ranks first in it."""

    build: object
    ranking: Ranking
    off: tuple  # its checks that are out of band

    @property
    def groups(self) -> tuple:
        return tuple(group for group in self.ranking.groups[:3] if group.probability >= LEAST)


def over_builds(revision, prepared, priors) -> list[BuildCauses]:
    """Builds that have a check out of band now or had one at the first attempt; each ranked by its latest readings that are off."""
    rows = Standing.objects.filter(build__revision=revision).select_related("build__builder", "latest", "check_row__stage")
    by_build: dict = {}
    for standing in rows:
        by_build.setdefault(standing.build_id, []).append(standing)
    found = []
    for standings in by_build.values():
        off = tuple(s.check_row for s in standings if s.outcome in ("out of band", "switch off"))
        if off:
            seen = [_observation(s) for s in standings if s.latest.at_reference is not None or s.latest.over_range]
            found.append(BuildCauses(standings[0].build, rank(prepared, seen, priors), off))
    return sorted(found, key=lambda b: b.build.serial)


def _observation(standing) -> Observation:
    reading = standing.latest
    return Observation(f"{standing.check_row.stage.key}/{standing.check_row.key}", None if reading.over_range else reading.at_reference,
                       0.0 if reading.over_range else reading.u)
