"""The trade's own tables: per valve socket, every pin with expected, band and what was read."""
from dataclasses import dataclass

from builds.bench.readings import band_here
from builds.guides.figures import expected_words
from builds.guides.probes import electrode_at


@dataclass(frozen=True)
class Cell:
    check: object
    band: object
    standing: object | None
    extra: float | None  # the median over builds, for the designer

    @property
    def figure_words(self) -> str:
        """Where the expected figure is from, where there is one."""
        return expected_words(self.check) if self.band and self.band.expected is not None else ""


@dataclass(frozen=True)
class PinRow:
    pin: str
    electrode: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class SocketChart:
    valve: object
    base: str
    rows: tuple[PinRow, ...]


KINDS = {"voltage": ("dc volts", "ac volts"), "resistance": ("resistance", "continuity", "isolation")}


def chart(build, kind: str, extra: dict | None = None) -> list[SocketChart]:
    """Socket charts of one kind ("voltage" or "resistance"). `extra` maps a check's id to a median."""
    checks = {}
    for stage in build.revision.stages.prefetch_related("checks"):
        for check in stage.checks.all():
            if check.measure in KINDS[kind]:
                checks.setdefault(check.red, []).append(check)
    standings = {s.check_row_id: s for s in build.standings.select_related("latest")}
    valves = [part for part in build.revision.parts.all() if part.detail.get("base")]
    charts = [SocketChart(v, v.detail["base"], _rows(build, v, checks, standings, extra or {})) for v in valves]
    return [c for c in charts if any(row.cells for row in c.rows)]


def _rows(build, valve, checks, standings, extra) -> tuple[PinRow, ...]:
    from builds.guides.drawings.socket import BASES

    base = BASES.get(valve.detail["base"])
    rows = []
    for number in range(1, (base.pins if base else 9) + 1):
        found = checks.get(f"{valve.ref}.{number}", [])
        cells = tuple(Cell(c, band_here(build, c, _mains(standings.get(c.pk))), standings.get(c.pk), extra.get(c.pk))
                      for c in found)
        rows.append(PinRow(str(number), electrode_at(valve.detail.get("pins", {}), str(number)), cells))
    return tuple(rows)


def _mains(standing):
    return standing.latest.mains_volts if standing else None
