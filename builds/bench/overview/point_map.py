"""The map of points of one build: what each point should read at this builder's mains, and what it has read."""

from dataclasses import dataclass

from builds.bench.models import CheckStatus
from builds.bench.readings.context import band_at_line
from builds.guides.models import Check
from builds.guides.points_map.points import MapPoint
from builds.ui.drawings.chips import Chip
from builds.ui.formatting import expected_text, format_entry, limits_text
from builds.ui.messages.outcomes import find_style
from checks.band import Band


@dataclass(frozen=True)
class PointReading:
    """One check of a point, with its band at this build's mains and where the build stands on it."""

    check: Check
    band: Band | None
    status: CheckStatus | None

    @property
    def expected(self) -> str:
        """The expected figure, or the limits where there is none."""
        return expected_text(self.band, self.check.unit)

    @property
    def limits(self) -> str:
        return limits_text(self.band.low, self.band.high, self.check.unit) if self.band else ""

    @property
    def read(self) -> str:
        unit = "V" if self.check.through else self.check.unit  # a current is read across its resistor
        return format_entry(self.status.latest.typed, unit) if self.status else ""


@dataclass(frozen=True)
class PointRow:
    point: MapPoint
    readings: tuple[PointReading, ...]

    @property
    def anchor(self) -> str:
        """Where the page lists the point: what a tap on its chip leads to."""
        return f"point-{self.point.number}"

    @property
    def chip(self) -> Chip:
        """What stands at the point: the expected figure, then the builder's own with the sign of its verdict. Before
        the amplifier is at work, of the last check that was read."""
        shown = next(row for row in self.readings if row.check is self.point.shown)
        read = [row for row in self.readings if row.status and row.check.measure == shown.check.measure]
        shown = shown if shown.status or not read else read[-1]
        style = find_style(shown.status.shown_outcome if shown.status else "")
        own = (f"{style.symbol} {shown.read}",) if shown.read else ()
        return Chip(self.point.number, (shown.expected or "–", *own), style.css if own else "", f"#{self.anchor}")


def point_rows(build, points: list[MapPoint], mains_volts: float | None) -> list[PointRow]:
    """One query, for what was read."""
    statuses = {s.check_row_id: s for s in build.statuses.select_related("latest")}
    return [
        PointRow(
            point,
            tuple(
                PointReading(c, band_at_line(build, c, mains_volts if c.stage.is_powered else None), statuses.get(c.pk))
                for c in point.checks
            ),
        )
        for point in points
    ]
