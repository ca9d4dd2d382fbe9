"""Parts taken apart into resistances, capacitances, coils and devices between numbered nodes."""

import math
import re
from dataclasses import dataclass, field

from tests.trials.circuit import OPEN, VALVES, Circuit, Part
from tests.trials.valves import HEATERS, LAWS, RECTIFIERS, soft_corner, three_halves

GROUND = "chassis"
LEAST = 1e-3  # ohms of a wire


@dataclass
class Elements:
    """`coils` are (core, turns, a, b, ohms); `chokes` (a, b, henries, ohms).

    A device is (law, nodes, ref): its law takes the volts of all its nodes but the last against the last, and gives the
    currents into them with their slopes.
    """

    nodes: dict[str, int] = field(default_factory=dict)
    resistors: list = field(default_factory=list)
    capacitors: list = field(default_factory=list)
    chokes: list = field(default_factory=list)
    coils: list = field(default_factory=list)
    devices: list = field(default_factory=list)

    def node(self, name: str) -> int:
        """-1 is the chassis."""
        return -1 if name == GROUND else self.nodes.setdefault(name, len(self.nodes))

    def resistor(self, a, b, ohms):
        self.resistors.append((self.node(a), self.node(b), min(max(ohms, LEAST), OPEN)))

    def without_flux(self):
        """For direct current, which a transformer does not carry over."""
        for core in {core for core, *_ in self.coils}:
            self.resistors.append((core, -1, LEAST))
        return self


def silicon(volts: float):
    """A silicon diode on a kit's scale: .7 V in a soft corner, half an ohm."""
    i, slope = soft_corner(volts - 0.7, 0.04)
    return (2 * i - 2e-9,), ((2 * slope,),)


def vacuum(perveance: float):
    def law(volts: float):
        i, slope = three_halves(volts, 0.3)
        return (perveance * i,), ((perveance * slope,),)

    return law


def avalanche(zener_volts: float):
    """A Zener diode, anode against cathode: silicon forwards, a soft corner and 0.08 ohm a volt beyond its voltage."""
    slope_of, corner = 1 / (0.08 * zener_volts + 5), 0.5 if zener_volts > 20 else 0.2

    def law(volts: float):
        (forward,), ((ds,),) = silicon(volts)
        back, db = soft_corner(-volts - zener_volts, corner)
        return (forward - slope_of * back,), ((ds + slope_of * db,),)

    return law


def regulating(volts: float, dropout: float = 2.0, idle: float = 5e-3):
    """A fixed three-terminal regulator: input and output against its common. It passes current from input to output
    until the output stands at its volts, or at the input less the dropout; its own current leaves by the common."""

    def law(into: float, out: float):
        low, by = soft_corner(volts - (into - dropout), 0.05)
        amps, steep = soft_corner((volts - low - out) / 0.05, 0.2)
        own, rise = soft_corner(into - 1.0, 0.2)
        share = idle * (own / (own + 0.5))
        slope = idle * 0.5 / (own + 0.5) ** 2 * rise
        return (amps + share, -amps), ((steep * by / 0.05 + slope, -steep / 0.05), (-steep * by / 0.05, steep / 0.05))

    return law


def oxide(volts: float):
    """An electrolytic's oxide, negative against positive: it conducts from a volt or so of the wrong polarity."""
    i, slope = soft_corner(volts - 1.2, 0.08)
    return (0.004 * i,), ((0.004 * slope,),)


def taken_apart(
    circuit: Circuit, fitted, heat: dict | None = None, settings: dict | None = None, coupled=False
) -> Elements:
    """The elements of the fitted parts; `heat` maps a valve's ref to its emission. Without it heaters are cold.

    An output transformer is two wires, or with `coupled` what a tone finds.
    """
    made = Elements()
    for ref in circuit.parts:
        part = circuit.parts[ref]
        if ref in fitted and part.kind not in ("test resistor", "test battery"):
            (_put_coupled if coupled and part.kind == "output transformer" else _PUT[part.kind])(
                made, part, heat, settings or {}
            )
    for a, b, ohms in circuit.bridges:
        made.resistor(a, b, ohms)
    return made


def _resistor(made, part, *_):
    made.resistor(part.at["0"], part.at["1"], part.is_["ohms"])


def _potentiometer(made, part, _heat, settings):
    turn = settings.get(part.ref, part.is_["setting"])
    made.resistor(part.at["top"], part.at["wiper"], part.is_["ohms"] * (1 - turn))
    made.resistor(part.at["wiper"], part.at["bottom"], part.is_["ohms"] * turn)


def _capacitor(made, part, *_):
    a, b = made.node(part.at["0"]), made.node(part.at["1"])
    if part.is_["farads"] > 0:
        made.capacitors.append((a, b, part.is_["farads"]))
    made.resistor(part.at["0"], part.at["1"], part.is_["leak"])
    if part.kind == "electrolytic":
        made.devices.append((oxide, (a, b) if part.is_["reversed"] else (b, a), part.ref))


def _regulator(made, part, heat, _settings):
    if heat is not None:  # unpowered, it is taken for no path at all
        ends = tuple(made.node(part.at[end]) for end in ("input", "output", "common"))
        made.devices.append((regulating(part.is_["volts"]), ends, part.ref))


def _inductor(made, part, *_):
    made.chokes.append(
        (made.node(part.at["0"]), made.node(part.at["1"]), part.is_["henries"], max(part.is_["ohms"], LEAST))
    )


def _diode(made, part, *_):
    anode, cathode = part.at["anode"], part.at["cathode"]
    if part.is_["ohms"]:  # a joint or an open diode
        inner = f"{anode}~{part.ref}"
        made.resistor(anode, inner, part.is_["ohms"])
        anode = inner
    made.resistor(anode, cathode, part.is_["leak"])
    law = avalanche(part.is_["volts"]) if part.kind == "zener" else silicon
    ends = (cathode, anode) if part.is_["reversed"] else (anode, cathode)
    made.devices.append((law, tuple(made.node(n) for n in ends), part.ref))


def _transformer(made, part, *_):
    for coil in part.is_["coils"]:
        a, b = (part.at[f"{coil['name']}.{coil['from'] + n}"] for n in (0, 1))
        if coil["volts"] and part.kind == "mains transformer":
            core = made.node(f"core of {part.ref}")
            made.coils.append((core, coil["volts"] / 230, made.node(a), made.node(b), max(coil["ohms"], LEAST)))
        else:
            made.resistor(a, b, coil["ohms"])


def _put_coupled(made, part, *_):
    """An output transformer for a tone: the turns follow from the load it is made for, as its note says it."""
    kilohms, load = re.search(r"([\d.]+) kilohm to (\d+) ohm", part.row["note"]).groups()
    coils, core = part.is_["coils"], made.node(f"core of {part.ref}")
    halves = sum(coil["name"] == "primary" for coil in coils)
    for coil in coils:
        turns = math.sqrt(1000 * float(kilohms) / float(load)) / halves if coil["name"] == "primary" else 1.0
        a, b = (part.at[f"{coil['name']}.{coil['from'] + n}"] for n in (0, 1))
        made.coils.append((core, turns * coil.get("turns", 1.0), made.node(a), made.node(b), max(coil["ohms"], LEAST)))


def _valve(made, part: Part, heat, _settings):
    if heat is None:
        return
    _heaters(made, part)
    hot = heat.get(part.ref, 1.0)
    kind, row = part.kind, part.is_
    if kind == "rectifier valve":
        for n, anode in enumerate(("anode_1", "anode_2")):
            law = vacuum(RECTIFIERS[part.row["type"]] * max(row["strength"][n] * hot * row["heater"][n], 1e-9))
            made.devices.append((law, (made.node(part.at[anode]), made.node(part.at["cathode"])), part.ref))
        return
    for n, own in enumerate(("a.", "b.") if kind == "twin triode" else ("",)):
        strength = max(row["strength"][n] * hot * row["heater"][n], 1e-9)
        law = LAWS[part.row["type"]].scaled(strength, row["mu"][n], row["gas"][n])
        names = ("anode", "screen", "grid", "cathode") if kind == "pentode" else ("anode", "grid", "cathode")
        made.devices.append((law.currents, tuple(made.node(part.at[own + name]) for name in names), part.ref))


def _heaters(made, part):
    volts, amps = HEATERS[part.row["type"]]
    ends, live = ("heater.0", "heater.1"), part.is_["heater"]
    if "heater_centre" in part.at:
        for end, lit in zip(ends, live, strict=True):
            made.resistor(part.at[end], part.at["heater_centre"], 2 * volts / amps if lit else OPEN)
    elif all(live):
        made.resistor(part.at["heater.0"], part.at["heater.1"], volts / amps)


_PUT = {
    "resistor": _resistor,
    "fuse": _resistor,
    "switch": _resistor,
    "link": _resistor,
    "potentiometer": _potentiometer,
    "capacitor": _capacitor,
    "electrolytic": _capacitor,
    "regulator": _regulator,
    "inductor": _inductor,
    "diode": _diode,
    "zener": _diode,
    "mains transformer": _transformer,
    "output transformer": _transformer,
} | dict.fromkeys(VALVES, _valve)
