"""What need not be solved again: faults that change nothing under a condition, and operating points that a signal, or a
capacitor that is gone, leaves as they are."""

from dataclasses import replace

import numpy as np

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.solver.operating_point import Operating, solve_operating_point
from checks.diagnosis.solving import HEALTHY, WITH_PART, Bench, Variant, settle_like

SAME_VOLTS = 1e-4  # V, within which two operating points are one
PASSIVE = ("resistives", "banks", "valves", "junctions", "transistors", "sources", "op_amps", "feeds")


def is_idle(variant: Variant, net: Network) -> bool:
    """Does a fault change nothing of a network: is what it changes not there, or only volts of what has no power?"""
    if all(factor == 1.0 for factor in variant.factors):
        return True
    if any(move.part_of in WITH_PART for move in variant.moves) and not _is_fitted(net, variant.refs):
        return True
    used = {r.parameter for r in net.resistives} if net.condition.power == "off" else None
    for move in variant.moves:
        column = net.parameters.index(move.ref, move.what)
        is_absent = column == net.parameters.fixed or not _is_fitted(net, (move.ref,))
        if not is_absent and (used is None or column in used):
            return False
    return True


def _is_fitted(net: Network, refs) -> bool:
    return net.condition.not_fitted.isdisjoint(refs)


def distinct_variants(variants, net: Network):
    """(`variants` that change something, after the healthy kit; for each of `variants` its number among them)."""
    distinct, back = [HEALTHY], np.zeros(len(variants), dtype=int)
    for n, variant in enumerate(variants):
        if variant is not HEALTHY and not is_idle(variant, net):
            back[n] = len(distinct)
            distinct.append(variant)
    return distinct, back


class Benches:
    """Benches of a kit, whose operating points and solved faults are kept for conditions that differ by a signal."""

    def __init__(self):
        self.settled: dict[tuple, Bench] = {}
        self.ports: dict[tuple, dict[Variant, np.ndarray]] = {}

    def bench(self, parts, condition: Condition, kind: str = "", beside: Bench | None = None) -> Bench:
        """`kind` names how the parts differ from the kit's own; at the operating point of the bench `beside`, where
        they have the same nodes and it is theirs."""
        key = (replace(condition, signal=None), kind)
        base = self.settled.get(key, beside)
        if base is None or base.nominal is None:
            made = Bench.of(parts, condition)
            self.settled.setdefault(key, made)
        else:
            made = _bench_like(base, parts, condition) or Bench.of(parts, condition)
        made.solved = self.ports.setdefault(key, {})
        return made


def _bench_like(base: Bench, parts, condition: Condition) -> Bench | None:
    """A bench at the operating point of another, None where that is not its own."""
    net, known = build_network(parts, condition), base.net
    if net.nodes != known.nodes or len(net.banks) != len(known.banks) or len(net.devices) != len(known.devices):
        return None
    net = settle_like(net, known)
    was = base.operating
    point = solve_operating_point(net, net.parameters.nominal(), line=was.line, start=was.solution.ports)
    if np.abs(point.solution.ports - was.solution.ports).max(initial=0.0) > SAME_VOLTS:
        return None
    return Bench(parts, net, point)


def without_passive(bench: Bench, condition: Condition) -> Bench | None:
    """The bench without parts that no direct current tells of; None where one does. With `condition` leaving them
    out."""
    net = build_network(bench.parts, condition)
    own = build_network(bench.parts, bench.net.condition)
    if any(getattr(net, name) != getattr(own, name) for name in PASSIVE):
        return None
    net = replace(bench.net, condition=condition, capacitors=net.capacitors)
    return Bench(bench.parts, net, None if bench.nominal is None else _moved(bench.nominal, net), bench.solved)


def _moved(point: Operating, net: Network) -> Operating:
    reduced = replace(point.solution.reduced, net=net)
    return replace(point, net=net, solution=replace(point.solution, reduced=reduced))
