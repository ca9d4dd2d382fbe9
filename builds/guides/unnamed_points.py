"""Where a probe goes at a point of the circuit without words of its own: an end of a part that joins it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from builds.guides.models import Part
from builds.guides.wiring.ends import End, list_ends
from checks.circuit.netlist.wires import CHASSIS

Lead = tuple[Part, End]
MARKS = {"plus": "+", "minus": "−"}  # as on the can or sleeve


@dataclass(frozen=True)
class JoinedLeads:
    """The leads at each point of the circuit, in the order of the parts list."""

    leads: dict[str, list[Lead]] = field(default_factory=dict)

    @classmethod
    def of(cls, parts: Iterable[Part]) -> "JoinedLeads":
        leads: dict[str, list[Lead]] = defaultdict(list)
        for part in parts:
            for end in _ends(part):
                if end.point and end.point != CHASSIS:
                    leads[end.point].append((part, end))
        return cls(dict(leads))

    def pin_at(self, point: str) -> str:
        """A pin of a valve socket there, such as "V1.6", or a numbered lead; "" for none."""
        return next((end.address for _part, end in self.leads.get(point, ()) if end.pin), "")

    def capacitor_at(self, point: str) -> str:
        """An end of an electrolytic, marked as it is: "C1 +"; "" for none."""
        end = next((end for part, end in self.leads.get(point, ()) if part.kind == "electrolytic"), None)
        return f"{end.ref} {MARKS[end.terminal]}" if end else ""

    def parts_meeting(self, point: str) -> dict[str, str]:
        """The two parts that meet there and nowhere else, with no third; empty for no such place."""
        refs = [end.ref for _part, end in self.leads.get(point, ())]
        if len(refs) != 2 or refs[0] == refs[1] or self._meet_elsewhere(point, refs):
            return {}
        return {"one": refs[0], "other": refs[1]}

    def _meet_elsewhere(self, point: str, refs: list[str]) -> bool:
        """Are both joined at another point too, as parts side by side are?"""
        others = ({end.ref for _part, end in leads} for name, leads in self.leads.items() if name != point)
        return any(set(refs) <= there for there in others)


def _ends(part: Part) -> list[End]:
    try:
        return list_ends({"ref": part.ref, "kind": part.kind, **part.detail})
    except (AttributeError, TypeError, ValueError):  # a part that the circuit cannot read
        return []
