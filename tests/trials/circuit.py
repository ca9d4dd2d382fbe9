"""A kit's parts as a guide file lists them, made into parts that can be scattered, spoiled and solved."""

import copy
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from tests.trials.figures import figure, percent

GUIDES = Path(__file__).parent / "guides"
KITS = ("twin-twelve", "evening-six", "steady-line")
LATER = (
    "lone-six",
    "hall-thirty",
    "groove-eight",
    "bench-fifteen",
    "held-groove",
)  # written after the method was mended by the rest
FURTHER = ("parlour-three", "bridge-line", "fixed-twenty")  # whose builds nothing was mended by
LAST = (
    "lantern-ten",
    "barn-fifteen",
    "harbour-twelve",
)  # looked at once each, when the method was done
VALVES = ("triode", "twin triode", "pentode", "rectifier valve")
OPEN = 1e11  # ohms of nothing at all


@dataclass
class Part:
    """`at` names the node of each terminal; `is_` holds the electrical values, which scatter and faults change."""

    ref: str
    kind: str
    at: dict
    is_: dict
    row: dict


@dataclass
class Circuit:
    parts: dict[str, Part]
    bridges: list = field(default_factory=list)  # (node, node, ohms) that no guide knows of
    stage_of: dict = field(default_factory=dict)  # ref -> number of the stage that fits it
    earth: float = 0.15  # ohms from the plug's earth pin to the chassis

    def copy(self):
        return copy.deepcopy(self)

    def split(self, ref: str, terminal: str, ohms: float) -> None:
        """Put a joint of so many ohms between a terminal and its node."""
        part = self.parts[ref]
        inner = f"{part.at[terminal]}~{ref}.{terminal}"
        self.bridges.append((inner, part.at[terminal], ohms))
        part.at[terminal] = inner


def load(kit: str) -> dict:
    """The guide file as data."""
    return tomllib.loads((GUIDES / f"{kit}.toml").read_text())


def circuit_of(guide: dict) -> Circuit:
    """The circuit of a guide with every part at its nominal value."""
    parts = {row["ref"]: Part(row["ref"], row["kind"], _terminals(row), _values(row), row) for row in guide["part"]}
    fitted = {}
    for n, stage in enumerate(guide["stage"]):
        for step in stage.get("step", []):
            for ref in step.get("parts", []):
                fitted.setdefault(ref, n)
    return Circuit({r: p for r, p in parts.items() if p.is_ or p.kind in VALVES}, stage_of=fitted)


def _terminals(row) -> dict:
    if "winding" in row:
        return {f"{w['name']}.{n}": node for w in row["winding"] for n, node in enumerate(w["joins"])}
    joins = row.get("joins", {})
    if isinstance(joins, list):
        return {str(n): node for n, node in enumerate(joins)}
    flat = {k: v for k, v in joins.items() if isinstance(v, str)}
    return (
        flat
        | {f"{k}.{n}": node for k, v in joins.items() if isinstance(v, list) for n, node in enumerate(v)}
        | {f"{k}.{s}": node for k, v in joins.items() if isinstance(v, dict) for s, node in v.items()}
    )


def _values(row) -> dict:
    kind = row["kind"]
    if kind in ("resistor", "potentiometer", "test resistor"):
        return {"ohms": figure(row["value"]), "setting": row.get("setting", 0.5)}
    if kind in ("capacitor", "electrolytic"):
        big = kind == "electrolytic"
        return {"farads": figure(row["value"]), "leak": 2e8 if big else 1e11, "reversed": False}
    if kind == "inductor":
        return {"henries": figure(row["value"]), "ohms": figure(row["ohms"])}
    if kind == "diode":
        return {"reversed": False, "ohms": 0.0, "leak": 1e10}
    if kind == "zener":
        return {"volts": figure(row["value"]), "reversed": False, "ohms": 0.0, "leak": 1e10}
    if kind == "regulator":
        return {"volts": figure(row["value"])}
    if kind in ("fuse", "switch"):
        return {"ohms": figure(row["ohms"]) if "ohms" in row else 0.2 if kind == "fuse" else 0.02}
    if kind in ("mains transformer", "output transformer"):
        lift = 1 + percent(row["regulation"]) if "regulation" in row else 1.0
        return {"coils": [coil for w in row["winding"] for coil in _coils(w, lift)]}
    if kind in VALVES:
        sections = 2 if kind in ("twin triode", "rectifier valve") else 1
        return {
            "strength": [1.0] * sections,
            "mu": [1.0] * sections,
            "gas": [0.0] * sections,
            "heater": [True] * sections,
        }
    return {}


def _coils(winding: dict, lift: float) -> list[dict]:
    """A winding with a tap is two coils of the same volts, sharing its ohms."""
    n = len(winding["joins"]) - 1
    volts = figure(winding["volts"]) if "volts" in winding else 0.0
    up = 1.0 if winding["name"] == "primary" else lift
    return [
        {"name": winding["name"], "from": k, "volts": volts * up, "ohms": figure(winding["ohms"]) / n} for k in range(n)
    ]
