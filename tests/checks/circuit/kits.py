"""Small invented circuits as a guide's parts, for tests."""

import tomllib
from pathlib import Path

from checks.circuit import part_from_mapping

ROOT = Path(__file__).resolve().parents[3]
TWIN_PINS = {"a": {"anode": "6", "grid": "7", "cathode": "8"}, "b": {"anode": "1", "grid": "2", "cathode": "3"}}
DEMO = ROOT / "builds" / "guides" / "demo" / "five-watt" / "guide.toml"
PREAMP = DEMO.parents[1] / "line-preamp" / "guide.toml"


def demo_rows() -> list[dict]:
    return tomllib.loads(DEMO.read_text(encoding="utf-8"))["part"]


def guide(name: str) -> dict:
    return tomllib.loads((DEMO.parents[1] / name / "guide.toml").read_text(encoding="utf-8"))


def parts_of(*rows):
    return [part_from_mapping(row, line) for line, row in enumerate(rows, 1)]


def resistor(ref, a, b, value, tolerance="5%", **more):
    return {"ref": ref, "kind": "resistor", "value": value, "tolerance": tolerance, "joins": [a, b], **more}


def capacitor(ref, a, b, value="47u", volts="450 V"):
    return {"ref": ref, "kind": "electrolytic", "value": value, "volts": volts, "joins": [a, b]}


def diode(ref, anode, cathode):
    return {"ref": ref, "kind": "diode", "joins": {"anode": anode, "cathode": cathode}}


def transformer(*windings, regulation="0.0001%", primary="1e-6"):
    """windings: (name, volts, ohms, joins)."""
    rows = [{"name": "primary", "volts": "230 V", "ohms": primary, "joins": ["mains.live", "mains.neutral"]}]
    rows += [{"name": n, "volts": v, "amps": "100 mA", "ohms": o, "joins": list(j)} for n, v, o, j in windings]
    return {"ref": "T1", "kind": "mains transformer", "regulation": regulation, "winding": rows}


def triode(ref, anode, grid, cathode, type_="2A3", **more):
    return {
        "ref": ref,
        "kind": "triode",
        "type": type_,
        "base": "UX4",
        "joins": {"anode": anode, "grid": grid, "cathode": cathode},
        "pins": {"anode": "2", "grid": "3", "cathode": "1"},
        **more,
    }


def twin(ref, a, b, type_="ECC83", heater=(), **more):
    joins = {
        "a": dict(zip(("anode", "grid", "cathode"), a, strict=True)),
        "b": dict(zip(("anode", "grid", "cathode"), b, strict=True)),
    }
    if heater:
        joins |= {"heater": list(heater)}
    return {"ref": ref, "kind": "twin triode", "type": type_, "base": "B9A", "joins": joins, "pins": TWIN_PINS, **more}


def pentode(ref, anode, screen, grid, cathode, type_="EL84", **more):
    return {
        "ref": ref,
        "kind": "pentode",
        "type": type_,
        "base": "B9A",
        "joins": {"anode": anode, "screen": screen, "grid": grid, "cathode": cathode},
        "pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3"},
        **more,
    }


def bench_supply(volts: float, node="ht", ohms="1e-5"):
    """A supply so stiff that its node stands at `volts` within some millivolts (unless given more ohms): a bridge on a
    winding."""
    peak = (volts + 1.4) / 2**0.5
    return [
        transformer(("ht", f"{peak:.9f} V", ohms, ("s.a", "s.b"))),
        {"ref": "D1", "kind": "bridge", "joins": {"ac1": "s.a", "ac2": "s.b", "plus": node, "minus": "chassis"}},
        capacitor("C0", node, "chassis", "1000u"),
    ]


def preamp_rows() -> list[dict]:
    """A line preamplifier: ECC82 in two self-biased stages, EZ81 rectifier."""
    return [
        {
            "ref": "T1",
            "kind": "mains transformer",
            "regulation": "6%",
            "winding": [
                {"name": "primary", "volts": "230 V", "ohms": "60R", "joins": ["mains.live", "mains.neutral"]},
                {"name": "ht", "volts": "250 V", "amps": "40 mA", "ohms": "700R", "joins": ["ht.a", "chassis", "ht.b"]},
                {"name": "heater", "volts": "6.3 V", "amps": "2 A", "ohms": "0.15R", "joins": ["h.a", "h.b"]},
            ],
        },
        {
            "ref": "V2",
            "kind": "rectifier valve",
            "type": "EZ81",
            "base": "B9A",
            "joins": {"anode_1": "ht.a", "anode_2": "ht.b", "cathode": "ht.r", "heater": ["h.a", "h.b"]},
            "pins": {"anode_1": "1", "anode_2": "7", "cathode": "3", "heater": ["4", "5"]},
        },
        twin("V1", ("a1", "g1", "k1"), ("a2", "g2", "k2"), "ECC82")
        | {
            "joins": {
                "a": {"anode": "a1", "grid": "g1", "cathode": "k1"},
                "b": {"anode": "a2", "grid": "g2", "cathode": "k2"},
                "heater": ["h.a", "h.a"],
                "heater_centre": "h.b",
            },
            "pins": TWIN_PINS | {"heater": ["4", "5"], "heater_centre": "9"},
        },
        capacitor("C1", "ht.r", "chassis", "32u"),
        resistor("R1", "ht.r", "ht.s", "4k7", power="2W"),
        capacitor("C2", "ht.s", "chassis", "32u"),
        resistor("R2", "ht.s", "a1", "47k", power="1W"),
        resistor("R3", "k1", "chassis", "1k5"),
        resistor("R4", "g1", "chassis", "1M"),
        resistor("R5", "ht.s", "a2", "47k", power="1W"),
        resistor("R6", "k2", "chassis", "1k5"),
        resistor("R7", "g2", "chassis", "1M"),
        resistor("R8", "ht.r", "chassis", "220k", power="1W"),
        resistor("R9", "h.a", "chassis", "100R"),
        resistor("R10", "h.b", "chassis", "100R"),
    ]
