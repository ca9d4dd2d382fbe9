"""Heater windings by block: which valves share one, and the rectifier whose heater stands at the HT.

Pins: the makers' sheets of the GZ34 (cathode and heater at pin 8), 5Y3 (a filament) and EZ81 (pins of their own); that
the first two need a winding of their own is common practice.
"""

import pytest

from builds.guides.blocks import BLOCKS, place_block
from builds.guides.blocks.heater_guess import guess_heater
from builds.guides.blocks.transformer_guess import guess_transformer
from builds.guides.parts_import.columns import guess
from builds.guides.parts_import.sheet import read_text
from builds.guides.parts_import.table import read_table
from builds.guides.wiring.ends import list_ends
from checks.circuit import part_from_mapping
from checks.errors import ChecksError

LIST = "Ref;Value;Description\nT1;;Mains transformer 300-0-300 V 120 mA, 5 V 2 A\nV1;ECC83;\nV2;EL34;\nV3;{};\n"


def parts_with(rectifier):
    sheet = read_text(LIST.format(rectifier))
    return read_table(sheet.rows, *guess(sheet.rows)).parts


def place(parts, **said):
    block = BLOCKS["heaters"]
    asked = (
        {ask.name: ask.default for ask in block.asks}
        | guess_heater(parts)
        | {"mains": "230 V", "amps": "2 A", "ohms": "0.2R"}
        | said
    )
    return place_block(block, parts, {"transformer": "T1"}, {}, asked)


def ends(parts, ref):
    return {end.terminal: end.point for row in parts if row["ref"] == ref for end in list_ends(row)}


def test_a_rectifier_with_a_cathode_of_its_own_shares_the_winding():
    assert guess_heater(parts_with("EZ81"))["valves"] == "V1, V2, V3"


@pytest.mark.parametrize(("rectifier", "hot"), [("GZ34", "heater.2"), ("5Y3", "heater.1")])
def test_a_rectifier_whose_heater_is_its_cathode_gets_a_winding_of_its_own_at_the_ht(rectifier, hot):
    parts, errors = place(parts_with(rectifier), ground="side")
    assert not errors and not any(ends(parts, "V3").values())
    second = guess_heater(parts)
    assert (second["valves"], second["volts"], second["ground"], second["b"]) == ("V3", "5 V", "none", "ht.1")
    assert second["name"] == "heater2" and second["a"] == "heater2.a"
    parts, errors = place(parts)
    assert not errors
    result = ends(parts, "V3")
    assert result[hot] == "ht.1" and sorted((result["heater.1"], result["heater.2"])) == ["heater2.a", "ht.1"]


@pytest.mark.parametrize("rectifier", ["GZ34", "5Y3"])
@pytest.mark.parametrize(
    "said",
    [
        {"valves": "V1, V2, V3", "ground": "side"},
        {"valves": "V3", "ground": "side"},
        {"valves": "V3", "ground": "resistors"},
        {"valves": "V3", "ground": "centre"},
        {"valves": "V1, V3", "ground": "none"},
    ],
)
def test_the_ht_is_not_put_on_other_heaters_or_the_chassis(rectifier, said):
    before = parts_with(rectifier)
    parts, errors = place(before, **said)
    assert parts == before and [error.code for error in errors.values()] == ["heater-cathode"]


def test_a_cathode_that_is_wired_already_is_one_end_of_its_winding():
    parts = [
        row | ({"joins": {"anode_1": "ht.a", "anode_2": "ht.b", "cathode": "raw"}} if row["ref"] == "V3" else {})
        for row in parts_with("GZ34")
    ]
    parts, _errors = place(parts, ground="side")
    assert guess_heater(parts)["b"] == "raw"
    _parts, errors = place(parts, b="ht.1")
    assert [error.code for error in errors.values()] == ["heater-cathode"]
    parts, errors = place(parts)
    rows = [row for row in parts if row["ref"] == "V3"]
    assert not errors and all(part_from_mapping(row) for row in rows)


@pytest.mark.parametrize(
    ("note", "said"),
    [
        ("Mains transformer 300-0-300 V 120 mA, 5 V 2 A", {"volts": "300 V", "amps": "120 mA"}),
        ("Netztrafo 250-0-250V 90mA, 6,3V 1A", {"volts": "250 V", "amps": "90 mA"}),
        ("250V – 0 – 250V / 0,1 A", {"volts": "250 V", "amps": "0.1 A"}),
        ("300-0-300 V, 5 V 2 A", {"volts": "300 V"}),  # the amps are another winding's
        ("300-0-250 V 90 mA", {}),
        ("300-0-300 V or 250-0-250 V 90 mA", {}),
        ("6.3 V 2 A", {}),
    ],
)
def test_the_words_of_a_transformer_suggest_its_ht_winding_or_nothing(note, said):
    parts = [{"ref": "T1", "kind": "mains transformer", "note": note}]
    assert guess_transformer(parts, {"transformer": "T1"}) == said


def test_a_pin_that_is_heater_and_cathode_is_not_wired_to_two_points_by_hand():
    joins = {"anode_1": "ht.a", "anode_2": "ht.b", "cathode": "ht.1", "heater": ["heater.a", "heater.b"]}
    [row] = [row for row in parts_with("GZ34") if row["ref"] == "V3"]
    with pytest.raises(ChecksError):
        part_from_mapping(row | {"joins": joins})
