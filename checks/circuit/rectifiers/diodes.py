"""The diodes of a network, silicon and valves: what lies side by side or in series counts as one."""

from dataclasses import dataclass, replace

from checks.circuit.devices.junctions import FORWARD_OHMS, SILICON_KNEE, SILICON_TURN, Junction, drop_at
from checks.circuit.netlist.forward_drop import forward_drop
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.parts import PartSpec
from checks.circuit.rectifiers.conduction import SILICON_DROP, SILICON_OHMS, Law, compute_perveance, in_series
from checks.circuit.valves.types import find_type


@dataclass(frozen=True)
class Diode:
    refs: tuple[str, ...]
    anode: int
    cathode: int
    law: Law
    strength: int
    forward: float | None = None  # V of a junction, where that is not silicon's
    scatter: int | None = None

    def junction(self) -> Junction:
        """The diode where it feeds no reservoir."""
        if self.forward is None and self.law.perveance is None:
            n = round(self.law.drop / SILICON_DROP)  # of them in series
            turn, ohms, knee = SILICON_TURN * n, FORWARD_OHMS * n, SILICON_KNEE * n
            return Junction(self.refs[0], self.anode, self.cathode, drop=turn, ohms=ohms, knee=knee)
        plain = self.law.drop if self.law.perveance is None else 1.0
        drop = plain if self.forward is None else self.forward
        return Junction(self.refs[0], self.anode, self.cathode, drop=drop, scatter=self.scatter)


def list_diodes(net: Network, fitted, touched) -> list[Diode]:
    """The diodes of the fitted parts; `touched` counts the ends at each node."""
    return _chained(_side_by_side([d for p in fitted for d in _diodes(p, net)]), touched)


def _diodes(part: PartSpec, net: Network):
    at = {t: net.nodes[n] for t, n in part.joins.items()}
    silicon = Law(SILICON_DROP, ohms=SILICON_OHMS)
    if own := forward_drop(part):
        scatter = net.parameters.index(part.ref, "drop")
        ends = at["anode"], at["cathode"]
        yield Diode((part.ref,), *ends, Law(own[0]), net.parameters.fixed, drop_at(*own), scatter)
    elif part.kind == "diode":
        yield Diode((part.ref,), at["anode"], at["cathode"], silicon, net.parameters.fixed)
    elif part.kind == "bridge":
        for one, other in (("ac1", "plus"), ("ac2", "plus"), ("minus", "ac1"), ("minus", "ac2")):
            yield Diode((part.ref,), at[one], at[other], silicon, net.parameters.fixed)
    elif part.kind == "rectifier valve":
        law, strength = _valve_law(part), net.parameters.index(part.ref, "strength")
        for terminal in ("anode_1", "anode_2"):
            if terminal in at:
                yield Diode((part.ref,), at[terminal], at["cathode"], law, strength)


def _valve_law(part: PartSpec) -> Law:
    """Child's law from the guide's own perveance (A/V^1.5) or drop (V at A), or the type's published drop."""
    own = part.model
    if "perveance" in own:
        return Law(0.0, own["perveance"])
    drop = own if "volts" in own and "amps" in own else ((find_type(part.type) or {}).get("drop"))
    if not drop:
        raise part.wrong(
            "type",
            f"{part.type} is not a rectifier valve known here; give its model volts and amps of one drop.",
            "unknown-rectifier",
            type=part.type,
        )
    return Law(0.0, compute_perveance(drop["volts"], drop["amps"]))


def _side_by_side(diodes: list[Diode]) -> list[Diode]:
    """Diodes between the same nodes as one: valves add up, and silicon leaves nothing to a valve beside it."""
    groups: dict = {}
    for d in diodes:
        twin = groups.setdefault((d.anode, d.cathode), d)
        if twin is not d:
            k = [x.law.perveance for x in (twin, d) if x.law.perveance is not None]
            law = Law(0.0, sum(k)) if len(k) == 2 else Law(SILICON_DROP, ohms=SILICON_OHMS)
            groups[d.anode, d.cathode] = replace(twin, refs=tuple(dict.fromkeys((*twin.refs, *d.refs))), law=law)
    return list(groups.values())


def _chained(diodes: list[Diode], touched) -> list[Diode]:
    """Silicon diodes in series, with nothing else at the joint, as one of twice the drop."""
    for first in diodes:
        for second in diodes:
            plain = first.law.perveance is None and second.law.perveance is None
            if first.refs != second.refs and plain and first.cathode == second.anode and touched[first.cathode] == 2:
                both = Diode(
                    (*first.refs, *second.refs),
                    first.anode,
                    second.cathode,
                    in_series(first.law, second.law),
                    first.strength,
                    *_chained_drop(first, second),
                )
                return _chained([d for d in diodes if d not in (first, second)] + [both], touched)
    return diodes


def _chained_drop(first: Diode, second: Diode) -> tuple:
    """(forward, scatter) of two junctions in series; two of a kind scatter together, which errs on the wide side."""
    if first.forward is None and second.forward is None:
        return None, None
    drops = [d.law.drop if d.forward is None else d.forward for d in (first, second)]
    return sum(drops), first.scatter if second.scatter is None else second.scatter
