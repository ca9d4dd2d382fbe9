"""Valve bases against a list made apart from this project (bases.json: IEC 60067 bases, connections from memory of
makers' data sheets), and a thermistor's and a neon lamp's figures against equations solved here by scipy."""

import json
import math
import re
from pathlib import Path

import pytest
from scipy.optimize import brentq

from checks.circuit import Condition, inrush_currents, predict
from checks.circuit.valves.pinouts import PINS, published_pinout
from checks.circuit.valves.types import find_type
from tests.checks.circuit.kits import bench_supply, parts_of, resistor, transformer

BASES = json.loads((Path(__file__).parent / "bases.json").read_text())["types"]
WORDS = {"B9A noval": "B9A", "octal": "octal", "UX4": "UX4"}
NAMES = {"heater end": "heater", "heater": "heater", "filament": "heater", "heater centre": "heater_centre"}
NAMES |= {"grid 2": "screen", "grid 1": "grid", "grid 3": "grid_3"}  # of one section; two sections are told by numbers


def listed():
    """(type known here, its row of the list)"""
    for names, row in BASES.items():
        known = [find_type(name) for name in names.split() if find_type(name)]
        yield from ((type_["name"], row) for type_ in known if type_["name"] in published_pinout())


LISTED = dict(listed())


def wanted(row) -> dict[str, set[str]]:
    """Electrode -> its pins; the sections of a twin as anode.1, anode.2."""
    is_twin = "anode 2" in row["pins"].values()
    result: dict[str, set[str]] = {}
    for pin, text in row["pins"].items():
        for word in text.split(" and "):
            name = re.sub(r"(anode|grid|cathode) ([12])", r"\1.\2", word) if is_twin else NAMES.get(word, word)
            result.setdefault(NAMES.get(name, name), set()).add(pin)
    return result


@pytest.mark.parametrize("name", LISTED)
def test_a_valve_has_the_pins_that_the_list_gives_it(name):
    row, ours = wanted(LISTED[name]), published_pinout()[name]
    assert ours["base"] == WORDS[LISTED[name]["base"]]
    assert set(ours["heater"]) == row["heater"] and set(ours.get("heater_centre", ())) == row.get(
        "heater_centre", set()
    )
    if "anode.1" in row:
        electrodes = ("anode", "grid", "cathode")
        pairs = {tuple(min(row[f"{e}.{n}"]) for e in electrodes) for n in (1, 2)}
        assert {tuple(section[e][0] for e in electrodes) for section in ours["sections"]} == pairs
        return
    (section,) = ours["sections"]
    for electrode, pins in row.items():
        if electrode == "anode" and "anode_1" in section:
            assert set(section["anode_1"]) | set(section["anode_2"]) == pins
        elif electrode in section:
            assert set(section[electrode]) == pins


def test_every_type_with_a_published_base_is_held_to_the_list():
    assert set(published_pinout()) == set(LISTED)


def test_a_base_has_the_pins_that_iec_60067_counts():
    """B9A nine, B7G seven, octal, loctal and B8A eight, UX4 to UX7 as they are called (from memory)."""
    counts = {"B9A": 9, "B7G": 7, "octal": 8, "loctal": 8, "B8A": 8, "UX4": 4, "UX5": 5, "UX6": 6, "UX7": 7}
    assert {base: PINS[base] for base in counts} == counts
    assert all(int(pin) <= PINS[WORDS[row["base"]]] for row in BASES.values() for pin in row["pins"])


def thermistor():
    return {"ref": "TH1", "kind": "thermistor", "value": "120R", "ohms": "1.5R", "amps": "2 A"}


def test_the_inrush_is_the_highest_lines_peak_over_the_cold_ohms():
    """±10 % of IEC 60038: 253 V, its peak over 120 ohm and the primary's 30 ohm (Ohm's law)."""
    iron = transformer(("ht", "230 V", "100R", ("s.a", "chassis")), primary="30R")
    iron["winding"][0]["joins"] = ["mains.hot", "mains.neutral"]
    inlet = {"ref": "P1", "kind": "connector", "joins": {"live": "mains.live", "neutral": "mains.neutral"}}
    rows = [inlet, thermistor() | {"joins": ["mains.live", "mains.hot"]}, iron, resistor("R1", "s.a", "chassis", "10k")]
    (inrush,) = inrush_currents(parts_of(*rows), Condition())
    assert inrush.amps == pytest.approx(253 * math.sqrt(2) / 150, rel=0.01)
    assert inrush.without == pytest.approx(253 * math.sqrt(2) / 30, rel=0.01)


@pytest.mark.parametrize(("volts", "ohms", "load"), [(250, 220e3, 1e7), (300, 100e3, 2.2e5), (180, 47e3, 1e5)])
def test_a_lit_neon_stands_where_its_line_and_its_feed_meet(volts, ohms, load):
    """60 V and some kilohms of its own: by scipy's root of the node's equation, 2 kΩ (common practice) left open to
    three times as much."""
    rows = [
        *bench_supply(volts),
        resistor("R1", "ht", "n", f"{ohms:.0f}"),
        resistor("R2", "n", "chassis", f"{load:.0f}"),
    ]
    lamp = {"ref": "NE1", "kind": "neon", "value": "60 V", "joins": ["n", "chassis"]}
    (reading,) = predict(parts_of(*rows, lamp), Condition(), [("n", "chassis", "dc volts")])
    low, high = (
        brentq(lambda v, own=own: (volts - v) / ohms - v / load - max(v - 60, 0) / own, 1, volts) for own in (1e-3, 6e3)
    )
    assert low - 0.5 <= reading.value <= high + 0.5
