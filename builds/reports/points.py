"""The points of the findings' plots: what each build read at first and last. Read when a plot is drawn, since a page
shows a few findings of many."""

from collections import defaultdict
from collections.abc import Collection

from builds.bench.models import CheckStatus, Reading
from builds.ui.drawings.order_plot import Point
from checks.outcomes import Outcome


class PlotPoints:
    """Of a revision's checks. What is asked for without having been loaded loads all that is left."""

    def __init__(self, checks, serials: dict[int, str]):
        """`serials`: build id -> serial number, in the order of serial numbers."""
        self._left = {check.pk for check in checks}
        self._serials = serials
        self._points: dict[int, tuple[Point, ...]] = {}

    def load(self, checks: Collection[int]) -> None:
        """The points of these checks, by their ids. Two queries."""
        to_load = self._left & set(checks)
        if not to_load:
            return
        self._left -= to_load
        rows, place = defaultdict(list), {pk: n for n, pk in enumerate(self._serials)}
        for check, *row in _last_readings(to_load):
            rows[check].append(row)
        firsts = _missed_at_first(to_load)
        for check in to_load:
            rows[check].sort(key=lambda row: place[row[0]])
            self._points[check] = tuple(self._point(check, firsts, *row) for row in rows[check])

    def of(self, check: int) -> tuple[Point, ...]:
        """By serial number."""
        if check in self._left:
            self.load(set(self._left))
        return self._points[check]

    def _point(self, check, firsts, build, attempts, outcome, value) -> Point:
        first = firsts.get((check, build), ()) if attempts > 1 else ()
        return Point(self._serials[build], value, outcome, *(first or (None, "")))


def _last_readings(checks):
    rows = CheckStatus.objects.filter(check_row__in=checks).order_by()
    return rows.values_list("check_row_id", "build_id", "attempts", "outcome", "at_reference").iterator(chunk_size=5000)


def _missed_at_first(checks) -> dict[tuple[int, int], tuple[float | None, str]]:
    """(check id, build id) -> value and outcome of a first reading that was not in band."""
    rows = Reading.objects.filter(check_row__in=checks, attempt=1).exclude(outcome=Outcome.IN_BAND).order_by()
    return {
        (check, build): (value, outcome)
        for check, build, value, outcome in rows.values_list("check_row_id", "build_id", "at_reference", "outcome")
    }
