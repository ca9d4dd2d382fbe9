"""What each part has to bear: a line for each part and kind, with every circumstance it was computed in."""

from dataclasses import dataclass

from builds.ui.messages.circuit import FORMER_BUILDS, FORMER_SWITCH_ON
from checks.circuit.ratings.circumstances import BUILDS, HIGH_MAINS, NOMINAL, SWITCH_ON
from checks.circuit.ratings.component_stress import HAIR

ORDER = (NOMINAL, HIGH_MAINS, FORMER_BUILDS, FORMER_SWITCH_ON, BUILDS, SWITCH_ON)
SLIGHT = 0.01  # of the limit, below which a stress is only counted


@dataclass(frozen=True)
class ComponentStress:
    """One kind of stress on one part, in SI; `cells` are its stresses in the order of `list_circumstances`, None where
    it has none."""

    ref: str
    what: str
    unit: str
    limit: float
    cells: tuple[dict | None, ...]

    @property
    def over(self) -> bool:
        return any(cell and cell["over"] for cell in self.cells)

    @property
    def marked(self) -> list[tuple]:
        """[(cell, "over", "unjudged" or "")]: unjudged lies above the figure where its rating system does not hold
        it."""
        return [
            (
                cell,
                "" if not cell else "over" if cell["over"] else "unjudged" if cell["value"] > self.limit * HAIR else "",
            )
            for cell in self.cells
        ]

    @property
    def is_unsupported(self) -> bool:
        """Is it above its figure somewhere, but nowhere where that is judged?"""
        return not self.over and any(mark for _cell, mark in self.marked)

    @property
    def nearest(self) -> float:
        """The largest share of the limit."""
        return max(cell["value"] for cell in self.cells if cell) / self.limit

    @property
    def is_slight(self) -> bool:
        return self.nearest < SLIGHT


def list_circumstances(stresses: list[dict]) -> list[str]:
    """The circumstances that stresses were computed in, in order."""
    present = {stress["at"] for stress in stresses}
    return [name for name in ORDER if name in present]


def stress_lines(stresses: list[dict]) -> list[ComponentStress]:
    """Every part's stresses as lines: those over a limit first, then by how near they come to it."""
    worst: dict = {}
    circumstances = list_circumstances(stresses)
    for stress in stresses:
        worst.setdefault((stress["ref"], stress["what"]), {})[stress["at"]] = stress
    lines = [
        ComponentStress(ref, what, first["unit"], first["limit"], tuple(at.get(name) for name in circumstances))
        for (ref, what), at in worst.items()
        for first in (next(iter(at.values())),)
    ]
    return sorted(lines, key=lambda line: (not line.over, -line.nearest))


def over_limits(stresses: list[dict]) -> list[dict]:
    """Each part's worst stress of each kind that is over its limit, in the parts list's order."""
    worst: dict = {}
    for stress in stresses:
        key = (stress["ref"], stress["what"])
        if stress["over"] and (key not in worst or stress["value"] > worst[key]["value"]):
            worst[key] = stress
    return list(worst.values())
