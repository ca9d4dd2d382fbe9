"""Faults that leave a reading without a figure, and why: their circuit does not settle, or is not calculated."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.prediction.probes import why_unpredicted
from checks.errors import ChecksError

NOT_SETTLED = remark(RemarkCode.NOT_SETTLED)


@dataclass(frozen=True)
class Unsolved:
    """The key of a fault, and why its circuit gives no figure: a remark, or the error that the circuit raises."""

    fault: str
    why: Remark | ChecksError


def why_no_figure(places, readings, net: Network) -> Remark | None:
    """Why one of a fault's `readings` (places,) on a network is NaN; None where none is."""
    lost = [place for place, reading in zip(places, readings, strict=True) if np.isnan(reading)]
    reasons = (why_unpredicted(place.probe, net) for place in lost)
    return next((reason for reason in reasons if reason), NOT_SETTLED) if lost else None


def unsolved(faults, mean, reasons: dict) -> tuple[Unsolved, ...]:
    """The faults whose row of `mean` (F + 1, places) is NaN somewhere; `reasons` by row. One without a reason was
    looked at in several sizes, none of which settles."""
    rows = np.flatnonzero(np.isnan(mean[1:]).any(axis=1)) + 1
    return tuple(Unsolved(faults[row - 1].key, reasons.get(int(row), NOT_SETTLED)) for row in rows)
