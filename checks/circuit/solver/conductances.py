"""The linear part of a network, piece by piece: what only the chassis joins is solved apart, in far smaller
matrices."""

from dataclasses import dataclass

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.wires import Groups

PIN = 1e-10  # S that holds a floating piece of the circuit to chassis, or this share of the conductance there


@dataclass(frozen=True)
class Block:
    """Nodes that resistances join otherwise than by the chassis.

    `rows` are the resistances that touch them, `pattern` (rows, nodes x nodes) what each adds to G, and `pinned` tells
    that nothing joins the first of them to the chassis.
    """

    nodes: np.ndarray
    rows: np.ndarray
    pattern: np.ndarray
    pinned: bool


def floating(net: Network) -> tuple[Groups, list[int]]:
    """(groups of nodes joined by resistance, one node of each group that does not reach the chassis)."""
    groups = Groups()
    groups.find(net.size)
    for r in net.resistives:
        groups.join(r.a, r.b)
    heads: dict = {}
    for node in range(net.size):
        if not groups.together(node, net.size):
            heads.setdefault(groups.find(node), node)
    return groups, list(heads.values())


def list_blocks(net: Network) -> tuple[Block, ...]:
    """The blocks of a network, worked out once."""
    if "_blocks" not in net.__dict__:
        object.__setattr__(net, "_blocks", tuple(_find_groups(net)))
    return net.__dict__["_blocks"]


def _find_groups(net: Network):
    groups = Groups()
    members: dict = {}
    for r in net.resistives:
        if net.size not in (r.a, r.b):
            groups.join(r.a, r.b)
    for node in range(net.size):
        members.setdefault(groups.find(node), []).append(node)
    heads = set(floating(net)[1])
    for nodes in members.values():
        place = {node: n for n, node in enumerate(nodes)}
        rows = [n for n, r in enumerate(net.resistives) if r.a in place or r.b in place]
        pattern = np.zeros((len(rows), len(nodes), len(nodes)))
        for row, n in zip(pattern, rows, strict=True):
            _stamp(row, *(place.get(end) for end in (net.resistives[n].a, net.resistives[n].b)))
        yield Block(
            np.array(nodes), np.array(rows, dtype=int), pattern.reshape(len(rows), len(nodes) ** 2), nodes[0] in heads
        )


def _stamp(row, a, b):
    for end in (a, b):
        if end is not None:
            row[end, end] += 1.0
    if a is not None and b is not None:
        row[a, b] -= 1.0
        row[b, a] -= 1.0


def siemens(net: Network, m) -> np.ndarray:
    """Each resistance's conductance (samples, resistances)."""
    ohms = np.array([r.ohms for r in net.resistives])
    return 1.0 / (ohms * m[:, [r.parameter for r in net.resistives]]) if len(ohms) else np.zeros((len(m), 0))


def _of_block(block: Block, conductance):
    """G of one block (samples, nodes, nodes)."""
    n = len(block.nodes)
    g = (conductance[:, block.rows] @ block.pattern).reshape(len(conductance), n, n)
    if block.pinned:
        g[:, 0, 0] += PIN * np.maximum(1.0, g[:, 0, 0])  # beside a winding of milliohms, 1e-10 S would be lost
    return g


def conductances(net: Network, m) -> np.ndarray:
    """G of shape (samples, nodes, nodes) in S, floating pieces pinned."""
    g, conductance = np.zeros((len(m), net.size, net.size)), siemens(net, m)
    for block in list_blocks(net):
        g[:, block.nodes[:, None], block.nodes] = _of_block(block, conductance)
    return g


def solved(net: Network, m, q, into) -> np.ndarray:
    """G⁻¹ of the columns of `q` (nodes, columns), the same for every sample, then of `into` (samples, nodes, more)."""
    width = q.shape[1]
    solution, conductance = np.zeros((len(m), net.size, width + into.shape[2])), siemens(net, m)
    for block in list_blocks(net):
        fixed = np.flatnonzero(q[block.nodes].any(axis=0))
        own = np.flatnonzero(into[:, block.nodes].any(axis=(0, 1)))
        if not len(fixed) + len(own):
            continue
        shared = q[block.nodes][:, fixed]
        sides = np.concatenate(
            (np.broadcast_to(shared, (len(m), *shared.shape)), into[:, block.nodes][:, :, own]), axis=2
        )
        g = _of_block(block, conductance)
        columns = np.concatenate((fixed, width + own))
        solution[:, block.nodes[:, None], columns] = np.linalg.solve(g, sides) if len(block.nodes) > 1 else sides / g
    return solution
