"""Which ohmmeter readings a part bears on that could not be read: its nodes are joined on trial, and the reading may
not move."""

from dataclasses import replace
from itertools import pairwise

from builds.guides.circuit.content import can_compute
from checks.circuit import read_condition
from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.network import Resistive
from checks.circuit.prediction.probes import OHMS
from checks.circuit.prediction.resistance import resistances
from checks.errors import ChecksError

TRIAL, MOVES = 1000.0, 1e-6  # Ω put in the part's place; share of a reading that counts as moved


def checks_affected(content: dict, parts) -> set[str]:
    """ "stage/check" of the power-off readings that the parts which are not in `parts` have a say in."""
    known = {part.ref for part in parts}
    unread = [mapping for mapping in content["parts"] if mapping.get("ref") not in known]
    clusters = _clusters([set(_words([m.get("joins"), m.get("winding")])) for m in unread])
    return {
        f"{stage['key']}/{probe['key']}"
        for stage in content["stages"]
        if unread
        for probe in stage["checks"]
        if can_compute(probe) and probe["measure"] in OHMS and _moved(content, parts, stage, probe, clusters)
    }


def _words(value):
    """Every word inside lists and tables: names of nodes among others, which a network knows or not."""
    if isinstance(value, dict | list):
        for item in value.values() if isinstance(value, dict) else value:
            yield from _words(item)
    elif isinstance(value, str):
        yield value


def _clusters(groups: list[set]) -> list[set]:
    """Parts that share a node as one set of nodes."""
    clusters: list[set] = []
    for group in groups:
        near = [g for g in clusters if g & group]
        clusters = [g for g in clusters if not g & group] + [group.union(*near)]
    return clusters


def _moved(content, parts, stage, probe, clusters) -> bool:
    try:
        net = build_network(parts, read_condition(stage, content["mains"]))
        red, black = net.node(probe["red"]), net.node(probe["black"])
    except ChecksError:
        return False  # it has no figure anyway, and says why
    nominal, joints = net.parameters.nominal(), []
    for names in clusters:
        nodes = sorted({net.nodes[n] for n in names if n in net.nodes})
        joints += [Resistive("?", "", a, b, TRIAL, net.parameters.fixed) for a, b in pairwise(nodes)]
    if not all(clusters):
        return True  # what it joins is not known
    before = resistances(net, red, black, nominal)
    after = resistances(replace(net, resistives=(*net.resistives, *joints)), red, black, nominal)
    if before is None or after is None:
        return (before is None) != (after is None)
    return bool(abs(after[0] - before[0]) > MOVES * abs(before[0]))
