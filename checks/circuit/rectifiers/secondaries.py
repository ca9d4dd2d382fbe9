"""The secondaries of mains transformers as sources: ends against which others stand, in series and in parallel as
one."""

from dataclasses import dataclass, replace

from checks.circuit.netlist.network import Network, peak_volts, winding_ohms
from checks.circuit.netlist.parts import PartSpec
from checks.circuit.rectifiers.primaries import Feed, list_primaries
from checks.finite import finite_figures

ALIKE = 0.1  # windings side by side whose volts differ by more drive a current through each other


@dataclass(frozen=True)
class Group:
    """Resistances side by side that a current has to pass: (ohms, parameter) pairs. `key` tells one piece of copper
    from another."""

    key: tuple
    pairs: tuple[tuple[float, int], ...]

    def ohms(self, m):
        if len(self.pairs) == 1:
            ((ohms, parameter),) = self.pairs
            return ohms * m[:, parameter]
        return 1 / sum(1 / (ohms * m[:, parameter]) for ohms, parameter in self.pairs)


def resistance(r) -> Group:
    """One resistance of the network (a Resistive) by itself."""
    return Group((r.ref, r.what, r.a), ((r.ohms, r.parameter),))


@finite_figures
@dataclass(frozen=True)
class Coil:
    """A winding, or several as one, between two nodes, or with a centre in use between three.

    `emf` is the open peak of each piece at drive 1, `ratio` its parameter, `groups` the resistances of each piece.
    """

    name: tuple[str, str]
    nodes: tuple[int, ...]
    emf: float
    ratio: int
    groups: tuple[tuple[Group, ...], ...]
    feed: Feed
    seen: tuple[tuple[float, int], ...]


@finite_figures
@dataclass(frozen=True)
class End:
    """One end of a winding: its node, the node its voltage stands against, open peak volts and what its current passes.

    `phase` is 1 for the first end and -1 for the last; `seen` are the pairs on the mains side.
    """

    coil: tuple[str, str]
    feed: Feed
    node: int
    back: int
    phase: float
    emf: float
    ratio: int
    groups: tuple[Group, ...]
    seen: tuple[tuple[float, int], ...]


def list_coils(part: PartSpec, net: Network, feed: Feed, touched) -> list[Coil]:
    """The secondaries of a transformer. Raises ChecksError for ends on one wire and for windings that fight each
    other."""
    mains = list_primaries(part)
    coils = [_coil(part, w, net, feed, touched) for w in part.windings if w not in mains and w.volts]
    coils = _side_by_side(part, coils)
    return _from_taps(_in_series(coils, touched, net.size), net.size)


def _coil(part, winding, net: Network, feed: Feed, touched) -> Coil:
    nodes = tuple(net.nodes[n] for n in winding.nodes)
    if len(set(nodes)) < len(nodes):
        raise part.wrong(
            f"winding {winding.name}: joins",
            "puts both ends on one wire: the winding is shorted.",
            "winding-on-one-wire",
            winding=winding.name,
        )
    pieces = len(nodes) - 1
    piece_ohms, parameter = (
        winding_ohms(part, winding, net.condition.winding_factor) / pieces,
        net.parameters.index(part.ref, f"{winding.name} ohms"),
    )
    groups = tuple((Group((part.ref, winding.name, n), ((piece_ohms, parameter),)),) for n in range(pieces))
    coil = Coil(
        (part.ref, winding.name),
        nodes,
        peak_volts(part, winding) * feed.scale,
        net.parameters.index(part.ref, f"{winding.name} volts"),
        groups,
        feed,
        feed.seen(not winding.ohms),
    )
    return _end_to_end(coil) if pieces == 2 and touched[nodes[1]] == 1 and nodes[1] != net.size else coil


def _end_to_end(coil: Coil) -> Coil:
    """A coil with a centre, from end to end."""
    return replace(
        coil, nodes=(coil.nodes[0], coil.nodes[-1]), emf=coil.emf * len(coil.groups), groups=(sum(coil.groups, ()),)
    )


def _side_by_side(part, coils: list[Coil]) -> list[Coil]:
    """Windings between the same nodes as one; each carries its share. Twins of centre-tapped ones stay apart."""
    groups: dict = {}
    for coil in coils:
        twin = groups.get(frozenset(coil.nodes)) if len(coil.nodes) == 2 else None
        if twin is None:
            groups[frozenset(coil.nodes) if len(coil.nodes) == 2 else coil.name] = coil
            continue
        if twin.nodes != coil.nodes or abs(coil.emf - twin.emf) > ALIKE * twin.emf:
            how = "the other way round" if twin.nodes != coil.nodes else "with other volts"
            raise part.wrong(
                f"winding {coil.name[1]}: joins",
                f"lie across winding {twin.name[1]} {how}: the two fight each other.",
                "opposed-windings",
                winding=coil.name[1],
                other=twin.name[1],
            )
        pairs = tuple(pair for c in (twin, coil) for group in c.groups[0] for pair in group.pairs)
        groups[frozenset(coil.nodes)] = replace(twin, groups=((Group((*twin.name, "and", coil.name[1]), pairs),),))
    return list(groups.values())


def _in_series(coils: list[Coil], touched, chassis: int) -> list[Coil]:
    """Windings whose joint nothing else touches, as one from end to end."""
    for one in coils:
        for other in coils:
            joint = {*one.nodes} & {*other.nodes}
            plain = one is not other and len(one.nodes) == len(other.nodes) == 2 and len(joint) == 1
            if plain and touched[(node := joint.pop())] == 2 and node != chassis:
                return _in_series(
                    [c for c in coils if c not in (one, other)] + [_chained(one, other, node)], touched, chassis
                )
    return coils


def _from_taps(coils: list[Coil], chassis: int) -> list[Coil]:
    """Pieces of a tapped winding that stand on another piece, each from its far end to the chassis: the pieces below a
    tap in use carry what is drawn from it and from above it."""
    grounded = [c for c in coils if chassis in c.nodes]
    for one in coils:
        for other in grounded:
            joint = {*one.nodes} & {*other.nodes} - {chassis}
            if chassis not in one.nodes and len(one.nodes) == len(other.nodes) == 2 and len(joint) == 1:
                whole = replace(_chained(one, other, joint.pop()), name=one.name)
                return _from_taps([whole if c is one else c for c in coils], chassis)
    return coils


def _chained(one: Coil, other: Coil, joint: int) -> Coil:
    far = other.nodes[0] if other.nodes[1] == joint else other.nodes[1]
    way = 1.0 if (one.nodes[1] == joint) == (other.nodes[0] == joint) else -1.0
    nodes = (one.nodes[0], far) if one.nodes[1] == joint else (far, one.nodes[1])
    emf = one.emf + way * other.emf
    if emf < 0:
        nodes, emf = nodes[::-1], -emf
    return replace(one, nodes=nodes, emf=emf, groups=((*one.groups[0], *other.groups[0]),))


def list_ends(coil: Coil, chassis: int) -> list[End]:
    """The ends of a coil that are not chassis: both of a plain one, the outer ones of one with a centre."""
    first, back, last = coil.nodes[0], coil.nodes[1], coil.nodes[-1]
    rows = ((first, back, 1.0, coil.groups[0]), (last, back if len(coil.nodes) == 3 else first, -1.0, coil.groups[-1]))
    return [
        End(coil.name, coil.feed, node, against, phase, coil.emf, coil.ratio, groups, coil.seen)
        for node, against, phase, groups in rows
        if node != chassis
    ]


def across(coil: Coil) -> tuple[End, End]:
    """Both ends of a coil, each against the other."""
    whole = _end_to_end(coil)
    first, last = whole.nodes
    one, other = (
        End(whole.name, whole.feed, node, against, phase, whole.emf, whole.ratio, whole.groups[0], whole.seen)
        for node, against, phase in ((first, last, 1.0), (last, first, -1.0))
    )
    return one, other
