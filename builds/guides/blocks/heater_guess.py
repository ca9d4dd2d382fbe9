"""What the form of a heater winding suggests: the valves that still need one, its volts, and names nothing else has."""

from builds.guides.wiring.ends import list_ends
from checks.circuit.netlist.terminals import VALVES, is_heater
from checks.circuit.valves.types import find_heater

USUAL = 6.3  # volts


def tied_pin(row: dict) -> int | None:
    """Which end of a valve's heater, 0 or 1, is at the pin of its cathode; None where they have pins of their own. The
    heater of such a rectifier stands at the HT."""
    pins = row.get("pins") or {}
    if row["kind"] != "rectifier valve" or not pins.get("heater") or not pins.get("cathode"):
        return None
    heater = [str(pin) for pin in pins["heater"]]
    return heater.index(str(pins["cathode"])) if str(pins["cathode"]) in heater else None


def guess_heater(parts: list[dict]) -> dict[str, str]:
    """{ask: what to suggest}. A rectifier whose heater is its cathode comes by itself, after the others."""
    waiting = [row for row in parts if _waits(row)]
    ordinary = [row for row in waiting if tied_pin(row) is None]
    chosen = [row for row in ordinary if _volts(row) == _volts(ordinary[0])] if ordinary else waiting[:1]
    guess = _names(parts) | {"valves": ", ".join(row["ref"] for row in chosen)}
    if chosen:
        guess["volts"] = f"{_volts(chosen[0]):g} V"
    if chosen and not ordinary:
        cathode = next((end.point for end in list_ends(chosen[0]) if end.terminal == "cathode"), "")
        guess |= {"ground": "none", "b": cathode or "ht.1"}
    return guess


def _waits(row: dict) -> bool:
    return (
        row["kind"] in VALVES
        and bool((row.get("pins") or {}).get("heater"))
        and not any(end.point for end in list_ends(row) if is_heater(end.terminal))
    )


def _volts(row: dict) -> float:
    """The volts at which the valve's heater is fed: of a double heater, those of one half."""
    heater = find_heater(row.get("type", ""), row.get("limits"))
    return heater.volts if heater else USUAL


def _names(parts: list[dict]) -> dict[str, str]:
    points = {end.point for row in parts for end in list_ends(row)}
    windings = {winding.get("name") for row in parts for winding in row.get("winding") or ()}
    names = ("heater", *(f"heater{n}" for n in range(2, 20)))
    name = next(name for name in names if name not in windings and not {f"{name}.a", f"{name}.b"} & points)
    return {"name": name, "a": f"{name}.a", "b": f"{name}.b"}
