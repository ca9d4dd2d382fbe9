"""A grid needs a path for direct current: after a coupling capacitor without a leak it floats."""

from builds.guides.blocks.model import Answers
from builds.guides.wiring.ends import list_ends
from checks.errors import ChecksError

CAPACITORS = ("capacitor", "electrolytic")
OPEN = (*CAPACITORS, "connector", "hardware")  # what passes no direct current


def refuse_floating(a: Answers, leak: str = "leak", blocked_by: str = "cin") -> None:
    """Raises ChecksError where the grid of a block has nothing but capacitors before it, and no leak."""
    if a.has(leak):
        return
    if a.has(blocked_by) or is_after_capacitor(a, a["input"]):
        raise ChecksError("leak", code="no-grid-leak", argument=leak)


def is_after_capacitor(a: Answers, point: str) -> bool:
    """Is the point joined to a capacitor, and to nothing that passes direct current?"""
    ends = [
        (row["kind"], end.terminal)
        for row in (a.parts | a.touched).values()
        for end in list_ends(row)
        if end.point == point
    ]
    passes = [kind for kind, terminal in ends if kind not in OPEN and not terminal.endswith("grid")]
    return not passes and any(kind in CAPACITORS for kind, _terminal in ends)
