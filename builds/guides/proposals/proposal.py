"""A proposed check, and the whole set of them for a guide."""

from dataclasses import dataclass

from builds.guides.proposals.stages import Places
from checks.circuit.netlist.remark import Remark
from checks.errors import ChecksError


@dataclass(frozen=True)
class Proposal:
    """A check as the guide file has it (`row`), with the nominal reading and its band in SI, or why there is none."""

    stage: str
    row: dict
    value: float
    low: float
    high: float
    unit: str
    stop_of: str = ""  # the part whose rating sets the stop limit
    is_past: bool = False  # do good readings come up to the rating?
    is_there: bool = False
    rank: int | None = None
    shows: int = 0  # faults that no check ranked before it shows
    is_signal: bool = False  # read under a test tone, or of ripple

    @property
    def name(self) -> str:
        return f"{self.stage}/{self.row['key']}"

    @property
    def stop(self) -> str:
        return self.row.get("stop_above") or self.row.get("stop_below", "")

    @property
    def note(self) -> str:
        return self.row.get("note", "")


@dataclass(frozen=True)
class Set:
    """All proposals, the stages they need that the guide lacks, and readings that the circuit cannot give."""

    proposals: tuple[Proposal, ...]
    stages: tuple[dict, ...]
    places: Places
    added: tuple[dict, ...]
    unread: tuple[tuple[str, Remark], ...]
    error: ChecksError | None = None
