"""What goes wrong with kits: every fault a change of a circuit, with the part and the kind of trouble it truly is."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from tests.trials.circuit import OPEN, VALVES, Circuit, Part
from tests.trials.figures import figure

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)  # IEC 60063
CAPACITIVE = ("capacitor", "electrolytic")


@dataclass(frozen=True)
class Fault:
    """`kind` and `refs` are the truth a diagnosis is judged by; `detail` is for reading."""

    kind: str
    refs: tuple[str, ...]
    detail: str
    change: Callable[[Circuit], None]

    def as_row(self) -> list:
        return [self.kind, list(self.refs), self.detail]


def _set(ref, name, value):
    def change(circuit):
        circuit.parts[ref].is_[name] = value

    return change


def opens(part: Part, rng):
    r, kind = part.ref, part.kind
    if kind in ("resistor", "fuse", "inductor", "diode"):
        yield Fault("open", (r,), "not soldered at one end", _set(r, "ohms", OPEN))
    elif kind in ("mains transformer", "output transformer"):
        for n, coil in enumerate(part.is_["coils"]):
            yield Fault("open", (r,), f"{coil['name']} {coil['from']} open", _coil(r, n, "ohms", lambda _x: OPEN))
    elif kind == "potentiometer":
        yield Fault("open", (r,), "wiper lifts", lambda c: c.split(r, "wiper", OPEN))
    elif kind in VALVES:
        for end in (t for t in part.at if not t.startswith("heater")):
            yield Fault("open", (r,), f"pin of {end} not soldered", lambda c, end=end: c.split(r, end, OPEN))
    elif kind == "regulator":
        for end in ("input", "output"):
            yield Fault("open", (r,), f"{end} not soldered", lambda c, end=end: c.split(r, end, OPEN))


def shorts(part: Part, rng):
    r = part.ref
    if part.kind in CAPACITIVE:
        yield Fault("short", (r,), "shorted", _set(r, "leak", 0.5))
    elif part.kind in ("resistor", "inductor", "diode", "zener"):
        ends = list(part.at.values())
        yield Fault("short", (r,), "bridged by solder", lambda c: c.bridges.append((ends[0], ends[1], 0.2)))
    elif part.kind == "regulator":
        ends = part.at["input"], part.at["output"]
        yield Fault("short", (r,), "passes its input", lambda c: c.bridges.append((*ends, 0.2)))
    elif part.kind in VALVES:
        yield from _between_pins(part)


def _between_pins(part: Part):
    """Solder from one pin to the next."""
    pins = {}
    for name, pin in part.row["pins"].items():
        for end, number in (
            pin.items() if isinstance(pin, dict) else enumerate(pin) if isinstance(pin, list) else [("", pin)]
        ):
            pins[int(number)] = f"{name}.{end}".rstrip(".") if end != "" else name
    for a in pins:
        b = a + 1
        if b in pins and part.at[pins[a]] != part.at[pins[b]]:
            ends = part.at[pins[a]], part.at[pins[b]]
            yield Fault(
                "bridge", (part.ref,), f"pins {a} and {b} bridged", lambda c, ends=ends: c.bridges.append((*ends, 0.2))
            )


def values(part: Part, rng):
    if part.kind != "resistor":
        return
    nominal = figure(part.row["value"])
    for value, text in (
        (nominal * 10, "ten times"),
        (nominal / 10, "a tenth"),
        (neighbour(nominal, rng), "a neighbour"),
    ):
        yield Fault(
            "high" if value > nominal else "low",
            (part.ref,),
            f"{text}: {value:.3g} ohm",
            _set(part.ref, "ohms", value),
        )


def neighbour(nominal: float, rng) -> float:
    """A value one to three places away in the E12 series."""
    decade = 10 ** math.floor(math.log10(nominal) + 1e-9)
    at = min(range(12), key=lambda n: abs(E12[n] - nominal / decade)) + int(rng.integers(1, 4)) * int(
        rng.choice([-1, 1])
    )
    return decade * E12[at % 12] * 10 ** (at // 12)


def leaks(part: Part, rng):
    if part.kind == "capacitor":
        ohms = 10 ** rng.uniform(5.5, 7.7)
    elif part.kind == "electrolytic":
        volts = figure(part.row["volts"])
        ohms = 10 ** (rng.uniform(3.3, 4.7) if volts > 100 else rng.uniform(1.6, 3.3))
    else:
        return
    yield Fault("leaky", (part.ref,), f"leaks through {ohms:.2g} ohm", _set(part.ref, "leak", ohms))


def turned(part: Part, rng):
    """The wrong way round. An electrolytic then leaks a little even at an ohmmeter's few tenths of a volt."""
    if part.kind in ("diode", "zener"):
        yield Fault("reversed", (part.ref,), "the wrong way round", _set(part.ref, "reversed", True))
    elif part.kind == "electrolytic":
        ohms = float(10 ** rng.uniform(4.3, 6.3))
        yield Fault("reversed", (part.ref,), f"the wrong way round, {ohms:.2g} ohm", _turned(part.ref, ohms))


def _turned(ref, ohms):
    def change(circuit):
        circuit.parts[ref].is_ |= {"reversed": True, "leak": ohms}

    return change


def tired(part: Part, rng):
    if part.kind not in VALVES:
        return
    sections = range(len(part.is_["strength"]))
    for n in sections:
        weak, gas = float(rng.uniform(0.2, 0.5)), float(10 ** rng.uniform(-4.0, -2.7))
        yield Fault("weak", (part.ref,), f"section {n} at {weak:.0%}", _section(part.ref, "strength", n, weak))
        if part.kind != "rectifier valve":
            yield Fault("gassy", (part.ref,), f"section {n}, {gas:.1e} ions", _section(part.ref, "gas", n, gas))
    yield Fault("dead", (part.ref,), "heater open", _dead(part.ref))


def _section(ref, name, n, value):
    def change(circuit):
        circuit.parts[ref].is_[name][n] = value

    return change


def _dead(ref):
    def change(circuit):
        circuit.parts[ref].is_["heater"] = [False] * len(circuit.parts[ref].is_["heater"])

    return change


def windings(part: Part, rng):
    if part.kind not in ("mains transformer", "output transformer"):
        return
    for n, coil in enumerate(part.is_["coils"]):
        if coil["name"] in ("heater", "secondary"):
            continue
        up, down = float(rng.uniform(1.6, 6)), float(rng.uniform(0.6, 0.88))
        yield Fault(
            "high",
            (part.ref,),
            f"{coil['name']} {coil['from']} at {up:.1f} times its ohms",
            _coil(part.ref, n, "ohms", lambda x, k=up: x * k),
        )
        yield Fault(
            "low", (part.ref,), f"{coil['name']} {coil['from']} with {down:.0%} of its turns", _fewer(part.ref, n, down)
        )


def _coil(ref, n, name, of):
    def change(circuit):
        coil = circuit.parts[ref].is_["coils"][n]
        coil[name] = of(coil[name])

    return change


def _fewer(ref, n, share):
    def change(circuit):
        coil = circuit.parts[ref].is_["coils"][n]
        coil["volts"], coil["ohms"] = coil["volts"] * share, coil["ohms"] * share

    return change


def joints(part: Part, rng):
    if part.kind in ("resistor", *VALVES, "diode", "mains transformer", "output transformer", "inductor", "fuse"):
        ends = list(part.at)
        end, ohms = str(rng.choice(ends)), float(10 ** rng.uniform(0.5, 6))
        yield Fault("joint", (part.ref,), f"{end}: {ohms:.2g} ohm", lambda c: c.split(part.ref, end, ohms))


def swaps(circuit: Circuit, rng):
    """Two resistors in each other's place: within two decades, and near one another in the parts list."""
    results = [p for p in circuit.parts.values() if p.kind == "resistor"]
    for n, one in enumerate(results):
        for two in results[n + 1 : n + 6]:
            ratio = one.is_["ohms"] / two.is_["ohms"]
            if 0.01 < ratio < 100 and abs(ratio - 1) > 0.2:
                yield Fault("swap", (one.ref, two.ref), "in each other's place", _swapped(one.ref, two.ref))


def _swapped(a, b):
    def change(circuit):
        one, two = circuit.parts[a].is_, circuit.parts[b].is_
        one["ohms"], two["ohms"] = two["ohms"], one["ohms"]

    return change


def wrong_tap(circuit: Circuit, rng):
    for factor, text in ((0.5, "wired for 115 V"), (2.0, "wired for twice the mains")):
        for ref in (p.ref for p in circuit.parts.values() if p.kind == "mains transformer"):
            yield Fault("tap", (ref,), text, _coil(ref, 0, "volts", lambda x, k=factor: x * k))


EACH = {
    "open": opens,
    "short": shorts,
    "value": values,
    "leaky": leaks,
    "reversed": turned,
    "valve": tired,
    "winding": windings,
    "joint": joints,
}
WHOLE = {"swap": swaps, "tap": wrong_tap}


def all_faults(circuit: Circuit, rng) -> dict[str, list[Fault]]:
    """Family -> every fault of it that this circuit can have."""
    results = {family: [f for part in circuit.parts.values() for f in of(part, rng)] for family, of in EACH.items()}
    return results | {family: list(of(circuit, rng)) for family, of in WHOLE.items()}


# ---- what no list has
def unlisted(circuit: Circuit, rng) -> Fault:
    """A part at an odd value, a path between two nodes that no part joins, or a transformer wound a tenth off."""
    what = rng.choice(["value", "path", "turns"], p=[0.4, 0.45, 0.15])
    if what == "value":
        part = circuit.parts[str(rng.choice([p.ref for p in circuit.parts.values() if p.kind == "resistor"]))]
        factor = float(rng.choice([rng.uniform(0.4, 0.75), rng.uniform(1.35, 2.5)]))
        return Fault(
            "unlisted", (part.ref,), f"{factor:.2f} times its value", _set(part.ref, "ohms", part.is_["ohms"] * factor)
        )
    if what == "turns":
        part = next(p for p in circuit.parts.values() if p.kind == "mains transformer")
        factor = 1 + float(rng.choice([-1, 1])) * 0.12

        def change(circuit):
            for coil in circuit.parts[part.ref].is_["coils"]:
                coil["volts"] *= factor if coil["name"] != "primary" else 1

        return Fault("unlisted", (part.ref,), f"secondaries at {factor:.2f}", change)
    nodes = sorted({node for p in circuit.parts.values() for node in p.at.values() if not node.startswith("mains")})
    a, b = (str(x) for x in rng.choice(nodes, 2, replace=False))
    ohms = float(10 ** rng.uniform(3.0, 5.7))
    near = tuple(sorted({p.ref for p in circuit.parts.values() if {a, b} & (set(p.at.values()) - {"chassis"})}))
    return Fault("unlisted", near, f"{a} to {b}: {ohms:.2g} ohm", lambda c: c.bridges.append((a, b, ohms)))
