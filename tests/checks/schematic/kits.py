"""Invented circuits to draw, each with something the demo kits do not have."""

from checks.schematic import Component


def part(ref: str, kind: str, joins: str | dict, captions=(), pins=None, form="") -> Component:
    """`joins`: "a=net b=net", "." for a net of its own."""
    if isinstance(joins, str):
        joins = dict(pair.split("=") for pair in joins.split())
    return Component(ref, kind, joins, pins or {}, (), tuple(captions), form)


def two(ref: str, a: str, b: str, captions: str, kind: str = "") -> Component:
    kind = kind or {"R": "resistor", "C": "capacitor", "L": "inductor", "F": "fuse", "S": "switch"}[ref[0]]
    return Component(ref, kind, {"a": a, "b": b}, captions=(captions,))


def can(ref: str, plus: str, minus: str, captions: str) -> Component:
    return Component(ref, "electrolytic", {"plus": plus, "minus": minus}, captions=(captions, "450 V"))


def transformer(ref: str, kind: str, *windings: tuple) -> Component:
    """windings: (name, captions, net, net, …)."""
    joins, rows = {}, []
    for name, captions, *nets in windings:
        terminals = tuple(f"{name}.{n}" for n in range(1, len(nets) + 1))
        joins |= dict(zip(terminals, nets, strict=True))
        rows.append((name, terminals, captions))
    return Component(ref, kind, joins, {}, tuple(rows))


def triode(ref: str, name: str, anode: str, grid: str, cathode: str) -> dict:
    return {f"{name}.anode": anode, f"{name}.grid": grid, f"{name}.cathode": cathode}


def mains(*secondaries: tuple) -> list[Component]:
    return [
        part("P1", "connector", "live=m.in neutral=m.n earth=chassis"),
        two("F1", "m.in", "m.f", "1 A"),
        two("S1", "m.f", "m.l", ""),
        transformer("T1", "mains transformer", ("primary", "230 V", "m.l", "m.n"), *secondaries),
    ]


def long_tailed_push_pull() -> list[Component]:
    """A long-tailed pair into an ultralinear pair with fixed bias, a choke and a valve rectifier heated directly."""
    v1 = triode("V1", "a", "p.a", "p.g", "p.tail") | triode("V1", "b", "p.b", "p.h", "p.tail")
    v2 = {"anode": "o.a", "screen": "ul.a", "grid": "g.a", "cathode": "k.a", "heater.1": "h1", "heater.2": "h2"}
    v3 = {"anode": "o.b", "screen": "ul.b", "grid": "g.b", "cathode": "k.b", "heater.1": "h1", "heater.2": "h2"}
    primaries = (
        ("primary a1", "", "o.a", "ul.a"),
        ("primary a2", "", "ul.a", "ht.main"),
        ("primary b2", "", "ht.main", "ul.b"),
        ("primary b1", "", "ul.b", "o.b"),
    )
    return [
        *mains(
            ("ht", "350 V", "s.a", "chassis", "s.b"),
            ("rect", "5 V", "r.a", "ht.raw"),
            ("bias", "50 V", "b.ac", "chassis"),
            ("heater", "6.3 V", "h1", "h2"),
        ),
        part(
            "V4",
            "rectifier valve",
            {"anode_1": "s.a", "anode_2": "s.b", "cathode": "ht.raw", "heater.1": "r.a", "heater.2": "ht.raw"},
            ("GZ34",),
            {"anode_1": "4", "anode_2": "6", "cathode": "8", "heater.1": "2"},
        ),
        can("C1", "ht.raw", "chassis", "32µ"),
        two("L1", "ht.raw", "ht.main", "10H"),
        can("C2", "ht.main", "chassis", "47µ"),
        two("R1", "ht.main", "ht.pre", "10k"),
        can("C3", "ht.pre", "chassis", "22µ"),
        part("D1", "diode", "anode=b.raw cathode=b.ac", ("1N4007",)),
        can("C4", "chassis", "b.raw", "47µ"),
        two("R2", "b.raw", "bias", "10k"),
        can("C5", "chassis", "bias", "47µ"),
        two("R3", "bias", "chassis", "47k"),
        part("J1", "connector", "tip=in sleeve=chassis"),
        two("R4", "in", "chassis", "1M"),
        two("C6", "in", "p.g", "22n"),
        two("R5", "p.g", "p.foot", "1M"),
        two("R6", "p.tail", "p.foot", "470R"),
        two("R7", "p.foot", "chassis", "22k"),
        two("R8", "p.h", "p.foot", "1M"),
        two("C7", "p.h", "chassis", "100n"),
        two("R9", "ht.pre", "p.a", "82k"),
        two("R10", "ht.pre", "p.b", "100k"),
        two("C8", "p.a", "g.a", "100n"),
        two("C9", "p.b", "g.b", "100n"),
        two("R11", "g.a", "bias", "220k"),
        two("R12", "g.b", "bias", "220k"),
        two("R13", "k.a", "chassis", "10R"),
        two("R14", "k.b", "chassis", "10R"),
        part("V1", "twin triode", v1 | {"heater.1": "h1", "heater.2": "h1", "heater_centre": "h2"}, ("ECC81",)),
        part("V2", "pentode", v2, ("EL34",)),
        part("V3", "pentode", v3, ("EL34",)),
        transformer("T2", "output transformer", *primaries, ("secondary", "8R", "spk", "chassis")),
        two("R15", "spk", "fb", "10k"),
        two("R16", "fb", "p.foot", "1k"),
        part("J2", "connector", "plus=spk minus=chassis", form="speaker"),
    ]


def op_amp_buffer() -> list[Component]:
    """Two op-amps on regulators for both polarities, from a centre-tapped winding and a bridge."""
    amp = "plus_supply=p15 minus_supply=n15"
    return [
        *mains(("low", "18 V", "ac.a", "chassis", "ac.b")),
        part("D1", "bridge", "ac1=ac.a ac2=ac.b plus=p.raw minus=n.raw"),
        can("C1", "p.raw", "chassis", "1000µ"),
        can("C2", "chassis", "n.raw", "1000µ"),
        part("U2", "regulator", "input=p.raw output=p15 common=chassis", ("15 V",)),
        part("U3", "negative regulator", "input=n.raw output=n15 common=chassis", ("15 V",)),
        can("C3", "p15", "chassis", "10µ"),
        can("C4", "chassis", "n15", "10µ"),
        part("J1", "connector", "tip=in sleeve=chassis"),
        two("C5", "in", "a.plus", "1µ"),
        two("R1", "a.plus", "chassis", "100k"),
        part("U1a", "op-amp", f"plus_input=a.plus minus_input=a.minus output=a.out {amp}"),
        two("R2", "a.out", "a.minus", "10k"),
        two("R3", "a.minus", "chassis", "1k"),
        two("R4", "a.out", "b.minus", "10k"),
        part("U1b", "op-amp", f"plus_input=chassis minus_input=b.minus output=b.out {amp}"),
        two("R5", "b.out", "b.minus", "10k"),
        two("C6", "b.out", "out", "10µ"),
        two("R6", "out", "chassis", "47k"),
        part("J2", "connector", "tip=out sleeve=chassis"),
    ]


def transistor_and_mosfet() -> list[Component]:
    """A stabilised supply with a MOSFET and breakdown diodes, transistor stages of both polarities, LED, lamp, neon."""
    return [
        *mains(("ht", "250 V", "s.a", "s.b"), ("heater", "6.3 V", "h.a", "chassis")),
        *(
            part(f"D{n}", "diode", f"anode={a} cathode={c}")
            for n, a, c in ((1, "s.a", "raw"), (2, "s.b", "raw"), (3, "chassis", "s.a"), (4, "chassis", "s.b"))
        ),
        can("C1", "raw", "chassis", "47µ"),
        part("Q1", "n-channel mosfet", "gate=gate drain=raw source=ht", ("IRF840",)),
        two("R1", "raw", "gate", "100k"),
        part("D5", "zener", "anode=chassis cathode=gate", ("200 V",)),
        can("C2", "ht", "chassis", "22µ"),
        two("R2", "ht", "n.a", "270k"),
        two("N1", "n.a", "chassis", "", "neon"),
        two("B1", "h.a", "chassis", "6.3 V", "lamp"),
        two("NTC1", "m.l", "m.x", "", "thermistor"),
        part(
            "V1", "triode", {"anode": "v.a", "grid": "v.g", "cathode": "v.k", "heater.1": "h.a", "heater.2": "chassis"}
        ),
        two("R3", "ht", "v.a", "47k"),
        part("D6", "diode", "anode=v.k cathode=chassis", (), None, "led"),
        part("J1", "connector", "tip=in sleeve=chassis"),
        part("RV1", "potentiometer", "top=in wiper=v.g bottom=chassis"),
        part("Q2", "npn transistor", "base=v.a collector=ht emitter=e"),
        two("R4", "e", "chassis", "33k"),
        part("Q3", "pnp transistor", "base=e collector=c emitter=ht"),
        two("R5", "c", "chassis", "10k"),
        two("C3", "c", "out", "1µ"),
        part("J2", "connector", "tip=out sleeve=chassis"),
        part("Q4", "p-channel mosfet", "gate=c drain=d source=ht"),
        two("R6", "d", "chassis", "10k"),
    ]


def battery_cascode() -> list[Component]:
    """Two triodes one upon the other on batteries, with a wire bridge and an end that is not wired yet."""
    v1 = triode("V1", "a", "mid", "in", "k") | triode("V1", "b", "top", "g2", "mid")
    return [
        part("B1", "battery", "plus=ht minus=chassis", ("90 V",)),
        part("B2", "dc supply", "plus=lt minus=chassis", ("6 V",)),
        two("S1", "ht", "ht.on", ""),
        can("C9", "ht.on", "chassis", "10µ"),
        part("V1", "twin triode", v1 | {"heater.1": "lt", "heater.2": "chassis"}, ("6DJ8",)),
        two("R1", "ht.on", "top", "22k"),
        two("R2", "ht.on", "g2", "470k"),
        two("R3", "g2", "chassis", "220k"),
        two("C1", "g2", "chassis", "100n"),
        two("R4", "k", "chassis", "470R"),
        two("C2", "src", "in", "100n"),
        two("R5", "in", "chassis", "1M"),
        two("C3", "top", "out", "1µ"),
        two("LK1", "out", "out.2", "", "link"),
        two("R6", "out.2", "", "1k"),
        two("R7", "out.2", "chassis", "100k"),
    ]


def cathodyne_push_pull() -> list[Component]:
    """A phase splitter with equal loads into two ultralinear output valves with screen resistors and one cathode
    resistor."""
    v1 = triode("V1", "a", "s.a", "in", "k1") | triode("V1", "b", "p.a", "p.g", "p.k")
    sides = []
    for n, out, tap, drive in ((2, "o.a", "ul.a", "d.a"), (3, "o.b", "ul.b", "d.b")):
        sides += [
            two(f"R{n}0", drive, "chassis", "470k"),
            two(f"R{n}1", drive, f"g{n}", "1k"),
            two(f"R{n}2", tap, f"s{n}", "100R"),
            part(f"V{n}", "pentode", {"anode": out, "screen": f"s{n}", "grid": f"g{n}", "cathode": "k"}, ("EL84",)),
        ]
    primaries = (
        ("primary a1", "", "o.a", "ul.a"),
        ("primary a2", "", "ul.a", "ht"),
        ("primary b2", "", "ht", "ul.b"),
        ("primary b1", "", "ul.b", "o.b"),
    )
    return [
        part("B1", "dc supply", "plus=ht minus=chassis"),
        part("J1", "connector", "tip=in sleeve=chassis"),
        part("V1", "twin triode", v1, ("ECC83",)),
        two("R1", "ht", "s.a", "100k"),
        two("R2", "k1", "chassis", "1k5"),
        two("C1", "s.a", "p.g", "22n"),
        two("R3", "p.g", "p.tap", "1M"),
        two("R4", "ht", "p.a", "56k"),
        two("R5", "p.k", "p.tap", "1k"),
        two("R6", "p.tap", "chassis", "56k"),
        two("C2", "p.a", "d.a", "100n"),
        two("C3", "p.k", "d.b", "100n"),
        *sides,
        two("R7", "k", "chassis", "130R"),
        can("C4", "k", "chassis", "220µ"),
        transformer("T1", "output transformer", *primaries, ("secondary", "8R", "spk", "chassis")),
        part("J2", "connector", "plus=spk minus=chassis", form="speaker"),
    ]


INVENTED = {
    "long-tailed push-pull": long_tailed_push_pull,
    "cathodyne push-pull": cathodyne_push_pull,
    "op-amp buffer": op_amp_buffer,
    "transistors and a MOSFET": transistor_and_mosfet,
    "battery cascode": battery_cascode,
}
