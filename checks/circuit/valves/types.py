"""The valves known by name: heaters, limits, published points and production spread, from the packaged data file."""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from checks.circuit.valves.fitted import FITTED
from checks.circuit.valves.koren import Koren, pentode_current, triode_current
from checks.errors import ChecksError
from checks.finite import refuse_unreal

DATA = Path(__file__).with_name("valve_points.json")
PAIRS = ("grid_anode", "grid_cathode", "anode_cathode")
USUAL_SPREAD = 0.30  # half-range of anode current between new valves where no sheet states one (common practice)


@dataclass(frozen=True)
class Heater:
    """Rated volts and amps of the whole heater; `centre` when its two halves meet at a pin (volts are one half's)."""

    volts: float
    amps: float
    centre: bool = False

    def __post_init__(self):
        refuse_unreal(self, "volts", "amps", above=0)


@cache
def data() -> dict:
    return json.loads(DATA.read_text(encoding="utf-8"))


@cache
def _names() -> dict[str, list[tuple[str, str]]]:
    """Every name in capitals -> [(group, the name it is filed under)]: two where a bulb holds two systems."""
    names: dict[str, list[tuple[str, str]]] = {}
    for group in ("valves", "rectifiers"):
        for name, row in data()[group].items():
            for alias in row["aka"]:
                names.setdefault(alias.upper(), []).append((group, name))
    return names


def _plain(type_: str) -> str:
    return type_.strip().upper().replace("-", "")


def find_type(type_: str, kind: str = "") -> dict | None:
    """The row of a type by any of its names; None when it is not known. Of a bulb that holds two systems it is the one
    of this `kind`, else the pentode's, with which the heater is listed."""
    rows = [data()[group][name] | {"name": name, "group": group} for group, name in _names().get(_plain(type_), ())]
    return next((row for row in rows if row.get("kind") == kind), rows[0] if rows else None)


def find_koren(type_: str, own: dict, kind: str = "") -> Koren:
    """A guide's own parameters, else the ones fitted here. Raises ChecksError for an unknown type or a wrong set."""
    if own:
        try:
            return Koren(**own)
        except TypeError as error:
            raise ChecksError(
                "A valve's own model takes mu, ex, kg1, kp, kvb and, as needed, vct, kg2, exs and fall.",
                argument="model",
                code="valve-parameters",
            ) from error
    row = find_type(type_, kind)
    if not row or row["name"] not in FITTED:
        raise ChecksError(
            f"No model of a {type_} is known here; give the part a model of its own, or use one of "
            f"{', '.join(known_types())}.",
            argument="type",
            code="unknown-valve",
            type=type_,
            types=known_types(),
        )
    return Koren(**FITTED[row["name"]])


def known_types() -> list[str]:
    """Every type with a model, by the name it is sold under: the two systems of one bulb are one type."""
    return list(dict.fromkeys(name.split()[0] for name in FITTED))


def find_heater(type_: str, own: dict | None = None) -> Heater | None:
    """The heater of a type, None when it is not known and `own` limits do not give heater_volts and heater_amps."""
    if own and "heater_volts" in own and "heater_amps" in own:
        return Heater(own["heater_volts"], own["heater_amps"], bool(own.get("heater_centre")))
    row = find_type(type_) or {}
    # Types made for series heaters, such as PCL82, are their E sisters but for the heater; None where it is not known.
    heater = row.get("heaters", {}).get(_plain(type_), row.get("heater"))
    return Heater(*(heater[k] for k in ("volts", "amps", "centre"))) if heater else None


def is_spread_published(type_: str) -> bool:
    """Does a sheet state acceptance limits of the type's anode current?"""
    return bool((find_type(type_) or {}).get("spread"))


@cache
def find_spread(type_: str) -> tuple[float, float]:
    """(minus, plus): how far anode current at fixed voltages falls and rises among new valves, as shares of the model's
    own.

    From the sheet's acceptance limits at its test point, else the usual ±30 %.
    """
    row = (find_type(type_) or {}).get("spread")
    if not row:
        return USUAL_SPREAD, USUAL_SPREAD
    koren = find_koren(type_, {})
    if koren.kg2:
        (amps, *_), _ = pentode_current(koren, float(row["va"]), float(row["vg2"]), float(row["vg1"]))
    else:
        amps, *_ = triode_current(koren, float(row["va"]), float(row["vg1"]))
    return 1 - row["lo"] / float(amps), row["hi"] / float(amps) - 1


@dataclass(frozen=True)
class Capacitances:
    """Between electrodes of one section, in F, without socket and wiring."""

    grid_anode: float
    grid_cathode: float
    anode_cathode: float

    def __post_init__(self):
        refuse_unreal(self, "grid_anode", "grid_cathode", "anode_cathode", least=0)


def find_capacitances(type_: str, own: dict, kind: str = "") -> Capacitances | None:
    """A guide's own (limits grid_anode_picofarads and so on), else the type's; None where neither is known. A pentode's
    input capacitance counts to the cathode, and so does its output's."""
    row = (find_type(type_, kind) or {}).get("capacitances", {})
    picofarads = {name: own.get(f"{name}_picofarads", row.get(f"{name}_picofarads")) for name in PAIRS}
    return None if None in picofarads.values() else Capacitances(*(1e-12 * picofarads[name] for name in PAIRS))


def find_limits(type_: str, own: dict, kind: str = "") -> dict:
    """Limits with their rating system (IEC 60134): the guide's own where given, else the first listed for the type."""
    row = find_type(type_, kind)
    listed = row["limits"][0] if row and row["group"] == "valves" else {}
    return {"system": "design centre"} | {k: v for k, v in listed.items() if k not in ("of", "sureness")} | own
