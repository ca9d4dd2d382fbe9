"""The map of points over all builds: the median at each point and the reading farthest from what is expected."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from builds.bench.models import SHOWN_OUTCOME, CheckStatus
from builds.guides.circuit.stored import attach
from builds.guides.figures import band_for
from builds.guides.models import Check, Stage
from builds.guides.points_map.points import MapPoint
from builds.ui.drawings.chips import Chip
from builds.ui.formatting import expected_text, format_figure, signed_percent
from builds.ui.messages.outcomes import find_style
from checks.band import Band
from checks.outcomes import Outcome

OFF = (Outcome.OUT_OF_BAND, Outcome.SWITCH_OFF)


@dataclass(frozen=True)
class CheckOverBuilds:
    """One check of a point: its builds' last readings at the guide's mains. `worst`: (value, build's id, serial,
    outcome) of the reading farthest from the expected one."""

    check: Check
    band: Band | None
    median: float | None
    worst: tuple | None
    builds: int

    @property
    def expected(self) -> str:
        return expected_text(self.band, self.check.unit)

    @property
    def median_text(self) -> str:
        return "" if self.median is None else format_figure(self.median, self.check.unit)

    @property
    def worst_text(self) -> str:
        """The worst reading, with how far it is from the expected figure where that is not zero."""
        if self.worst is None:
            return ""
        value = format_figure(self.worst[0], self.check.unit)
        aim = self.band.expected if self.band else None
        return f"{value} ({signed_percent(self.worst[0] / aim - 1)})" if aim else value


@dataclass(frozen=True)
class PointOverBuilds:
    point: MapPoint
    checks: tuple[CheckOverBuilds, ...]

    @property
    def chip(self) -> Chip:
        shown = next(row for row in self.checks if row.check is self.point.shown)
        if shown.worst is None:
            return Chip(self.point.number, (shown.expected or "–",))
        worst = find_style(shown.worst[3])
        return Chip(
            self.point.number,
            (shown.expected or "–", f"~ {shown.median_text}", f"{worst.symbol} {shown.worst_text}"),
            worst.css,
        )


@dataclass(frozen=True)
class StagePoints:
    """What one stage reads of the points. `is_open`: shown unfolded, as the first with a reading out of band is."""

    stage: Stage
    lines: tuple[tuple[MapPoint, CheckOverBuilds], ...]
    is_open: bool = False

    @property
    def off(self) -> int:
        """Checks whose farthest reading is out of band."""
        return sum(line.worst is not None and line.worst[3] in OFF for _point, line in self.lines)


def by_stage(rows: list[PointOverBuilds], stages: Sequence[Stage]) -> list[StagePoints]:
    """The points of each stage that reads any, in the guide's order, the first with a reading out of band open."""
    lines = [(row.point, line) for row in rows for line in row.checks]
    groups = [StagePoints(s, tuple(pair for pair in lines if pair[1].check.stage_id == s.pk)) for s in stages]
    groups = [group for group in groups if group.lines]
    first = next((group for group in groups if group.off), None)
    return [replace(group, is_open=group is first) for group in groups]


def points_over_builds(revision, points: list[MapPoint]) -> list[PointOverBuilds]:
    """One query for the readings of all builds, and one for the model's figures of a draft."""
    checks = [check for point in points for check in point.checks]
    attach(revision, checks)
    read: dict[int, list[tuple]] = {}
    rows = CheckStatus.objects.filter(check_row__in=checks, latest__at_reference__isnull=False)
    for check, *row in rows.order_by("build__serial", "pk").values_list(
        "check_row_id", "latest__at_reference", "build_id", "build__serial", SHOWN_OUTCOME
    ):
        read.setdefault(check, []).append(tuple(row))
    return [PointOverBuilds(p, tuple(_over_builds(c, read.get(c.pk, [])) for c in p.checks)) for p in points]


def _over_builds(check, rows: list[tuple]) -> CheckOverBuilds:
    band = band_for(check)
    if not rows:
        return CheckOverBuilds(check, band, None, None, 0)
    middle = median(row[0] for row in rows)
    aim = band.expected if band and band.expected is not None else middle
    return CheckOverBuilds(check, band, middle, max(rows, key=lambda row: abs(row[0] - aim)), len(rows))
