"""The trade's own tables: per valve socket, every pin with expected, band and what was read."""

import re
from dataclasses import dataclass

from builds.bench.models import CheckStatus
from builds.bench.readings.context import band_at_line
from builds.guides.figures import expected_text
from builds.guides.models import Check, Part, Stage
from builds.guides.probes import electrode_at
from builds.ui.formatting import limits_text
from checks.band import Band
from checks.measures import OHMS, VOLTS


@dataclass(frozen=True)
class Cell:
    check: Check
    band: Band | None
    status: CheckStatus | None
    extra: float | None  # the median over builds, for the designer

    @property
    def figure_source(self) -> str:
        """Where the expected figure is from, where there is one."""
        return expected_text(self.check) if self.band and self.band.expected is not None else ""

    @property
    def limits(self) -> str:
        """The band in words: both limits, or the one there is; empty where there is none."""
        if self.band is None:
            return ""
        text = limits_text(self.band.low, self.band.high, self.check.unit)
        return re.sub(r"(?<=\d) (?=\S)", "\u00a0", text)  # no unit on a line of its own


@dataclass(frozen=True)
class PinRow:
    pin: str
    electrode: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class StageTable:
    """Every pin of a socket as one stage reads it. `figure_source`: where all its figures are from, empty where they
    differ."""

    stage: Stage
    rows: tuple[PinRow, ...]

    @property
    def figure_source(self) -> str:
        sources = {cell.figure_source for row in self.rows for cell in row.cells if cell.figure_source}
        return sources.pop() if len(sources) == 1 else ""


@dataclass(frozen=True)
class SocketChart:
    valve: Part
    base: str
    rows: tuple[PinRow, ...]

    @property
    def tables(self) -> list[StageTable]:
        """A table for each stage that reads this socket: without valves and with them are two charts, not one."""
        stages = {cell.check.stage_id: cell.check.stage for row in self.rows for cell in row.cells}
        return [
            StageTable(stage, tuple(_of_stage(row, key) for row in self.rows))
            for key, stage in sorted(stages.items(), key=lambda item: item[1].position)
        ]


def _of_stage(row: PinRow, stage_id: int) -> PinRow:
    return PinRow(row.pin, row.electrode, tuple(cell for cell in row.cells if cell.check.stage_id == stage_id))


KINDS = {"voltage": VOLTS, "resistance": OHMS}


def chart(build, kind: str, extra: dict | None = None) -> list[SocketChart]:
    """Socket charts of one kind ("voltage" or "resistance"). `extra` maps a check's id to a median."""
    checks: dict[str, list[Check]] = {}
    for stage in build.revision.stages.prefetch_related("checks"):
        for check in stage.checks.all():
            if check.measure in KINDS[kind]:
                checks.setdefault(check.red, []).append(check)
    statuses = {s.check_row_id: s for s in build.statuses.select_related("latest")}
    valves = [part for part in build.revision.parts.all() if part.detail.get("base")]
    charts = [SocketChart(v, v.detail["base"], _rows(build, v, checks, statuses, extra or {})) for v in valves]
    return [c for c in charts if any(row.cells for row in c.rows)]


def _rows(build, valve, checks, statuses, extra) -> tuple[PinRow, ...]:
    from builds.ui.drawings.socket import BASES

    base = BASES.get(valve.detail["base"])
    rows = []
    for number in range(1, (base.pins if base else 9) + 1):
        own_checks = checks.get(f"{valve.ref}.{number}", [])
        cells = tuple(
            Cell(c, band_at_line(build, c, _mains(statuses.get(c.pk))), statuses.get(c.pk), extra.get(c.pk))
            for c in own_checks
        )
        rows.append(PinRow(str(number), electrode_at(valve.detail.get("pins", {}), str(number)), cells))
    return tuple(rows)


def _mains(statuses):
    return statuses.latest.mains_volts if statuses else None
