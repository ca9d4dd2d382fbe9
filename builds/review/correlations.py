"""What the readings of a revision correlate with: meter, mains, builder, part batch, valve make and serial number."""

import hashlib
from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.utils.translation import gettext as _

from builds.bench.models import Build, CheckStatus, FittedValve
from builds.bench.valves.fitting import at_moment, in_order, make_key
from builds.guides.models import Check
from builds.review.models import PartBatch
from builds.ui.formatting import format_figure
from builds.ui.messages.findings import circumstance, correlation_sentence
from checks.serials import natural
from checks.statistics.dependence import (
    Circumstance,
    CircumstanceKind,
    Dependence,
    Trend,
    control_false_discoveries,
    dependence,
    trend,
)

SERIAL = Circumstance(CircumstanceKind.SERIAL)


@dataclass(frozen=True)
class Correlation:
    """One check and one circumstance. `q`: the rate at which as sure a correlation is chance; `is_reported`: below the
    level."""

    check: Check
    circumstance: Circumstance
    dependence: Dependence | Trend
    q: float
    is_reported: bool

    @property
    def label(self) -> str:
        """What it correlates with."""
        return circumstance(self.circumstance)

    @property
    def sentence(self) -> str:
        return correlation_sentence(self.circumstance, self.dependence, self.check.unit)


class Circumstances:
    """Of a revision's builds: what each was built and measured with. Four queries, however many builds."""

    def __init__(self, revision):
        builds = Build.objects.filter(revision=revision).select_related("builder", "meter")
        self.builds = {b.pk: b for b in sorted(builds, key=lambda b: natural(b.serial))}
        self._valves: dict[int, list] = defaultdict(list)
        for row in FittedValve.objects.filter(build__revision=revision):
            self._valves[row.build_id].append(row)
        self.valves = {pk: in_order(rows) for pk, rows in self._valves.items()}
        self._last_builds: tuple[int, ...] = ()
        self._last_groups: dict[Circumstance, list[str]] = {}
        self.batches = list(PartBatch.objects.filter(revision=revision).prefetch_related("builds"))

    @cached_property
    def fixed(self) -> dict[Circumstance, dict[int, str]]:
        """Circumstance -> build id -> its group, of what stays the same over a build."""
        builds = self.builds
        groups = {
            Circumstance(CircumstanceKind.BUILDER): {pk: str(b.builder or "") for pk, b in builds.items()},
            Circumstance(CircumstanceKind.METER): {pk: _meter_name(b.meter) for pk, b in builds.items()},
            Circumstance(CircumstanceKind.MAINS): {pk: f"{b.mains_volts} V" for pk, b in builds.items()},
        }
        return groups | self._batches()

    def _batches(self) -> dict[Circumstance, dict[int, str]]:
        by_part: dict[str, dict[int, str]] = defaultdict(dict)
        for batch in self.batches:
            for build in batch.builds.all():
                for ref in batch.refs:
                    by_part[ref][build.pk] = batch.name
        alike: dict[tuple, list[str]] = defaultdict(list)  # parts that were always batched together are one thing
        for ref, groups in by_part.items():
            alike[tuple(sorted(groups.items()))].append(ref)
        rest = _("no recorded batch")
        return {
            Circumstance(CircumstanceKind.BATCH, tuple(refs)): {pk: dict(groups).get(pk, rest) for pk in self.builds}
            for groups, refs in alike.items()
        }

    @cached_property
    def token(self) -> str:
        """Changes when anything does that readings are set against."""
        swapped = [(pk, ref, [v.at for v in valves]) for pk, of in self.valves.items() for ref, valves in of.items()]
        makes = [[(ref, [v.make for v in of[ref]]) for ref in sorted(of)] for of in self.valves.values()]
        fixed = [(what.code, groups) for what, groups in self.fixed.items()]
        return hashlib.sha256(repr((list(self.builds), fixed, makes, swapped)).encode()).hexdigest()

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

    def groups(self, readings: list[tuple[int, datetime]]) -> dict[Circumstance, list[str]]:
        """Circumstance -> the group of each reading, given as (build id, when it was taken)."""
        if self.any_swap:
            return self._groups(readings)
        builds = tuple(build for build, _moment in readings)
        if builds != self._last_builds:  # the next check has been read by the same builds, as a rule
            self._last_builds, self._last_groups = builds, self._groups(readings)
        return self._last_groups

    def _groups(self, readings) -> dict[Circumstance, list[str]]:
        groups = {what: [of.get(build, "") for build, _moment in readings] for what, of in self.fixed.items()}
        for ref in self.sockets:
            makes = [self.make(build, ref, moment) for build, moment in readings]
            groups[Circumstance(CircumstanceKind.MAKE, (ref,))] = makes
        return groups


def _meter_name(meter) -> str:
    """By what it is, not by the name its owner gave it."""
    if not meter:
        return ""
    spec = meter.as_spec()
    if spec.input_ohms:
        return _("%(kind)s, %(ohms)s") % {"kind": spec.kind, "ohms": format_figure(spec.input_ohms, "Ω")}
    return _("%(kind)s, %(ohms)s per volt") % {"kind": spec.kind, "ohms": format_figure(spec.ohms_per_volt, "Ω")}


def correlate_check(check, readings: list[tuple[int, datetime, float]], around: Circumstances) -> list[Correlation]:
    """All that was examined for one check, the false discovery rate held over it. `readings`: the last of each build by
    serial number, as (build id, when, value at the guide's mains)."""
    return report_significant([(check, what, dependence) for what, dependence in _examined(readings, around)])


def examine(checks, around: Circumstances) -> dict[int, list[tuple[Circumstance, Dependence | Trend]]]:
    """Check id -> all that its readings were set against. One query."""
    readings = _latest(checks, around)
    return {check.pk: _examined(readings.get(check.pk, []), around) for check in checks}


def _latest(checks, around) -> dict[int, list]:
    rows: dict[int, list] = defaultdict(list)
    latest = CheckStatus.objects.filter(check_row__in=checks, at_reference__isnull=False).order_by()
    # When a reading was taken matters only where valves were swapped; to fetch a hundred thousand moments takes its
    # time.
    moment = "latest__at" if around.any_swap else "build_id"
    columns = latest.values_list("check_row_id", "build_id", moment, "at_reference")
    for check, *reading in columns.iterator(chunk_size=5000):
        rows[check].append(reading)
    for readings in rows.values():
        readings.sort(key=lambda reading: around.place[reading[0]])
    return rows


def by_check(correlations: list[Correlation]) -> dict[int, list[Correlation]]:
    """Check id -> its own."""
    grouped: dict[int, list[Correlation]] = defaultdict(list)
    for row in correlations:
        grouped[row.check.pk].append(row)
    return dict(grouped)


def checks_with_same_cause(correlations: list[Correlation]) -> dict[int, list[Check]]:
    """Check id -> the other checks that correlate with a circumstance it correlates with: one cause may explain all."""
    by_circumstance: dict[Circumstance, list[Check]] = defaultdict(list)
    for row in correlations:
        by_circumstance[row.circumstance].append(row.check)
    others: dict[int, dict[int, Check]] = defaultdict(dict)
    for checks in by_circumstance.values():
        for check in checks:
            others[check.pk] |= {other.pk: other for other in checks if other.pk != check.pk}
    return {pk: list(rows.values()) for pk, rows in others.items() if rows}


def _examined(readings, around) -> list[tuple[Circumstance, Dependence | Trend]]:
    values = [value for _build, _moment, value in readings]
    groups = around.groups([(build, at) for build, at, _value in readings])
    rows = [(what, dependence(values, names)) for what, names in groups.items()]
    return [(what, dependence) for what, dependence in [*rows, (SERIAL, trend(values))] if dependence]


def report_significant(examined) -> list[Correlation]:
    """Of (check, circumstance, dependence): each with the rate of false discoveries among them all."""
    rates = control_false_discoveries([dependence.p for _check, _what, dependence in examined])
    return [
        Correlation(check, what, dependence, q, yes and (isinstance(dependence, Trend) or dependence.ranks_agree))
        for (check, what, dependence), (q, yes) in zip(examined, rates, strict=True)
    ]
