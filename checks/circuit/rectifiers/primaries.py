"""What feeds a mains transformer: its primary windings, in series or in parallel, and what lies between them and the
mains."""

from dataclasses import dataclass

from checks.circuit.netlist.parts import PartSpec, require_figure
from checks.circuit.netlist.regulation import list_primaries
from checks.circuit.netlist.remark import Remark, RemarkCode, remark
from checks.circuit.netlist.wires import Groups

LEADS = ("fuse", "switch", "link", "resistor", "lamp", "inductor", "thermistor")  # may stand in a primary's lead
LEAD_OHMS = 2000.0  # more than this lies across the mains, not in its way (common practice)
WIRE_OHMS = 10.0  # Ω: two windings with no more than this between them lie on the same two points
MATCHED = (0.8, 1.25)  # mains over a primary's own volts: what lies outside is wired for another mains


@dataclass(frozen=True)
class Feed:
    """The mains side of one transformer.

    `volts` is the line at which the line factor is 1 (the tap in use, else the guide's mains); `scale` what of the
    windings' stated volts there is then: a 240 V primary on 230 V gives 230/240 of them. `ohms` are (ohms, parameter)
    pairs of the primary, `leads` of what stands before it (`lead_refs`). No mains arrives where a part
    is not fitted (`broken`); where `unclear` says so, nobody knows.
    """

    ref: str
    volts: float
    scale: float
    ohms: tuple[tuple[float, int], ...]
    leads: tuple[tuple[float, int], ...] = ()
    broken: str = ""
    unclear: Remark | None = None
    lead_refs: tuple[str, ...] = ()

    def seen(self, estimated: bool) -> tuple[tuple[float, int], ...]:
        """The pairs that a winding's load meets; ohms `estimated` from the regulation have the primary's share in
        them."""
        return self.leads if estimated else (*self.ohms, *self.leads)


def build_feed(part: PartSpec, net) -> Feed:
    """The feed of a fitted mains transformer. Raises ChecksError for primaries that oppose each other."""
    tap = net.condition.tap_volts or net.condition.reference_volts
    rated, ohms, ends = _joined(part, net)
    leads: list[tuple[float, int]] = []
    refs: list[str] = []
    broken, unclear = "", None
    for start, other in (ends, ends[::-1]):
        resistors, stopped, puzzle = _chain(part.ref, start, other, net)
        leads += [(r.ohms, r.parameter) for r in resistors]
        refs += [r.ref for r in resistors]
        broken, unclear = broken or stopped, unclear or puzzle
    unclear = unclear or (None if broken else _fed_otherwise(part, rated, tap, net))
    scale = 1.0 if net.condition.tap_volts else tap / (rated or tap)  # on its tap a transformer gives its own volts
    return Feed(part.ref, tap, 0.0 if broken else scale, ohms, tuple(leads), broken, unclear, tuple(refs))


def _fed_otherwise(part: PartSpec, rated, tap: float, net) -> Remark | None:
    """Why the mains is not what feeds this transformer's primary as its windings say; None when it is."""
    other = back_to_back(part, net)
    if other:
        return remark(RemarkCode.BACK_TO_BACK, ref=part.ref, other=other)
    if rated and not net.condition.tap_volts and not MATCHED[0] <= tap / rated <= MATCHED[1]:
        return remark(RemarkCode.OTHER_MAINS, ref=part.ref, rated=rated, mains=tap)
    return None


def back_to_back(part: PartSpec, net) -> str:
    """The other transformer one of whose windings lies on the same two points as one of this one's; primaries may."""
    wires = Groups()
    for r in net.resistives:
        if net.kinds[r.ref] in ("fuse", "resistor") and r.ohms <= WIRE_OHMS:
            wires.join(r.a, r.b)
    own = _places(part, wires, net)
    for other in net.parts:
        if other.windings and other is not part and other.ref not in net.condition.not_fitted:
            for ends, primary in _places(other, wires, net).items():
                if ends in own and not (primary and own[ends]):
                    return other.ref
    return ""


def _places(part: PartSpec, wires, net) -> dict:
    """{the two points a winding lies between: is it on the mains}"""
    mains = list_primaries(part)
    pairs = [
        (frozenset(wires.find(net.nodes[n]) for n in (w.nodes[0], w.nodes[-1])), w in mains) for w in part.windings
    ]
    return {ends: primary for ends, primary in pairs if len(ends) == 2}


def _joined(part: PartSpec, net):
    """(rated volts or None, (ohms, parameter) pairs, (end, end)) of the primaries together; ones that lie elsewhere
    rest."""
    first, *others = list_primaries(part)
    volts, ends = first.volts, [net.nodes[n] for n in (first.nodes[0], first.nodes[-1])]
    parameter = net.parameters.index(part.ref, "primary ohms")
    warmth = net.condition.winding_factor
    ohms = (first.ohms or 0.0) * warmth
    for w in others:
        one, other = (net.nodes[n] for n in (w.nodes[0], w.nodes[-1]))
        if [one, other] == ends:
            ohms = 1 / (1 / ohms + 1 / (w.ohms * warmth)) if ohms and w.ohms else ohms
        elif [other, one] == ends:
            raise part.wrong(
                f"winding {w.name}: joins",
                "lie the other way round across the primary: the two fight each other.",
                "opposed-primaries",
                winding=w.name,
            )
        elif one == ends[1] or other == ends[0]:
            ends = [ends[0], other] if one == ends[1] else [one, ends[1]]
            volts = volts + w.volts if volts and w.volts else volts
            ohms += (w.ohms or 0.0) * warmth
    return volts, ((ohms, parameter),) if ohms else (), tuple(ends)


def _chain(ref: str, start: int, other: int, net):
    """(resistances, reference of what is not fitted, what cannot be followed) from a primary's end outward to the
    mains."""
    node, seen = start, {start, other, net.size}
    chain: list = []
    while True:
        ways = [(p, far) for p in net.parts for far in _far(p, node, net) if far not in seen]
        if not ways:
            return chain, "", None
        if len(ways) > 1:
            parts = [p.ref for p, _ in ways]
            return chain, "", remark(RemarkCode.MAINS_LEAD_BRANCHES, ref=ref, parts=parts)
        ((part, far),) = ways
        if part.ref in net.condition.not_fitted:
            return chain, part.ref, None
        if part.kind in ("lamp", "inductor"):
            return chain, "", remark(RemarkCode.MAINS_LEAD_PART, ref=ref, part=part.ref, kind=part.kind)
        chain += [r for r in net.resistives if r.ref == part.ref]
        node = far
        seen.add(far)


def _far(part: PartSpec, node: int, net):
    if part.kind in LEADS and not (part.kind == "resistor" and require_figure(part.value) > LEAD_OHMS):
        a, b = (net.nodes[n] for n in part.joins.values())
        if a != b and node in (a, b):
            yield b if node == a else a
