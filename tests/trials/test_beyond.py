"""What no list has, drawn for the last kit: it changes the circuit, and says of which parts it is."""

from collections import Counter

import numpy as np

from tests.trials import draw
from tests.trials.beyond import _MAKERS, KINDS, beyond
from tests.trials.circuit import LAST, circuit_of, load


def kit():
    return circuit_of(load(LAST[0]))


def test_the_kit_can_have_every_kind_and_each_changes_the_circuit():
    rng = np.random.default_rng(3)
    for kind in KINDS:
        circuit = kit()
        faults = list(_MAKERS[kind](circuit, rng))
        assert faults, kind
        before = len(circuit.bridges), {r: (dict(p.is_), p.row.get("type")) for r, p in circuit.parts.items()}
        faults[0].change(circuit)
        assert before != (len(circuit.bridges), {r: (dict(p.is_), p.row.get("type")) for r, p in circuit.parts.items()})


def test_a_fault_beyond_the_list_is_not_on_it_and_names_fitted_parts():
    rng, circuit = np.random.default_rng(4), kit()
    for _ in range(20):
        fault = beyond(circuit, rng)
        assert fault.kind == "unlisted" and fault.refs and set(fault.refs) <= set(circuit.parts)


def test_the_builds_kept_of_the_last_kit_are_as_many_of_each_kind_as_are_drawn():
    kept = Counter(b["kind"] for b in draw.read(draw.KEPT_LAST))
    drawn = Counter(kind for kind, _choose, _slip in draw.last_orders(np.random.default_rng(0)))
    assert kept == drawn
