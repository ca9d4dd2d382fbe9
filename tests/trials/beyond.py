"""More of what no list of faults has: another type of valve in the socket, leaks inside valves and along sockets, a
part that two parts make, and a supply that something else loads."""

from tests.trials.circuit import VALVES, Circuit
from tests.trials.faults import Fault, _set
from tests.trials.valves import LAWS

KINDS = ("type", "heater", "socket", "doubled", "load")


def beyond(circuit: Circuit, rng) -> Fault:
    """One of KINDS that this circuit can have."""
    while True:
        result = list(_MAKERS[str(rng.choice(KINDS))](circuit, rng))
        if result:
            return result[int(rng.integers(len(result)))]


def _types(circuit, _rng):
    """A valve of another type with the same pins: what is printed on a box is not always what is in it."""
    triodes = ("ECC83", "ECC82", "ECC81")
    for part in (p for p in circuit.parts.values() if p.row.get("type") in triodes):
        for other in (t for t in triodes if t != part.row["type"]):
            yield Fault("unlisted", (part.ref,), f"an {other} in its socket", _retyped(part.ref, other))


def _retyped(ref, other):
    assert other in LAWS

    def change(circuit):
        part = circuit.parts[ref]
        part.row = part.row | {"type": other}

    return change


def _heaters(circuit, rng):
    """From a cathode to its heater, through the valve's insulation (common practice: megohms when good)."""
    for part in (p for p in circuit.parts.values() if p.kind in VALVES and p.kind != "rectifier valve"):
        for end in (t for t in part.at if t.endswith("cathode")):
            ohms = float(10 ** rng.uniform(4.0, 5.5))
            ends = part.at[end], part.at["heater.0"]
            yield _path((part.ref,), f"{end} to heater: {ohms:.2g} ohm", ends, ohms)


def _sockets(circuit, rng):
    """Carbon between the tags of anode and grid."""
    for part in (p for p in circuit.parts.values() if p.kind in VALVES and p.kind != "rectifier valve"):
        for end in (t for t in part.at if t.endswith("anode")):
            ohms = float(10 ** rng.uniform(5.5, 7.0))
            ends = part.at[end], part.at[end.replace("anode", "grid")]
            yield _path((part.ref,), f"{end} to grid: {ohms:.2g} ohm", ends, ohms)


def _doubled(circuit, rng):
    """A second resistor of the bag across the first."""
    resistors = [p for p in circuit.parts.values() if p.kind == "resistor"]
    for part in resistors:
        other = resistors[int(rng.integers(len(resistors)))].is_["ohms"]
        if 0.3 < other / part.is_["ohms"] < 3:
            ohms = part.is_["ohms"] * other / (part.is_["ohms"] + other)
            yield Fault("unlisted", (part.ref,), f"{other:.3g} ohm across it", _set(part.ref, "ohms", ohms))


def _loads(circuit, rng):
    """A supply that something else draws from."""
    for part in (p for p in circuit.parts.values() if p.kind == "electrolytic" and "chassis" in p.at.values()):
        node = next(n for n in part.at.values() if n != "chassis")
        near = tuple(sorted(p.ref for p in circuit.parts.values() if node in p.at.values()))
        ohms = float(10 ** rng.uniform(3.7, 4.7))
        yield _path(near, f"{node} to chassis: {ohms:.2g} ohm", (node, "chassis"), ohms)


def _path(refs, text, ends, ohms):
    return Fault("unlisted", refs, text, lambda c: c.bridges.append((*ends, ohms)))


_MAKERS = {"type": _types, "heater": _heaters, "socket": _sockets, "doubled": _doubled, "load": _loads}
