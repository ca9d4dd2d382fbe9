"""Which terminals each kind of part has, and the forms in which a guide may write them."""

from checks.circuit.netlist import op_amps, sources
from checks.circuit.netlist.transistors import MAIN, TERMINALS, TRANSISTORS

TWO = ("a", "b")
LISTED = {
    "resistor": TWO,
    "capacitor": TWO,
    "inductor": TWO,
    "fuse": TWO,
    "lamp": TWO,
    "neon": TWO,
    "thermistor": TWO,
    "switch": TWO,
    "link": TWO,
    "electrolytic": ("plus", "minus"),
}
NAMED = {
    "potentiometer": ("top", "wiper", "bottom"),
    "diode": ("anode", "cathode"),
    "zener": ("anode", "cathode"),
    "bridge": ("ac1", "ac2", "plus", "minus"),
    **TERMINALS,
    **sources.TERMINALS,
    **op_amps.TERMINALS,
}
LEADED = (*TRANSISTORS, *sources.REGULATORS, op_amps.OP_AMP)  # their leads may have numbers, as a socket's pins do
SECTIONS: dict[str, dict[str, tuple[str, ...]]] = {
    "triode": {"": ("anode", "grid", "cathode")},
    "pentode": {"": ("anode", "screen", "grid", "cathode")},
    "twin triode": dict.fromkeys(("a", "b"), ("anode", "grid", "cathode")),
    "rectifier valve": {"": ("anode_1", "cathode")},
}
VALVES = tuple(SECTIONS)
EXTRA: dict[str, tuple[str, ...]] = {
    "triode": (),
    "pentode": ("suppressor", "grid_3", "beam"),
    "twin triode": (),
    "rectifier valve": ("anode_2",),
}
HEATER = ("heater.1", "heater.2", "heater_centre")


def is_heater(terminal: str) -> bool:
    return terminal.startswith("heater")


def list_terminals(mapping: dict, wrong) -> tuple[dict, dict]:
    """(terminal -> node, socket pin -> terminal) of one part; `wrong(key, why)` makes the error to raise."""
    kind = mapping["kind"]
    joins = mapping.get("joins")
    if kind in LISTED:
        return _listed(kind, joins, wrong), {}
    if kind in NAMED:
        named = _named(kind, joins, NAMED[kind], NAMED[kind], wrong)
        return named, _pinned(mapping, named, wrong) if kind in LEADED else {}
    if kind in VALVES:
        return _valve(kind, mapping, wrong)
    return _loose(joins), {}


def _listed(kind, joins, wrong) -> dict:
    names = LISTED[kind]
    if isinstance(joins, dict) and set(joins) == set(names):
        joins = [joins[n] for n in names]
    if not isinstance(joins, list | tuple) or len(joins) != 2 or not all(isinstance(n, str) and n for n in joins):
        raise wrong(
            "joins", f"must name the two nodes of a {kind}, {names[0]} first.", "two-nodes", kind=kind, first=names[0]
        )
    return dict(zip(names, joins, strict=True))


def _named(kind, joins, needed, known, wrong) -> dict:
    if not isinstance(joins, dict):
        raise wrong(
            "joins",
            f"must name the nodes of a {kind}: {', '.join(needed)}.",
            "terminals-missing",
            kind=kind,
            terminals=needed,
        )
    for name in needed:
        if not joins.get(name):
            raise wrong(
                f"joins.{name}",
                f"is missing: a {kind} has {', '.join(needed)}.",
                "terminal-missing",
                kind=kind,
                terminals=needed,
            )
    for name, node in joins.items():
        if name not in known:
            raise wrong(
                f"joins.{name}",
                f"is not a terminal of a {kind}; it has {', '.join(known)}.",
                "unknown-terminal",
                kind=kind,
                terminals=known,
            )
        if not isinstance(node, str):
            raise wrong(f"joins.{name}", "must be the name of a node.", "node-name")
    return dict(joins)


def _loose(joins) -> dict:
    """A connector's tags: {name: node}, a list of nodes, or nothing."""
    if isinstance(joins, dict):
        return {str(k): v for k, v in joins.items() if isinstance(v, str) and v}
    return {str(n): node for n, node in enumerate(joins or (), 1)}


def electrodes(kind: str) -> tuple[str, ...]:
    """The flattened terminals a valve must have to be calculated: ("a.anode", "a.grid", …)."""
    return tuple(f"{s}.{name}" if s else name for s, names in SECTIONS[kind].items() for name in names)


def _flat(table, start="") -> dict:
    """{"a": {"anode": x}} or {"a.anode": x} -> {"a.anode": x}; heater pairs become heater.1 and heater.2."""
    flat: dict = {}
    for name, value in (table or {}).items():
        if isinstance(value, dict):
            flat |= _flat(value, f"{start}{name}.")
        elif isinstance(value, list | tuple):
            flat |= {f"{start}{name}.{n}": v for n, v in enumerate(value, 1)}
        else:
            flat[f"{start}{name}"] = value
    return flat


def list_pins(mapping: dict) -> dict[str, str]:
    """Terminal -> socket pin as a valve's table has them; one pin may have two terminals."""
    return (
        {terminal: str(pin) for terminal, pin in _flat(mapping.get("pins")).items()}
        if mapping["kind"] in (*VALVES, *LEADED)
        else {}
    )


def _valve(kind, mapping, wrong) -> tuple[dict, dict]:
    needed = electrodes(kind)
    sections = [f"{s}." if s else "" for s in SECTIONS[kind]]
    known = (*needed, *(s + e for s in sections for e in EXTRA[kind]), *HEATER)
    joins = _named(kind, _flat(mapping.get("joins")), needed, known, wrong)
    return joins, _pinned(mapping, joins, wrong)


def _pinned(mapping, joins, wrong) -> dict:
    """Socket pin -> terminal."""
    pins: dict = {}
    for terminal, pin in _flat(mapping.get("pins")).items():
        if terminal not in joins:
            raise wrong(f"pins.{terminal}", "has a pin but joins no node.", "pin-without-node")
        if str(pin) in pins and joins[pins[str(pin)]] != joins[terminal]:
            raise wrong(
                f"pins.{terminal}",
                f"is pin {pin}, which {pins[str(pin)]} has already.",
                "pin-twice",
                pin=str(pin),
                terminal=pins[str(pin)],
            )
        pins[str(pin)] = terminal
    return pins


def one_way(part):
    """(terminal where current enters, terminal where it leaves) of what passes it one way only: diodes, rectifiers,
    valves."""
    if part.kind == "diode":
        return [("anode", "cathode")]
    if part.kind == "rectifier valve":
        return [("anode_1", "cathode"), ("anode_2", "cathode")]
    if part.kind == "bridge":
        return [("ac1", "plus"), ("ac2", "plus"), ("minus", "ac1"), ("minus", "ac2")]
    if part.kind in TRANSISTORS:
        return [MAIN[part.kind]]
    if part.kind in sources.REGULATORS:
        return [("input", "output") if part.kind == "regulator" else ("output", "input")]
    if part.kind == op_amps.OP_AMP:
        return [("plus_supply", "output"), ("output", "minus_supply")]
    sections = [f"{name}." if name else "" for name in SECTIONS.get(part.kind, ())]
    return [(s + e, f"{s}cathode") for s in sections for e in ("anode", "screen")]


def groups_of_pins(part):
    """The terminals of one part as sets that hang together inside it: a valve's heater is apart from each of its
    sections."""
    if part.kind in VALVES:
        sections = [f"{name}." if name else "" for name in SECTIONS[part.kind]]
        heater = [n for t, n in part.joins.items() if is_heater(t)]
        bodies = [[n for t, n in part.joins.items() if t.startswith(s) and not is_heater(t)] for s in sections]
        return [g for g in (heater, *bodies) if g]
    if part.windings:
        return [list(w.nodes) for w in part.windings]
    return [[n] for n in part.joins.values()] if part.kind in ("connector", "hardware") else [list(part.joins.values())]
