"""Everything wrong with a parts list as a circuit, found before it is solved and named by part, key and line.

`parts_list_errors` are mistakes of the list itself, whatever is fitted. `solving_errors` is what the solver cannot do
under one condition: checks of other conditions are computed all the same. `parts_list_warnings` hold up nothing.
"""

from collections import Counter, defaultdict

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.regulation import copper_regulation, list_primaries, usual_regulation
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.circuit.netlist.wires import CHASSIS, merged_nodes
from checks.circuit.solver.conductances import floating
from checks.circuit.validation.connectivity import MAINS_LEAD, isolated_pieces, loose_ends, unpowered_electrodes
from checks.circuit.validation.dc_paths import electrode_errors
from checks.circuit.validation.pins import pin_errors, pin_warnings
from checks.circuit.validation.shorts import shorts
from checks.circuit.valves.heaters import heater_pieces
from checks.circuit.valves.pinouts import is_shared_bulb
from checks.circuit.valves.types import find_heater
from checks.errors import ChecksError

SHORTS = frozenset(
    (
        "shorted-supply",
        "opposed-primaries",
        "winding-on-one-wire",
        "opposed-windings",
        "joined-to-itself",
        "capacitor-shorted",
        "winding-shorted",
        "diodes-short",
    )
)
LEAST_REGULATION = 0.01  # below which volts with and without load are the same
HOPELESS = SHORTS | {"mains-live", "mains-dc-path"}  # codes with which no figure with the power on is worth anything


def circuit_errors(parts, condition: Condition | None = None, named=frozenset()) -> list[ChecksError]:
    """Everything wrong with the circuit of `parts`; empty for a sound one. `named` are nodes that checks and points
    name."""
    errors = parts_list_errors(parts, named)
    named_already = not (HOPELESS | {"isolated-pieces"}).isdisjoint(error.code for error in errors)
    return errors + [
        e for e in solving_errors(parts, condition or Condition()) if not (e.code in SHORTS and named_already)
    ]


def parts_list_errors(parts, named=frozenset()) -> list[ChecksError]:
    """Mistakes of the list: shorts, live chassis, isolated pieces, electrodes that nothing feeds, loose ends, pins."""
    parts = tuple(parts)
    nodes = merged_nodes(parts, Condition())
    shorted = list(shorts(parts))
    hungry = (
        [] if shorted else unpowered_electrodes(parts, nodes)
    )  # a shorted supply feeds nothing: one cause is told once
    return [
        *shorted,
        *isolated_pieces(parts),
        *hungry,
        *loose_ends(parts, nodes, named),
        *(error for part in parts for error in pin_errors(part)),
    ]


def solving_errors(parts, condition: Condition) -> list[ChecksError]:
    """Why the circuit cannot be solved under a condition; with the power off nothing but twins of a reference stops
    it."""
    try:
        net = build_network(parts, condition)
    except ChecksError as error:
        return [error]
    return electrode_errors(net) if condition.power == "on" else []


def parts_list_warnings(parts) -> list[ChecksError]:
    """What may be meant and mostly is not: other pins than published, half-joined and floating windings, nodes without
    DC."""
    parts = tuple(parts)
    warnings = [doubt for part in parts for doubt in pin_warnings(part)]
    try:
        net = build_network(parts, Condition(power="off"))
    except ChecksError:
        return warnings
    return [
        *warnings,
        *_half_joined(parts),
        *_unheated(parts),
        *_regulation_unstated(parts),
        *_mains_by_resistance(net),
        *_floating_windings(net),
        *_without_dc(net),
    ]


def _unheated(parts):
    """Valves whose heater joins nothing, in a list that joins others' heaters."""
    valves = [p for p in parts if p.kind in VALVES]
    if not any(heater_pieces(p) for p in valves):
        return
    for part in valves:
        is_heated = (
            heater_pieces(part)
            or is_shared_bulb(part.type)
            and any(heater_pieces(other) for other in valves if other.type == part.type)
        )
        if find_heater(part.type, part.limits) and not is_heated:
            yield part.wrong("joins.heater", "is missing: nothing heats this valve.", "heater-unjoined", type=part.type)


def _regulation_unstated(parts):
    """Transformers whose volts may be those without load or those at rated amps, for all that their list says."""
    for part in parts:
        for code, share in (
            ("regulation-of-copper", copper_regulation(part)),
            ("regulation-assumed", usual_regulation(part)),
        ):
            if share is not None and share >= LEAST_REGULATION:
                yield part.wrong("regulation", f"is not stated: {share:.0%} is taken.", code, percent=100 * share)


def _half_joined(parts):
    """A winding with one end in use and the other alone, as a slip in a node's name leaves it."""
    touched = Counter(n for p in parts for n in p.nodes)
    for part in parts:
        for winding in part.windings:
            ends = (winding.nodes[0], winding.nodes[-1])
            alone = [n for n in ends if touched[n] == 1 and n != CHASSIS and n not in MAINS_LEAD]
            if len(alone) == 1 and any(touched[n] > 1 for n in winding.nodes):
                yield part.wrong(
                    f"winding {winding.name}: joins",
                    f"leave the end at {alone[0]} loose: nothing else joins it.",
                    "winding-end-loose",
                    winding=winding.name,
                    node=alone[0],
                )


def _transformers(net: Network):
    return [p for p in net.parts if p.kind == "mains transformer"]


def _mains_by_resistance(net: Network):
    groups, _ = floating(net)
    for part in _transformers(net):
        joined = [w for w in list_primaries(part) if _is_on_chassis(net.nodes[w.nodes[0]], net, groups)]
        for winding in joined[:1]:
            mains = winding.nodes[0]
            yield part.wrong(
                f"winding {winding.name}: joins",
                f"have a DC path from the mains ({mains}) to the chassis: a transformer is there to keep them apart.",
                "mains-dc-path",
                node=mains,
            )


def _is_on_chassis(number: int, net: Network, groups) -> bool:
    return number != net.size and groups.together(number, net.size)


def _floating_windings(net: Network):
    """Secondaries in use whose valves' heaters hang at no DC voltage."""
    groups, _ = floating(net)
    heaters = {groups.find(net.nodes[n]) for p in net.parts for t, n in p.joins.items() if is_heater(t)}
    for part in _transformers(net):
        mains = list_primaries(part)
        for winding in part.windings:
            group = groups.find(net.nodes[winding.nodes[0]])
            if (
                winding not in mains
                and group in heaters
                and group != groups.find(net.size)
                and not _held(net, group, groups)
            ):
                yield part.wrong(
                    f"winding {winding.name}: joins",
                    "have no DC path to chassis: nothing says at what voltage its heaters lie against their cathodes.",
                    "floating-heaters",
                    winding=winding.name,
                )


def _held(net: Network, group, groups) -> bool:
    """Does a valve's own cathode hold its heater winding?"""
    return any(
        groups.find(net.nodes[n]) == group
        for p in net.parts
        for t, n in p.joins.items()
        if t.rpartition(".")[2] == "cathode"
    )


def _without_dc(net: Network):
    """Nodes that capacitors alone join to the rest."""
    groups, _ = floating(net)
    inside: defaultdict = defaultdict(dict)
    other = {groups.find(net.size)}
    for part in net.parts:
        for node in part.nodes:
            group = groups.find(net.nodes[node])
            if part.kind in ("capacitor", "electrolytic") and not part.leakage:
                inside[group][part.ref] = (part, node)
            elif part.kind not in (
                "resistor",
                "link",
                "switch",
                "inductor",
                "fuse",
                "lamp",
                "potentiometer",
                "thermistor",
            ):
                other.add(group)
    for group, members in inside.items():
        if group not in other and len(members) > 1:
            part, node = next(iter(members.values()))
            yield part.wrong(
                "joins",
                f"leave node {node} without DC: only {' and '.join(members)} join it to the rest.",
                "no-dc",
                node=node,
                parts=list(members),
            )
