"""What the readings of a revision go with: meter, mains, builder, part batch, make of valve and the serial number."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from builds.bench.models import Build, CheckStatus, FittedValve
from builds.bench.valves.fitting import at_moment, in_order, make_key
from builds.review.models import PartBatch
from builds.review.queries import checks_of
from builds.ui.formatting import figure_words
from checks.serials import natural
from checks.statistics.dependence import Dependence, Trend, dependence, held, trend

REST = "the rest"  # builds of which no batch of a part was noted, where of others one was


@dataclass(frozen=True)
class Leaning:
    """One check going, or not going, with one thing. `q`: the rate at which as sure a finding is chance; `aloud`: below
    the level."""

    check: object
    of: str
    found: Dependence | Trend
    q: float
    aloud: bool

    @property
    def words(self) -> str:
        unit = self.check.unit
        if isinstance(self.found, Trend):
            way = "up" if self.found.tau > 0 else "down"
            return f"Readings go {way} with the serial number, by {figure_words(abs(self.found.slope), unit)} a build."
        low, high = self.found.lowest, self.found.highest
        return (
            f"Goes with the {self.of}: {figure_words(low.median, unit)} for {low.name} ({low.n} builds), "
            f"{figure_words(high.median, unit)} for {high.name} ({high.n})."
        )


class Circumstances:
    """Of a revision's builds: what each was built and measured with. Four queries, however many builds."""

    def __init__(self, revision):
        builds = Build.objects.filter(revision=revision).select_related("builder", "meter")
        self.builds = {b.pk: b for b in sorted(builds, key=lambda b: natural(b.serial))}
        self._valves: dict[int, list] = defaultdict(list)
        for row in FittedValve.objects.filter(build__revision=revision):
            self._valves[row.build_id].append(row)
        self.valves = {pk: in_order(rows) for pk, rows in self._valves.items()}
        self._asked, self._told = (), {}
        self.batches = list(PartBatch.objects.filter(revision=revision).prefetch_related("builds"))

    @cached_property
    def fixed(self) -> dict[str, dict[int, str]]:
        """Thing -> build id -> its group, of what stays the same over a build."""
        builds = self.builds
        found = {
            "builder": {pk: str(b.builder or "") for pk, b in builds.items()},
            "meter": {pk: _meter_words(b.meter) for pk, b in builds.items()},
            "mains": {pk: f"{b.mains_volts} V" for pk, b in builds.items()},
        }
        by_part: dict[str, dict[int, str]] = defaultdict(dict)
        for batch in self.batches:
            for build in batch.builds.all():
                for ref in batch.refs:
                    by_part[ref][build.pk] = batch.name
        alike: dict[tuple, list[str]] = defaultdict(
            list
        )  # parts that were always batched together are one thing to look at
        for ref, groups in by_part.items():
            alike[tuple(sorted(groups.items()))].append(ref)
        for groups, refs in alike.items():
            found[f"batch of {', '.join(refs)}"] = {pk: dict(groups).get(pk, REST) for pk in builds}
        return found

    @cached_property
    def place(self) -> dict[int, int]:
        """Build id -> its place in the order of serial numbers."""
        return {pk: n for n, pk in enumerate(self.builds)}

    @cached_property
    def any_swap(self) -> bool:
        return any(len(rows) > 1 for valves in self.valves.values() for rows in valves.values())

    @cached_property
    def sockets(self) -> list[str]:
        return sorted({ref for valves in self.valves.values() for ref in valves})

    @cached_property
    def _makes(self) -> dict[str, str]:
        """Key of a make -> the make as it was typed first."""
        names: dict[str, str] = {}
        for valves in self.valves.values():
            for rows in valves.values():
                for row in rows:
                    names.setdefault(make_key(row.make), row.make)
        return names

    def make(self, build: int, ref: str, moment: datetime) -> str:
        """The make in a socket when a reading was taken; empty when nothing was noted."""
        rows = self.valves.get(build, {}).get(ref, [])
        row = at_moment(rows, moment) if len(rows) > 1 else rows[0] if rows else None
        return self._makes[make_key(row.make)] if row else ""

    def groups(self, readings: list[tuple[int, datetime]]) -> dict[str, list[str]]:
        """Thing -> the group of each reading, given as (build id, when it was taken)."""
        if self.any_swap:
            return self._groups(readings)
        builds = tuple(build for build, _ in readings)
        if builds != self._asked:  # the next check has been read by the same builds, as a rule
            self._asked, self._told = builds, self._groups(readings)
        return self._told

    def _groups(self, readings) -> dict[str, list[str]]:
        found = {thing: [of.get(build, "") for build, _ in readings] for thing, of in self.fixed.items()}
        for ref in self.sockets:
            found[f"make of {ref}"] = [self.make(build, ref, moment) for build, moment in readings]
        return found


def _meter_words(meter) -> str:
    """By what it is, not by the name its owner gave it."""
    if not meter:
        return ""
    spec = meter.as_spec()
    loads = (
        figure_words(spec.input_ohms, "Ω") if spec.input_ohms else f"{figure_words(spec.ohms_per_volt, 'Ω')} per volt"
    )
    return f"{spec.kind}, {loads}"


def of_check(check, readings: list[tuple[int, datetime, float]], around: Circumstances) -> list[Leaning]:
    """All that was looked at for one check, its false discovery rate held over what was looked at. `readings`: the last
    of each build by serial number, as (build id, when, value at the guide's mains)."""
    return _held([(check, of, found) for of, found in _looked_at(readings, around)])


def of_revision(revision, around: Circumstances, readings: dict[int, list] | None = None) -> list[Leaning]:
    """What may be said aloud of all checks of a revision, surest first; the rate is held over all of them. Two queries.

    `readings`: check id -> readings as for `of_check`, where a caller has them at hand without their moments; one
    query, and not of use where valves were swapped.
    """
    checks = checks_of(revision)
    if readings is None or around.any_swap:
        readings = _latest(checks, around)
    looked = [(check, of, found) for check in checks for of, found in _looked_at(readings.get(check.pk, []), around)]
    return sorted((row for row in _held(looked) if row.aloud), key=lambda row: row.q)


def _latest(checks, around) -> dict[int, list]:
    rows = defaultdict(list)
    latest = CheckStatus.objects.filter(check_row__in=checks, at_reference__isnull=False).order_by()
    # When a reading was taken matters only where valves were swapped; to fetch a hundred thousand moments takes its
    # time.
    moment = "latest__at" if around.any_swap else "build_id"
    for check, *reading in latest.values_list("check_row_id", "build_id", moment, "at_reference").iterator(
        chunk_size=5000
    ):
        rows[check].append(reading)
    for found in rows.values():
        found.sort(key=lambda reading: around.place[reading[0]])
    return rows


def by_check(leanings: list[Leaning]) -> dict[int, list[Leaning]]:
    """Check id -> its own."""
    found: dict[int, list[Leaning]] = defaultdict(list)
    for row in leanings:
        found[row.check.pk].append(row)
    return dict(found)


def _looked_at(readings, around) -> list[tuple]:
    values = [value for _, _, value in readings]
    found = [
        (of, dependence(values, groups)) for of, groups in around.groups([(b, at) for b, at, _ in readings]).items()
    ]
    return [(of, one) for of, one in [*found, ("serial number", trend(values))] if one]


def _held(looked) -> list[Leaning]:
    rates = held([found.p for _, _, found in looked])
    return [
        Leaning(check, of, found, q, said and (isinstance(found, Trend) or found.ranks_agree))
        for (check, of, found), (q, said) in zip(looked, rates, strict=True)
    ]
