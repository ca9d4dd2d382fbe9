"""Which parts a check is about: those that join the points its probes touch."""

from builds.guides.circuit.specs import build_mapping
from builds.guides.guide_cache import Guide
from builds.guides.models import Check
from builds.guides.wiring.ends import End, list_ends
from checks.circuit.netlist.wires import CHASSIS


def parts_at(guide: Guide, check: Check) -> list[str]:
    """References, in the order of the parts list; the chassis joins too many to name."""
    ends = _ends(guide)
    pins = {f"{end.ref}.{end.pin}": end for end in ends if end.pin}
    refs = {check.through} if check.through else set()
    for place in (check.red, check.black):
        end = pins.get(place)
        point = end.point if end else place
        refs |= {end.ref} if end else set()
        if point and point != CHASSIS:
            refs |= {other.ref for other in ends if other.point == point}
    return [ref for ref in guide.parts if ref in refs]


def _ends(guide: Guide) -> list[End]:
    if "ends" not in guide.memo:
        guide.memo["ends"] = [end for part in guide.parts.values() for end in _of(part)]
    return guide.memo["ends"]


def _of(part) -> list[End]:
    try:
        return list_ends(build_mapping(part))
    except (AttributeError, TypeError, ValueError):  # a part that the circuit cannot read
        return []
