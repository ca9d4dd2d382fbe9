"""Supplies: rectifiers with smoothing, heater windings, bias, regulators."""

from django.utils.translation import gettext_lazy as _

from builds.guides.blocks.heater_guess import tied_pin
from builds.guides.blocks.model import WITH_A_METER, Answers, Ask, Block, Role
from builds.guides.blocks.transformer_guess import primary_volts
from builds.guides.wiring.ends import flat_joins, list_ends
from checks.circuit.netlist.wires import CHASSIS
from checks.errors import ChecksError
from checks.quantity import parse_quantity

DIODES = ("diode", "bridge", "rectifier valve")
HT_RATED = 160  # volts: what stands on a B+ rail is rated for this or more; a bias capacitor is not (common practice)
LONGEST = 4  # smoothing sections of one block


def _mains(a: Answers) -> None:
    """The inlet, fuse and switch before the primary, as far as they are there."""
    chain = [role for role in ("fuse", "switch") if a.has(role)]
    nodes = ["mains.live"]
    if chain:
        nodes = ["mains.inlet", *(["mains.fused"] if len(chain) == 2 else []), "mains.live"]
    for role, one, other in zip(chain, nodes, nodes[1:], strict=False):
        a.join(role, one, other)
    if a.has("switch"):
        a.row("switch")["open_when_off"] = True
    if a.has("inlet"):
        a.terminals("inlet", {"live": nodes[0], "neutral": "mains.neutral", "earth": CHASSIS})


def lay_rectifier(a: Answers) -> None:
    _refuse_other_mains(a)
    _mains(a)
    name = a["rail"]
    ends = (f"{name}.a", f"{name}.b")
    full = a["how"] in ("centre", "valve")
    a.winding("transformer", "primary", ("mains.live", "mains.neutral"), volts=a["mains"], ohms=a["primary_ohms"])
    nodes = (ends[0], CHASSIS, ends[1]) if full else (ends[0], CHASSIS if a["how"] == "half" else ends[1])
    a.winding("transformer", "ht", nodes, volts=a["volts"], amps=a["amps"], ohms=a["ohms"])
    first = f"{name}.rectified" if a.has("ht_fuse") else f"{name}.1"
    _diodes(a, ends, first)
    if a.has("ht_fuse"):
        a.join("ht_fuse", first, f"{name}.1")
    for n in range(1, LONGEST + 1):
        if a.has(f"c{n}"):
            a.join(f"c{n}", f"{name}.{n}", CHASSIS)
        if a.has(f"r{n}"):
            _refuse_unknown_choke(a, f"r{n}")
            a.join(f"r{n}", f"{name}.{n}", f"{name}.{n + 1}")
    if a.has("bleeder"):
        a.join("bleeder", f"{name}.1", CHASSIS)


def _refuse_unknown_choke(a: Answers, role: str) -> None:
    """A choke without its resistance stops the whole circuit from being solved."""
    row = a.row(role)
    if row["kind"] == "inductor" and not row.get("ohms"):
        raise ChecksError("ohms", code="choke-ohms", argument=role, ref=row["ref"])


def _refuse_other_mains(a: Answers) -> None:
    """A transformer whose note says another primary than the kit's mains."""
    row = a.row("transformer")
    primaries = primary_volts(str(row.get("note", "")))
    mains = parse_quantity(a["mains"], "V").value if a["mains"] else None
    if primaries and mains and not any(0.85 <= volts / mains <= 1.15 for volts in primaries):
        raise ChecksError(
            "mains",
            code="other-mains",
            argument="transformer",
            ref=row["ref"],
            said=f"{primaries[0]:g} V",
            mains=a["mains"],
        )


def _diodes(a: Answers, ends, plus: str) -> None:
    how, first = a["how"], a.row("d1")
    kinds = {"valve": ("rectifier valve",), "bridge": ("bridge", "diode")}.get(how, ("diode",))
    if first["kind"] not in kinds:
        raise ChecksError("kind", code="role-kind", argument="d1", ref=first["ref"], kind=first["kind"], kinds=kinds)
    if how == "valve":
        a.terminals("d1", {"anode_1": ends[0], "anode_2": ends[1], "cathode": plus})
    elif how == "bridge" and first["kind"] == "bridge":
        a.terminals("d1", {"ac1": ends[0], "ac2": ends[1], "plus": plus, "minus": CHASSIS})
    elif how == "bridge":
        for role, anode, cathode in (("d1", ends[0], plus), ("d2", ends[1], plus)):
            a.terminals(role, {"anode": anode, "cathode": cathode})
        for role, anode, cathode in (("d3", CHASSIS, ends[0]), ("d4", CHASSIS, ends[1])):
            a.terminals(role, {"anode": anode, "cathode": cathode})
    else:
        for role, anode in zip(("d1", "d2") if how == "centre" else ("d1",), ends, strict=False):
            a.terminals(role, {"anode": anode, "cathode": plus})


def _section(number: int, smoothing: object, capacitor: object) -> tuple[Role, Role]:
    """A smoothing section: neither part is suggested without the other."""
    r, c = f"r{number}", f"c{number + 1}"
    return (
        Role(r, smoothing, ("resistor", "inductor"), 10, 47e3, is_needed=False, beside=c),
        Role(c, capacitor, ("electrolytic", "capacitor"), 2e-6, 1, False, HT_RATED, r),
    )


RECTIFIER = Block(
    "rectifier",
    _("Rectifier and smoothing"),
    _("Mains transformer, rectifier (silicon or valve), reservoir and up to three smoothing sections."),
    (
        Role("transformer", _("Mains transformer"), ("mains transformer",)),
        Role("inlet", _("Mains inlet"), ("connector",), is_needed=False),
        Role("fuse", _("Mains fuse"), ("fuse",), is_needed=False),
        Role("switch", _("Mains switch"), ("switch",), is_needed=False),
        Role("d1", _("First diode, bridge or rectifier valve"), DIODES),
        Role("d2", _("Second diode"), ("diode",), is_needed=False),
        Role("d3", _("Third diode (bridge)"), ("diode",), is_needed=False),
        Role("d4", _("Fourth diode (bridge)"), ("diode",), is_needed=False),
        Role("ht_fuse", _("HT fuse"), ("fuse",), is_needed=False),
        Role("c1", _("Reservoir capacitor"), ("electrolytic", "capacitor"), 2e-6, 1, least_volts=HT_RATED),
        *_section(1, _("First smoothing resistor or choke"), _("Second capacitor")),
        *_section(2, _("Second smoothing resistor or choke"), _("Third capacitor")),
        *_section(3, _("Third smoothing resistor or choke"), _("Fourth capacitor")),
        Role("bleeder", _("Bleeder resistor"), ("resistor",), 56e3, 1e6, is_needed=False),
    ),
    (
        Ask(
            "how",
            _("Arrangement"),
            "choice",
            "centre",
            (
                ("centre", _("two diodes, centre-tapped winding")),
                ("bridge", _("bridge")),
                ("half", _("one diode")),
                ("valve", _("rectifier valve, centre-tapped winding")),
            ),
        ),
        Ask("volts", _("HT winding, volts (each half)"), "figure", unit="V"),
        Ask("amps", _("HT winding, rated current"), "figure", unit="A"),
        Ask("ohms", _("HT winding, resistance end to end"), "figure", unit="Ω", help=WITH_A_METER),
        Ask("primary_ohms", _("Primary, resistance"), "figure", unit="Ω", help=WITH_A_METER),
        Ask("rail", _("Name of the rail"), "point", "ht", help=_("Its points are called ht.1, ht.2 and so on.")),
    ),
    lay_rectifier,
)


def lay_heaters(a: Answers) -> None:
    refs = [*filter(None, a["valves"].replace(",", " ").split())]
    one, other = a["a"], CHASSIS if a["ground"] == "side" else a["b"]
    nodes = (one, CHASSIS, other) if a["ground"] == "centre" else (one, other)
    a.winding("transformer", a["name"], nodes, volts=a["volts"], amps=a["amps"], ohms=a["ohms"])
    for ref in refs:
        _refuse_tied(a, ref, other, is_alone=len(refs) == 1 and a["ground"] == "none")
        _heater(a, ref, one, other)
    if a["ground"] == "resistors":
        a.join("ra", one, CHASSIS)
        a.join("rb", other, CHASSIS)


def _refuse_tied(a: Answers, ref: str, other: str, *, is_alone: bool) -> None:
    """A heater that is its rectifier's cathode, fed with others or joined to the chassis, would put the HT there."""
    row = a.parts.get(ref, {"kind": ""})
    if tied_pin(row) is None:
        return
    cathode = next((end.point for end in list_ends(row) if end.terminal == "cathode"), "")
    if not is_alone or cathode not in ("", other):
        raise ChecksError("heater", code="heater-cathode", argument="ground", ref=ref)


def _heater(a: Answers, ref: str, one: str, other: str) -> None:
    if ref not in a.parts or not a.parts[ref].get("pins"):
        raise ChecksError("valve", code="no-valve", argument="valves", ref=ref)
    role = f"valve-{ref}"
    a.refs[role], a.roles[role] = ref, Role(role, ref, (a.parts[ref]["kind"],))
    pins = a.parts[ref]["pins"]
    if pins.get("heater_centre") and a["feed"] == "halves":
        a.terminals(role, {"heater.1": one, "heater.2": one, "heater_centre": other})
    elif pins.get("heater"):
        ends = (other, one) if tied_pin(a.parts[ref]) == 0 else (one, other)
        a.terminals(role, dict(zip(("heater.1", "heater.2"), ends, strict=True)))
    else:
        raise ChecksError("valve", code="no-heater", argument="valves", ref=ref)


HEATERS = Block(
    "heaters",
    _("Heater winding"),
    _("A winding for the heaters of one or more valves, and its connection to chassis."),
    (
        Role("transformer", _("Mains transformer"), ("mains transformer",)),
        Role("ra", _("First balancing resistor"), ("resistor",), 10, 470, is_needed=False),
        Role("rb", _("Second balancing resistor"), ("resistor",), 10, 470, is_needed=False),
    ),
    (
        Ask("valves", _("Valves"), "refs"),
        Ask("volts", _("Winding, volts"), "figure", "6.3 V", unit="V"),
        Ask("amps", _("Winding, rated current"), "figure", unit="A"),
        Ask("ohms", _("Winding, resistance"), "figure", unit="Ω", help=WITH_A_METER),
        Ask(
            "feed",
            _("Double heaters (such as ECC83)"),
            "choice",
            "halves",
            (("halves", _("both halves in parallel, pins 4 and 5 linked")), ("series", _("in series, 12.6 V"))),
        ),
        Ask(
            "ground",
            _("Connected to chassis by"),
            "choice",
            "resistors",
            (
                ("resistors", _("two resistors")),
                ("centre", _("a centre tap (volts: each half)")),
                ("side", _("one side of the winding")),
                ("none", _("nothing: it feeds a rectifier whose heater is its cathode")),
            ),
        ),
        Ask("name", _("Name of the winding"), "point", "heater"),
        Ask("a", _("First point"), "point", "heater.a"),
        Ask("b", _("Second point"), "point", "heater.b"),
    ),
    lay_heaters,
)


def _refuse_bridged(a: Answers) -> None:
    """A winding end that a diode from the chassis holds up would leave the output valves without bias."""
    for ref, row in a.parts.items():
        joins = flat_joins(row)
        holds = row["kind"] == "diode" and (joins.get("anode"), joins.get("cathode")) == (CHASSIS, a["source"])
        bridges = row["kind"] == "bridge" and joins.get("minus") == CHASSIS
        if ref != a.refs.get("d") and (holds or bridges and a["source"] in (joins.get("ac1"), joins.get("ac2"))):
            raise ChecksError("bridged", code="bias-bridged", argument="source", point=a["source"])


def lay_bias(a: Answers) -> None:
    _refuse_bridged(a)
    raw, out = f"{a['out']}.raw", a["out"]
    start = f"{out}.feed" if a.has("feed") else a["source"]
    if a.has("feed"):
        a.join("feed", a["source"], start)
    a.terminals("d", {"anode": raw, "cathode": start})
    a.join("c1", CHASSIS, raw)
    a.join("r1", raw, out)
    if a.has("c2"):
        a.join("c2", CHASSIS, out)
    a.join("r2", out, CHASSIS)


BIAS = Block(
    "bias",
    _("Bias supply"),
    _("A negative supply for the grids of output valves, by one diode from a winding."),
    (
        Role("feed", _("Series resistor before the diode"), ("resistor",), 1e3, 470e3, is_needed=False),
        Role("d", _("Diode"), ("diode",)),
        Role("c1", _("Reservoir capacitor (plus to chassis)"), ("electrolytic",), 1e-6, 1),
        Role("r1", _("Smoothing resistor"), ("resistor",), 100, 220e3),
        Role("c2", _("Second capacitor (plus to chassis)"), ("electrolytic",), 1e-6, 1, False),
        Role("r2", _("Resistor to chassis"), ("resistor",), 1e3, 470e3),
    ),
    (
        Ask("source", _("Winding end that feeds it"), "point", "ht.a"),
        Ask("out", _("Name of the bias point"), "point", "bias"),
    ),
    lay_bias,
)


def lay_regulator(a: Answers) -> None:
    a.terminals("u", {"input": a["in"], "output": a["out"], "common": CHASSIS})
    if a.has("cin"):
        a.join("cin", a["in"], CHASSIS)
    if a.has("cout"):
        a.join("cout", a["out"], CHASSIS)


REGULATOR = Block(
    "regulator",
    _("Fixed regulator"),
    _("A three-terminal regulator with its capacitors."),
    (
        Role("u", _("Regulator"), ("regulator",)),
        Role("cin", _("Input capacitor"), ("electrolytic", "capacitor"), 1e-8, 1, False),
        Role("cout", _("Output capacitor"), ("electrolytic", "capacitor"), 1e-8, 1, False),
    ),
    (Ask("in", _("Input point"), "point"), Ask("out", _("Output point"), "point")),
    lay_regulator,
)
