"""The correlations of a revision, examined again only where something changed: one more reading costs one check.

What a check's readings were set against is kept under a token: its readings, and everything known of the builds. The
rate of false discoveries is held over all checks whenever the correlations are asked for. Only what may be reported is
kept in full, a p at or below LEVEL; of the rest the p, which the rate counts.
"""

import hashlib
import math
from dataclasses import asdict

from builds.review.correlations import Circumstances, Correlation, examine, report_significant
from builds.review.models import CachedCorrelations
from builds.review.queries import list_checks
from builds.review.read_counts import NONE, ReadCounts, read_counts
from checks.statistics.dependence import LEVEL, Circumstance, Dependence, Group, Trend
from checks.statistics.findings import EDITION

Examined = list[tuple[Circumstance, Dependence | Trend]]


def list_correlations(
    revision, around: Circumstances | None = None, counts: dict[int, ReadCounts] | None = None
) -> list[Correlation]:
    """The correlations reported of all checks of a revision, surest first; the rate is held over all of them.

    `around` and `counts`, if at hand. Two queries, and those of what is not; two more where something is stale.
    """
    checks = list_checks(revision)
    around = around or Circumstances(revision)
    counts = read_counts(checks) if counts is None else counts
    tokens = {c.pk: _token(around, counts.get(c.pk, NONE)) for c in checks}
    cached = {row.check_row_id: row for row in CachedCorrelations.objects.filter(check_row__in=tokens)}
    stale = [c for c in checks if c.pk not in cached or cached[c.pk].token != tokens[c.pk]]
    fresh = _examine(stale, around, tokens)
    rows = [
        (check, *row)
        for check in checks
        for row in (fresh[check.pk] if check.pk in fresh else map(_read, cached[check.pk].examined))
    ]
    return sorted((row for row in report_significant(rows) if row.is_reported), key=lambda row: row.q)


def _token(around: Circumstances, counts: ReadCounts) -> str:
    return hashlib.sha256(repr((EDITION, around.token, counts.of_readings)).encode()).hexdigest()


def _examine(stale, around: Circumstances, tokens: dict[int, str]) -> dict[int, Examined]:
    if not stale:
        return {}
    fresh = examine(stale, around)
    CachedCorrelations.objects.bulk_create(
        [CachedCorrelations(check_row=c, token=tokens[c.pk], examined=list(map(_written, fresh[c.pk]))) for c in stale],
        update_conflicts=True,
        unique_fields=["check_row"],
        update_fields=["token", "examined"],
    )
    return fresh


def _written(examined: tuple[Circumstance, Dependence | Trend]) -> dict:
    what, result = examined
    table = {"what": what.code, "is_trend": isinstance(result, Trend)}
    if result.p > LEVEL:
        return table | {"p": result.p}
    figures = asdict(result)
    if isinstance(result, Dependence):
        figures["f"] = result.f if math.isfinite(result.f) else None  # what JSON can't write
    return table | figures


def _read(table: dict) -> tuple[Circumstance, Dependence | Trend]:
    figures = dict(table)
    what, is_trend = Circumstance.from_code(figures.pop("what")), figures.pop("is_trend")
    if is_trend:
        return what, Trend(**{"tau": 0.0, "slope": None, **figures})
    if "groups" not in figures:
        return what, Dependence(0.0, figures["p"], 1.0, 0.0, ())
    groups = tuple(Group(**group) for group in figures.pop("groups"))
    f = math.inf if figures["f"] is None else figures["f"]
    return what, Dependence(**{**figures, "f": f}, groups=groups)
