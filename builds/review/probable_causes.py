"""What the readings of the builds of a revision point to. A handful of queries, however many builds; a page of them is
ranked."""

from collections import OrderedDict
from dataclasses import dataclass, replace

from django.core.paginator import Page, Paginator
from django.db.models import Exists, OuterRef

from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.causes import Cause, list_causes
from builds.bench.diagnosis.centres import list_centres, list_corrections
from builds.bench.diagnosis.diagnose import find_meter_ohms
from builds.bench.diagnosis.observations import carried_by_build, make_name, make_observation
from builds.bench.models import Build, CheckStatus, ConfirmedFault, Reading
from builds.bench.readings import extras
from builds.bench.readings.repeats import find_repeated
from builds.guides.circuit.titles import with_title
from builds.guides.guide_cache import load_guide
from checks.diagnosis import Ranking, Suggestion, next_reading, rank
from checks.diagnosis.likelihood import METER_OHMS
from checks.outcomes import Outcome

LEAST = 0.15  # causes at least so likely are shown
LIKELY_MISTAKE = 0.5
A_PAGE = 20  # ranking one build takes a hundredth of a second or two
MOST_CACHED = 2000  # rankings kept in memory, by the readings they are of
OFF = (Outcome.OUT_OF_BAND.value, Outcome.SWITCH_OFF.value)


@dataclass(frozen=True)
class BuildCauses:
    """A build with something out of band, now or before it was mended, and what that pointed to."""

    build: object
    ranking: Ranking
    off: tuple  # its checks that are out of band
    mended: tuple  # those that were, and are not now
    causes: tuple[Cause, ...]
    suggestion: Suggestion | None
    confirmed: tuple[str, ...]  # what it was, as the designer has said
    is_compared: bool = True  # has the circuit a figure for one of those checks at least?

    @property
    def is_explained(self) -> bool:
        """Is there a cause to confirm, a mistake in many readings, or a cause that is confirmed?"""
        mistake = self.ranking.mistake
        return bool(self.causes or self.confirmed or (mistake and mistake.probability > LIKELY_MISTAKE))


def over_builds(revision, prepared, priors, page=1) -> tuple[Page, list[BuildCauses]]:
    """A page of the builds that have or had a check out of band, those that have one now first. Each is ranked by its
    latest readings; of what was mended since, by the reading that was off."""
    now = Exists(CheckStatus.objects.filter(build=OuterRef("pk"), outcome__in=OFF))
    ever = Exists(CheckStatus.objects.filter(build=OuterRef("pk"), first_outcome__in=OFF))
    builds = Build.objects.filter(now | ever, revision=revision).annotate(now=now).order_by("-now", "serial", "pk")
    shown = Paginator(builds.select_related("builder", "meter"), A_PAGE).get_page(page)
    evidence = _Evidence(list(shown))
    about = list_centres(revision, prepared), list_corrections(revision)
    return shown, [_causes(build, evidence, prepared, priors, about, load_guide(revision)) for build in shown]


def withdrawn_readings(builds) -> set[tuple[int, int, int]]:
    """(build, check, attempt) of readings that the next attempt corrects as a typing error: no evidence of anything.
    One query."""
    rows = Reading.objects.filter(build__in=builds, is_slip=True).values_list("build_id", "check_row_id", "attempt")
    return {(build, check, attempt - 1) for build, check, attempt in rows}


class _Evidence:
    """Readings of a page's builds: statuses, those that were off, and those beyond the guide's checks. 7 queries."""

    def __init__(self, builds):
        self.statuses: dict = {build.pk: [] for build in builds}
        for row in CheckStatus.objects.filter(build__in=builds).select_related("latest", "check_row__stage"):
            self.statuses[row.build_id].append(row)
        self.off: dict = {}
        withdrawn = withdrawn_readings(builds)
        for reading in Reading.objects.filter(build__in=builds, outcome__in=OFF).order_by("attempt"):
            if (reading.build_id, reading.check_row_id, reading.attempt) not in withdrawn:
                self.off.setdefault((reading.build_id, reading.check_row_id, reading.outcome), reading)
        self.extra, self.carried, self.again = (
            extras.extra_observations_by_build(builds),
            carried_by_build(builds),
            find_repeated(builds),
        )
        self.confirmed: dict = {build.pk: [] for build in builds}
        for fault in ConfirmedFault.objects.filter(build__in=builds, taken_back_at=None):
            self.confirmed[fault.build_id].append(fault.sentence)

    def reading(self, status) -> Reading:
        """The latest reading, or of what has been mended the one that was off."""
        if status.outcome in OFF or status.first_outcome not in OFF:
            return status.latest
        return self.off.get((status.build_id, status.check_row_id, status.first_outcome), status.latest)


def _causes(build, evidence: _Evidence, prepared, priors, about, guide) -> BuildCauses:
    """`about` is what good kits read, and what the bench corrects readings for."""
    rows = evidence.statuses[build.pk]
    off = tuple(s.check_row for s in rows if s.outcome in OFF)
    mended = tuple(s.check_row for s in rows if s.outcome not in OFF and s.first_outcome in OFF)
    used = [(s, evidence.reading(s)) for s in rows]
    seen = [
        make_observation(s.check_row, r, r == s.latest and (build.pk, s.check_row_id) in evidence.again)
        for s, r in used
        if (r.at_reference is not None or r.over_range) and not (s.is_outdated and r == s.latest)
    ]
    stopped = any(s.stop_id for s in rows)
    seen_by_now = [*evidence.carried.get(build.pk, []), *seen, *evidence.extra.get(build.pk, [])]
    centres, corrected = about
    ranking = ranked(prepared, seen_by_now, priors, centres, corrected, find_meter_ohms(build))
    if stopped:
        ranking = ranking.condition_on_fault()
    names = [name for name in (make_name(c) for c in (*off, *mended)) if name in prepared.index]
    if not names or ranking.fits_good_kit:
        return BuildCauses(build, ranking, off, mended, (), None, tuple(evidence.confirmed[build.pk]), bool(names))
    advice = _next_reading(build, off, prepared, ranking, {o.place for o in seen}, guide)
    return BuildCauses(
        build,
        ranking,
        off,
        mended,
        list_causes(ranking, prepared, names[0], guide, LEAST),
        advice,
        tuple(evidence.confirmed[build.pk]),
    )


def _next_reading(build, off, prepared, ranking, taken, guide) -> Suggestion | None:
    """What the builder would be asked for at the first check that is off, by the bench's own rule. One query."""
    row = next((check for check in off if make_name(check) in prepared.index), None)
    if row is None:
        return None
    best = next_reading(prepared, ranking, taken, allowed_measurements(build, row))
    return best and replace(best, place=with_title(best.place, guide))


def ranked(prepared, seen, priors, centres, corrected, meter_ohms=METER_OHMS) -> Ranking:
    """`rank`, remembered with the book it was made from: until a reading or a prior changes the answer is the same."""
    memo = prepared.__dict__.setdefault("_rankings", OrderedDict())
    key = (
        tuple(seen),
        frozenset(priors.items()) if priors else None,
        frozenset(centres.items()),
        frozenset(corrected.items()),
        meter_ohms,
    )
    if key not in memo:
        memo[key] = rank(prepared, seen, priors, meter_ohms=meter_ohms, centres=centres, corrected=corrected)
        while len(memo) > MOST_CACHED:
            memo.popitem(last=False)
    return memo[key]
