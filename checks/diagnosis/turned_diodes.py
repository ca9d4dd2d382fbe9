"""A rectifier the wrong way round that blows no fuse: the winding's own ohms limit what flows.

One whose rail others fill as well shorts its winding on every other half cycle: little of that half cycle is left at
the winding, and about as little of its volts on the rail. One that alone fills a rail, such as a bias supply's, fills
it the other way round, where an electrolytic conducts from a volt or two (common practice).
"""

from dataclasses import replace

from checks.circuit.netlist.parts import PartSpec
from checks.circuit.netlist.regulation import list_secondaries
from checks.diagnosis.codes import FaultCode, Parasitic
from checks.diagnosis.fault import Fault, Move
from checks.diagnosis.prior_weights import fault

LEFT = (0.003, 0.03, 0.1, 0.2, 0.35, 0.5)  # of the shorted half cycle, by the ohms of the diodes and of the winding
BACKWARDS = {"volts": 1.5, "amps": 0.01}  # what an electrolytic the wrong way round stands (common practice)
RECTIFIERS = ("diode", "rectifier valve")


def turned_without_fuse(p: PartSpec, parts, path: Move) -> Fault | None:
    """The fault of a diode `p` that is turned and leaves all fuses whole; `path` is what an ohmmeter finds through it.
    None where it stands at no winding, and in a doubler, which is not calculated: its capacitors fill each other."""
    iron, winding = next(
        (
            (t, w)
            for t in parts
            if t.kind == "mains transformer"
            for w in list_secondaries(t)
            if {*w.nodes} & {*p.nodes}
        ),
        (None, None),
    )
    if iron is None or winding is None or _doubles(p, winding, parts):
        return None
    key = f"{p.ref} turned"
    if not _shorts(p, winding, parts):
        return fault(key, FaultCode.DIODE_TURNED, "diode turned", [p.ref], [path], turned=(p.ref,))
    moves = [Move(iron.ref, f"{winding.name} volts", 1.0, 0.0, Parasitic.HALF), path]
    ends = tuple(end for end in (winding.nodes[0], winding.nodes[-1]) if end != "chassis")
    return fault(key, FaultCode.DIODE_TURNED, "diode turned", [p.ref], moves, sizes=LEFT, half_ac=ends)


def _doubles(p: PartSpec, winding, parts) -> bool:
    """Does a capacitor at the diode lead back to an end of its winding that is not the chassis?"""
    ends = {*winding.nodes} - {"chassis", *p.nodes}
    return any(q.kind in ("capacitor", "electrolytic") and {*q.nodes} & {*p.nodes} and {*q.nodes} & ends for q in parts)


def _shorts(p: PartSpec, winding, parts) -> bool:
    """Does another rectifier carry current from another end of the winding to where `p` now takes it away?"""
    for mine, rail in (("anode", "cathode"), ("cathode", "anode")):
        if p.joins[mine] not in winding.nodes:
            continue
        others = [q for q in parts if q.kind in RECTIFIERS and q.ref != p.ref and q.joins.get(rail) == p.joins[rail]]
        starts = {node for q in others for end, node in q.joins.items() if end.startswith(mine)}
        if starts & ({*winding.nodes} - {p.joins[mine]}):
            return True
    return False


def with_turned(parts, refs) -> list[PartSpec]:
    """Parts with some diodes turned, and what an electrolytic does that is filled the wrong way round."""
    rails = {node for p in parts if p.ref in refs for node in p.nodes}
    filled = [p for p in parts if p.kind == "electrolytic" and rails & {*p.nodes}]
    return [*(_turned(p) if p.ref in refs else p for p in parts), *map(_backwards, filled)]


def _turned(p: PartSpec) -> PartSpec:
    return replace(p, joins={"anode": p.joins["cathode"], "cathode": p.joins["anode"]})


def _backwards(p: PartSpec) -> PartSpec:
    ends = {"anode": p.joins["minus"], "cathode": p.joins["plus"]}
    return PartSpec(f"{p.ref} backwards", "diode", joins=ends, model=BACKWARDS)
