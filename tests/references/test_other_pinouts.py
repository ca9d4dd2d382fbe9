"""Pins of valve types without a model, against facts from outside the data file: which pins a base leaves to the heater
(RETMA base diagrams, from memory), and the list of bases made apart from this project (bases.json)."""

import json
from pathlib import Path

import pytest

from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.valve_book import book_types, valve_keys
from checks.circuit.netlist.terminals import EXTRA, SECTIONS
from checks.circuit.valves.pinouts import PINS, find_pinout, other_pinouts, published_pinout, shared_bulbs
from checks.circuit.valves.types import data, find_type

WITHOUT_PINS = {"EL95", "6DL5"}  # pins not known for sure
BASES = json.loads((Path(__file__).parent / "bases.json").read_text())["types"]
# RETMA diagrams: (base, heater, cathode, anode) of the first section, written here from memory.
DIAGRAMS = {
    "9AJ": ("B9A", {"4", "5"}, {"8"}, {"6"}),
    "9A": ("B9A", {"4", "5"}, {"8"}, {"6"}),
    "9H": ("B9A", {"4", "5"}, {"6"}, {"9"}),  # the heater's centre is on 8
    "8BD": ("octal", {"7", "8"}, {"6"}, {"5"}),
    "6Q": ("octal", {"2", "7"}, {"8"}, {"3"}),
    "9CQ": ("B9A", {"4", "5"}, {"3"}, {"6"}),
    "7BK": ("B7G", {"3", "4"}, {"7"}, {"5"}),
    "7BZ": ("B7G", {"3", "4"}, {"2"}, {"5"}),
    "7AC": ("octal", {"2", "7"}, {"8"}, {"3"}),
    "5BS": ("B7G", {"3", "4"}, {"7"}, {"1", "6"}),
    "6S": ("octal", {"2", "7"}, {"8"}, {"3", "5"}),
    "5L": ("octal", {"2", "8"}, {"8"}, {"4", "6"}),
    "5T": ("octal", {"2", "8"}, {"2", "8"}, {"4", "6"}),
    "4C": ("UX4", {"1", "4"}, {"1", "4"}, {"2", "3"}),
    "4D": ("UX4", {"1", "4"}, {"1", "4"}, {"2"}),
}


@pytest.mark.parametrize("name", sorted({row["name"] for row in other_pinouts().values()}))
def test_the_pins_lie_on_the_base_and_each_electrode_has_its_own(name):
    row = find_pinout(name)
    assert row["kind"] in SECTIONS and set(row["aka"]) >= {name}
    needed = {e for names in SECTIONS[row["kind"]].values() for e in names}
    places = [pins for section in row["sections"] for pins in section.values()] + [row["heater"]]
    assert all(0 < int(pin) <= PINS[row["base"]] for pins in places for pin in pins)
    assert len(row["heater"]) == 2 and len(row["sections"]) == len(SECTIONS[row["kind"]])
    for section in row["sections"]:
        assert needed <= set(section) <= needed | set(EXTRA[row["kind"]])
        assert not {*section.get("grid", ())} & {*section.get("anode", ()), *section["cathode"], *row["heater"]}


@pytest.mark.parametrize("diagram", DIAGRAMS)
def test_the_pins_are_those_of_the_base_diagram(diagram):
    rows = [row for row in other_pinouts().values() if row["diagram"] == diagram]
    assert rows
    base, heater, cathode, anode = DIAGRAMS[diagram]
    for row in rows:
        first = row["sections"][0]
        assert (row["base"], set(row["heater"]), set(first["cathode"])) == (base, heater, cathode)
        assert set(first.get("anode") or first["anode_1"]) == anode


def test_types_that_the_list_of_bases_has_too_have_its_pins():
    listed = {name: row["pins"] for names, row in BASES.items() for name in names.split() if name in other_pinouts()}
    assert set(listed) == {"6SL7"}
    for name, pins in listed.items():
        row = other_pinouts()[name]
        assert {pin for pin, text in pins.items() if "heater" in text} == set(row["heater"])
        anodes = {pin for section in row["sections"] for pin in section["anode"]}
        assert {pin for pin, text in pins.items() if text.startswith("anode")} == anodes


def test_no_type_is_in_both_books_and_no_name_is_a_figure_or_a_reference():
    names = other_pinouts()
    assert not [name for name in names if (find_type(name) or {"name": ""})["name"] in published_pinout()]
    assert not [name for name in {*names, *book_types()} if name.isdigit() and len(name) < 4]
    assert not [name for name in names if name.startswith(("R", "C1", "V", "D", "T", "L", "S"))]


def test_a_rectifier_valve_that_no_model_is_known_of_comes_with_its_pins():
    assert valve_keys("ez90") == {
        "kind": "rectifier valve",
        "base": "B7G",
        "pins": {"anode_1": "1", "anode_2": "6", "cathode": "7", "heater": ["3", "4"]},
    }
    assert valve_keys("E88CC")["kind"] == "twin triode"
    assert not valve_keys("EF99") and not valve_keys("")


@pytest.mark.parametrize("name", sorted(data()["valves"]))
def test_a_type_with_a_model_comes_with_as_many_systems_as_its_pins_have(name):
    """A twin without pins would be taken for a single triode, and half of it left out of the circuit."""
    row = data()["valves"][name]
    for alias in row["aka"]:
        sheet = find_pinout(alias, row["kind"])
        assert sheet or alias in WITHOUT_PINS, alias
        keys = valve_keys(alias) if alias not in shared_bulbs() else {}
        assert not keys or (keys["kind"] == "twin triode") == bool(sheet and len(sheet["sections"]) == 2)


def test_a_column_of_such_types_is_known_as_one():
    assert guess((("V1", "EF86"), ("V2", "E88CC"), ("V3", "6X4")))[0] == ["ref", "type"]


@pytest.mark.parametrize("name", shared_bulbs())
def test_the_two_systems_of_a_bulb_have_all_nine_pins_between_them(name):
    """Nine electrodes with the heater's two ends: a B9A base has none to spare (IEC 60067 counts them)."""
    row = shared_bulbs()[name]
    pins = [*row["triode"].values(), *row["pentode"].values(), *row["heater"]]
    assert sorted(pins) == [str(n) for n in range(1, 10)] and row["base"] == "B9A"
