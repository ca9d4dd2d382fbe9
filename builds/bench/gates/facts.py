"""All that gates and verdicts need to know of a build, in one query.

Every post at the bench asks this. Nine small queries through the ORM cost ten times as much as the one below, most of
it in building them, so this is written in SQL that SQLite and PostgreSQL both read. Rows come back as (kind, id,
number, flag, word, moment).
"""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from operator import attrgetter

from django.db import connection, models
from django.utils import timezone

from builds.bench.models import (
    Acknowledgement,
    Build,
    Carried,
    CheckStatus,
    Concession,
    Erratum,
    ErratumSeen,
    ExtraReading,
    FittedValve,
    Halt,
    MadeSafe,
    Photo,
    PowerOn,
    Reading,
    Sitting,
    StageVisit,
    Tick,
    ValveTest,
)
from builds.bench.offline.arrival import LATE
from builds.guides.models import FigureCorrection, Stage
from checks.outcomes import Outcome

STEP = timedelta(milliseconds=1)


@dataclass(frozen=True)
class CheckState:
    """Where a build stands on one check: its latest attempt and whether that lets it pass."""

    attempts: int
    passed: bool
    outcome: str
    at: datetime
    confirms: bool = False  # that attempt is in band as it reads, so that a second one like it may pass

    @property
    def is_outdated(self) -> bool:
        """Was it in band, until a valve was changed?"""
        return not self.passed and self.outcome == Outcome.IN_BAND.value

    @property
    def ends_stop(self) -> bool:
        """Does it read well, so that a stop before it is over?"""
        return self.passed or self.outcome == Outcome.IN_BAND.value


@dataclass(frozen=True)
class Facts:
    """What has been done to a build. Ids of steps, checks and stages throughout."""

    ticked: frozenset[int] = frozenset()
    photographed: frozenset[int] = frozenset()
    conceded: frozenset[int] = frozenset()
    check_states: dict[int, CheckState] = field(default_factory=dict)
    acknowledged: frozenset[tuple[int, int]] = frozenset()  # (stage, sitting)
    visits: dict[int, bool] = field(default_factory=dict)  # stage -> noted as done
    last_power: datetime | None = None
    last_safe: datetime | None = None
    reading: int | None = None  # the one that an earlier post with the same entry key made, of whichever build
    halts: dict[int, str] = field(default_factory=dict)  # stage -> why it is shut for every build
    carried: frozenset[int] = frozenset()  # checks passed under an earlier revision, before the build moved
    errata: frozenset[int] = frozenset()  # stages with an erratum this build has not confirmed
    corrected: frozenset[int] = frozenset()  # checks that an erratum corrects, confirmed or not
    stops: dict[int, datetime] = field(default_factory=dict)  # check -> when it stopped, not read well since
    last_unsafe: datetime | None = None  # a reading across the reservoir that was not safe to touch
    in_words: frozenset[int] = frozenset()  # those of them whose figures are as issued: the words alone say otherwise
    last_change: datetime | None = None  # a concession, a valve fitted or tested, an extra reading

    def dated(self, at: datetime | None = None, *, reassures: bool = False) -> datetime:
        """When an entry made `at` (None: now) is dated. Where the record is ahead of the clock, the clock was set back:
        what comes now comes after all that is on record, or a bad reading would count as older than a good one, and a
        kit as made safe that has power. Of one kept on a phone nobody knows then what it came after: it is dated so
        only where it does not reassure, and the clocks of two machines cannot be the cause."""
        now = timezone.now()
        at = at or now
        moments = [*map(attrgetter("at"), self.check_states.values()), *self.stops.values()]
        latest = (self.last_power, self.last_safe, self.last_unsafe, self.last_change)
        last = max([*moments, *filter(None, latest)], default=now)
        if now - at > LATE and (reassures or last - now <= LATE):
            return at
        return last + STEP if last > now else at

    def with_check_state(self, check_pk: int, status: CheckState) -> "Facts":
        stops = dict(self.stops)
        if check_pk in stops and status.ends_stop:
            del stops[check_pk]
        if status.outcome == Outcome.SWITCH_OFF.value:
            stops[check_pk] = status.at
        return replace(self, check_states={**self.check_states, check_pk: status}, stops=stops)

    def with_tick(self, step_pk: int, done: bool) -> "Facts":
        return replace(self, ticked=self.ticked | {step_pk} if done else self.ticked - {step_pk})

    def with_photo(self, step_pk: int) -> "Facts":
        return replace(self, photographed=self.photographed | {step_pk})


def _table(model) -> str:
    return connection.ops.quote_name(model._meta.db_table)


@lru_cache(maxsize=4)
def _sql(vendor: str) -> str:
    at = "CAST(NULL AS timestamp)" if vendor == "sqlite" else "CAST(NULL AS timestamptz)"
    return f"""
SELECT 'tick', step_id, 0, 0, '', {at} FROM {_table(Tick)} WHERE build_id = %(build)s
UNION ALL SELECT CASE WHEN step_id IS NULL THEN 'carried' ELSE 'step along' END,
  COALESCE(step_id, check_id), 0, 0, '', {at}
  FROM {_table(Carried)} WHERE build_id = %(build)s
UNION ALL SELECT DISTINCT 'photo', step_id, 0, 0, '', {at}
  FROM {_table(Photo)} WHERE build_id = %(build)s AND step_id IS NOT NULL AND withdrawn_at IS NULL
UNION ALL SELECT 'status', s.check_id, s.attempts, CASE WHEN s.passed THEN 1 ELSE 0 END
  + CASE WHEN r.confirms THEN 2 ELSE 0 END, s.outcome, r.at
  FROM {_table(CheckStatus)} s JOIN {_table(Reading)} r ON r.id = s.latest_id WHERE s.build_id = %(build)s
UNION ALL SELECT 'stop', s.check_id, 0, 0, '', r.at
  FROM {_table(CheckStatus)} s JOIN {_table(Reading)} r ON r.id = s.stop_id WHERE s.build_id = %(build)s
UNION ALL SELECT 'conceded', check_id, 0, 0, '', at FROM {_table(Concession)} WHERE build_id = %(build)s
UNION ALL SELECT 'change', 0, 0, 0, '', MAX(at) FROM {_table(FittedValve)} WHERE build_id = %(build)s
UNION ALL SELECT 'change', 0, 0, 0, '', MAX(at) FROM {_table(ValveTest)} WHERE build_id = %(build)s
UNION ALL SELECT 'change', 0, 0, 0, '', MAX(at) FROM {_table(ExtraReading)} WHERE build_id = %(build)s
UNION ALL SELECT 'read', a.stage_id, a.sitting_id, 0, '', {at}
  FROM {_table(Acknowledgement)} a JOIN {_table(Sitting)} t ON t.id = a.sitting_id WHERE t.build_id = %(build)s
UNION ALL SELECT 'visit', stage_id, 0, CASE WHEN done_at IS NULL THEN 0 ELSE 1 END, '', {at}
  FROM {_table(StageVisit)} WHERE build_id = %(build)s
UNION ALL SELECT 'power', 0, 0, 0, '', MAX(at) FROM {_table(PowerOn)} WHERE build_id = %(build)s
UNION ALL SELECT 'safe', 0, 0, 0, '', MAX(at) FROM {_table(MadeSafe)} WHERE build_id = %(build)s AND is_safe
UNION ALL SELECT 'unsafe', 0, 0, 0, '', MAX(at) FROM {_table(MadeSafe)} WHERE build_id = %(build)s AND NOT is_safe
UNION ALL SELECT 'halt', h.stage_id, 0, 0, h.reason, {at}
  FROM {_table(Halt)} h JOIN {_table(Stage)} g ON g.id = h.stage_id
  WHERE g.revision_id = %(revision)s AND h.lifted_at IS NULL
UNION ALL SELECT DISTINCT 'erratum', e.stage_id, 0, 0, '', {at} FROM {_table(Erratum)} e
  WHERE e.revision_id = %(revision)s AND e.withdrawn_at IS NULL AND NOT EXISTS
  (SELECT 1 FROM {_table(ErratumSeen)} n WHERE n.erratum_id = e.id AND n.build_id = %(build)s)
UNION ALL SELECT DISTINCT 'corrected', e.check_id, 0, 0, '', {at} FROM {_table(Erratum)} e
  WHERE e.revision_id = %(revision)s AND e.withdrawn_at IS NULL AND e.check_id IS NOT NULL
UNION ALL SELECT DISTINCT 'in words', e.check_id, 0, 0, '', {at} FROM {_table(Erratum)} e
  WHERE e.revision_id = %(revision)s AND e.withdrawn_at IS NULL AND e.check_id IS NOT NULL AND NOT EXISTS
  (SELECT 1 FROM {_table(FigureCorrection)} f
   WHERE f.check_id = e.check_id AND f.withdrawn_at IS NULL AND f.at >= e.at)
UNION ALL SELECT 'entry', id, 0, 0, '', {at}
  FROM {_table(Reading)} WHERE entry_key = %(entry)s"""


def load_facts(build: Build, entry_key=None) -> Facts:
    """One query. `entry_key` looks for the reading that an earlier post of the same form made."""
    key = models.UUIDField().get_db_prep_value(entry_key, connection)
    with connection.cursor() as cursor:
        cursor.execute(_sql(connection.vendor), {"build": build.pk, "entry": key, "revision": build.revision_id})
        rows = cursor.fetchall()
    by_kind: dict[str, list] = {}
    states, visits, halts, stops, conceded = {}, {}, {}, {}, {}
    changes = []
    for kind, pk, number, flags, word, at in rows:
        if kind == "status":
            states[pk] = CheckState(number, bool(flags & 1), word, _known_moment(at), bool(flags & 2))
        elif kind == "stop":
            stops[pk] = _known_moment(at)
        elif kind == "visit":
            visits[pk] = bool(flags)
        elif kind == "halt":
            halts[pk] = word
        elif kind in ("power", "safe", "unsafe"):
            by_kind[kind] = [None if at is None else _known_moment(at)]
        elif kind == "conceded":
            conceded[pk] = _known_moment(at)
        elif kind == "change":
            changes.append(None if at is None else _known_moment(at))
        else:
            by_kind.setdefault(kind, []).append((pk, number) if kind == "read" else pk)
    along = by_kind.get("step along", [])
    return Facts(
        frozenset([*by_kind.get("tick", []), *along]),
        frozenset([*by_kind.get("photo", []), *along]),
        frozenset(conceded),
        states,
        frozenset(by_kind.get("read", [])),
        visits,
        by_kind["power"][0],
        by_kind["safe"][0],
        next(iter(by_kind.get("entry", [])), None),
        halts,
        frozenset(by_kind.get("carried", [])),
        frozenset(by_kind.get("erratum", [])),
        frozenset(by_kind.get("corrected", [])),
        stops,
        by_kind["unsafe"][0],
        frozenset(by_kind.get("in words", [])),
        max(filter(None, [*conceded.values(), *changes]), default=None),
    )


def _known_moment(value: str | datetime) -> datetime:
    """SQLite keeps moments as UTC text."""
    if isinstance(value, datetime):
        return value
    return datetime.fromisoformat(value).replace(tzinfo=UTC)
