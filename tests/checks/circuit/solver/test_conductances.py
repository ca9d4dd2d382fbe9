"""The network in pieces against the whole network in one matrix, stamped here anew."""

import numpy as np
import pytest

from checks.circuit import Condition
from checks.circuit.assemble.network import build_network
from checks.circuit.solver.conductances import PIN, conductances, list_blocks, solved
from tests.checks.circuit import kits
from tests.checks.circuit.kits import parts_of, resistor


def whole(net, m):
    """Nodal conductances by the textbook: each resistance on the diagonal of both its nodes, and between them with a
    minus."""
    g = np.zeros((len(m), net.size + 1, net.size + 1))
    for r in net.resistives:
        each = 1 / (r.ohms * m[:, r.parameter])
        for a, b, sign in ((r.a, r.a, 1), (r.b, r.b, 1), (r.a, r.b, -1), (r.b, r.a, -1)):
            g[:, a, b] += sign * each
    return g[:, :-1, :-1]


@pytest.mark.parametrize("rows", [kits.demo_rows, kits.preamp_rows])
def test_pieces_give_what_the_whole_gives(rows):
    net = build_network(parts_of(*rows()), Condition())
    m, rng = net.parameters.draw(20, 1), np.random.default_rng(2)
    q, into = rng.standard_normal((net.size, 3)), rng.standard_normal((20, net.size, 2))
    held = [b.nodes[0] for b in list_blocks(net) if b.pinned]
    q[held], into[:, held] = 0.0, 0.0
    floating = {n for b in list_blocks(net) if b.pinned for n in b.nodes}
    result = solved(net, m, q, into)
    rest = [n for n in range(net.size) if n not in floating]
    sides = np.concatenate((np.broadcast_to(q, (20, *q.shape)), into), axis=2)[:, rest]
    expected = np.linalg.solve(whole(net, m)[:, rest][:, :, rest], sides)
    assert result[:, rest] == pytest.approx(expected, rel=1e-8, abs=1e-9)


def test_the_conductances_are_the_textbooks_but_for_the_pins():
    net = build_network(parts_of(*kits.demo_rows()), Condition())
    m = net.parameters.draw(3, 1)
    apart = np.abs(conductances(net, m) - whole(net, m))
    assert apart.max() <= PIN * (1 + np.abs(whole(net, m)).max())


def test_a_piece_that_nothing_joins_to_the_chassis_is_pinned_and_its_own():
    net = build_network(
        parts_of(resistor("R1", "a", "chassis", "1k"), resistor("R2", "x", "y", "1k")), Condition(power="off")
    )
    assert {tuple(b.nodes): bool(b.pinned) for b in list_blocks(net)} == {(0,): False, (1, 2): True}
