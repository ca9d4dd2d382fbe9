"""Which points a block is probably joined to: what the blocks before it have left, as far as that can be told."""

import re
from collections import Counter

from builds.guides.blocks.model import Block
from builds.guides.wiring.ends import list_ends
from checks.circuit.netlist.terminals import VALVES
from checks.errors import ChecksError
from checks.quantity import parse_quantity
from checks.serials import natural

# Ohms between a rail's points that a supply current still passes with few volts lost (common practice).
MOST_FOR_ANODES, MOST_FOR_SCREENS = 600, 4_700


def guess_points(block: Block, parts: list[dict], refs: dict[str, str]) -> dict[str, str]:
    """{ask: point or section} where something is known of it; what is left out keeps its usual name."""
    asks = {ask.name: ask.default for ask in block.asks}
    guess: dict[str, str] = {}
    if "section" in asks:
        guess["section"] = free_section(parts, refs.get("valve") or refs.get("valve_half", ""))
    if "input" in asks:
        guess["input"] = _input(asks["input"], parts)
    if "screen_rail" in asks:
        guess["rail"] = _rail_within(parts, MOST_FOR_ANODES)
        guess["screen_rail"] = _rail_within(parts, MOST_FOR_SCREENS)
    elif "rail" in asks and block.key != "rectifier":
        guess["rail"] = max(_rails(parts), default="")
    return {name: text for name, text in guess.items() if text}


def free_section(parts: list[dict], ref: str) -> str:
    """The first section of a twin triode whose anode is not wired yet."""
    row = next((row for row in parts if row["ref"] == ref), None)
    wired = {end.terminal for end in list_ends(row) if end.point} if row else set()
    return "b" if "a.anode" in wired and "b.anode" not in wired else ""


def _input(usual: str, parts: list[dict]) -> str:
    """The output of a stage that nothing follows yet; else the usual point where it is wired, or the last anode."""
    ends = Counter(end.point for row in parts for end in list_ends(row) if end.point)
    open_ = sorted((p for p, count in ends.items() if count == 1 and p.endswith(".out")), key=natural)
    if open_:
        return open_[-1]
    valves = {row["ref"].lower() for row in parts if row["kind"] in VALVES}  # "Rö1" of a German list too
    anodes = sorted((p for p in ends if p.endswith(".anode") and _guess_valve(p) & valves), key=natural)
    return anodes[-1] if usual not in ends and usual.endswith(".anode") and anodes else ""


def _guess_valve(point: str) -> set[str]:
    """ "v1a.anode" may be of section a of V1, or of a valve that is called V1a."""
    name = point.removesuffix(".anode")
    return {name, name[:-1]}


def _rails(parts: list[dict]) -> set[str]:
    """The points of the HT rail that a rectifier block has laid."""
    return {end.point for row in parts for end in list_ends(row) if re.fullmatch(r"ht\.\d", end.point)}


def _rail_within(parts: list[dict], most: float) -> str:
    """The last point of the rail before a smoothing resistor that is too large for this current."""
    rails = _rails(parts)
    rail = "ht.1" if "ht.1" in rails else ""
    for n in range(1, len(rails)):
        between = [row for row in parts if {end.point for end in list_ends(row)} == {f"ht.{n}", f"ht.{n + 1}"}]
        if not any(row["kind"] == "inductor" or _ohms(row) <= most for row in between):
            break
        rail = f"ht.{n + 1}"
    return rail


def _ohms(row: dict) -> float:
    try:
        ohms = parse_quantity(row.get("value", ""), "Ω").value if row["kind"] == "resistor" else None
    except ChecksError:
        ohms = None
    return float("inf") if ohms is None else ohms
