"""Mistakes of a parts list, each found and named by part and line before anything is solved."""

import json

import pytest

from checks.circuit import circuit_errors, part_from_mapping, parts_list_warnings
from checks.circuit.valves.pinouts import PINS, published_pinout
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, parts_of, resistor


def link(ref, a, b, kind="link"):
    return {"ref": ref, "kind": kind, "joins": [a, b]}


def said(*rows, kit=kits.preamp_rows):
    return [str(e) for e in circuit_errors(parts_of(*kit(), *rows))]


def wondered(*rows, kit=kits.preamp_rows):
    return [str(e) for e in parts_list_warnings(parts_of(*kit(), *rows))]


def changed(ref, **more):
    return [r | more if r["ref"] == ref else r for r in kits.preamp_rows()]


def pinned(**pins):
    old = next(r for r in kits.preamp_rows() if r["ref"] == "V1")["pins"]
    return changed("V1", pins=old | {"a": old["a"] | pins})


LINES = len(kits.preamp_rows())


@pytest.mark.parametrize("kit", [kits.preamp_rows, kits.demo_rows])
def test_a_sound_kit_has_neither_mistakes_nor_doubts(kit):
    assert said(kit=kit) == wondered(kit=kit) == []


@pytest.mark.parametrize(
    ("a", "b", "text"),
    [
        ("ht.s", "chassis", r"C2 (line 6): joins are one wire: ht.s and chassis are joined, by L9"),
        ("ht.a", "ht.b", "T1 (line 1): winding ht: joins are one wire: ht.a and ht.b are joined, by L9"),
        ("h.a", "h.b", "T1 (line 1): winding heater: joins are one wire"),
        ("mains.live", "mains.neutral", "T1 (line 1): winding primary: joins are one wire"),
        ("mains.live", "chassis", "T1 (line 1): winding primary: joins put the mains on the chassis: mains.live"),
        ("mains.live", "h.a", "T1 (line 1): winding primary: joins put the mains on h.a"),
    ],
)
def test_a_link_that_shorts_a_supply_or_puts_the_mains_on_the_chassis_is_named(a, b, text):
    result = said(link("L9", a, b))
    assert result and result[0].startswith(text)
    assert all("fed by nothing" not in f for f in result)  # what follows from the short is not told again


def two_primaries():
    """A mains transformer whose primary is wound in halves, joined by a link for 230 V."""
    rows = kits.preamp_rows()
    iron = next(row for row in rows if row["ref"] == "T1")
    first = next(w for w in iron["winding"] if w["name"] == "primary")
    half = {**first, "joins": ["mains.live", "mains.middle"]}
    other = {**first, "name": "primary 2", "joins": ["mains.second", "mains.neutral"]}
    rest = [w for w in iron["winding"] if w is not first]
    return [row | {"winding": [half, other, *rest]} if row is iron else row for row in rows]


def test_every_half_of_a_primary_is_the_mains():
    assert said(link("L9", "mains.middle", "mains.second"), kit=two_primaries) == []
    for wire in (link("L9", "mains.second", "chassis"), link("L9", "mains.second", "h.a")):
        assert any("put the mains on" in error for error in said(wire, kit=two_primaries))
    leak = resistor("R99", "mains.second", "chassis", "100k")
    assert any("DC path from the mains" in warning for warning in wondered(leak, kit=two_primaries))


def test_a_short_through_switch_and_fuse_is_found_on_the_mains_but_a_switch_across_a_capacitor_may_be_meant():
    way = [link("S1", "mains.inlet", "mains.live", "switch"), link("L9", "mains.inlet", "mains.neutral")]
    assert "by S1 and L9" in said(*way)[0]
    assert said(link("S9", "ht.s", "ht.r", "switch")) == []


def test_an_island_of_two_parts_is_named_once_and_a_connector_makes_it_none():
    rows = [resistor("R90", "x", "y", "10k"), resistor("R91", "x", "y", "10k")]
    (reported,) = said(*rows)
    assert reported.startswith(f"R90 (line {LINES + 1}): joins lead nowhere: R90 and R91 are joined to each other")
    assert said(*rows, {"ref": "J9", "kind": "connector", "joins": {"tip": "x", "sleeve": "y"}}) == []


def test_an_anode_that_no_supply_reaches_is_named_and_a_valve_on_a_negative_supply_is_none():
    rows = changed("R2", joins=["chassis", "a1"])
    assert said(kit=lambda: rows) == [
        "V1 (line 3): joins.a.anode is fed by nothing: no DC path leads from a supply to node a1."
    ]
    negative = [
        kits.transformer(("ht", "250 V", "100R", ("w", "chassis"))),
        kits.diode("D1", "n", "w"),
        capacitor("C1", "chassis", "n"),
        kits.triode("V1", "chassis", "g", "k"),
        resistor("R1", "k", "n", "10k"),
        resistor("R2", "g", "n", "1M"),
    ]
    assert not [f for f in said(kit=lambda: negative) if "fed by nothing" in f]


def test_the_loose_end_of_a_closed_switch_is_named_unless_a_check_reads_there():
    rows = parts_of(*kits.preamp_rows(), link("S1", "ht.s", "ht.tset", "switch"))
    assert [str(e) for e in circuit_errors(rows)] == [
        f"S1 (line {LINES + 1}): joins.b is alone at node ht.tset: nothing else joins it."
    ]
    assert circuit_errors(rows, named=frozenset({"ht.tset"})) == []


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        (pinned(anode="12"), "V1 (line 3): pins.a.anode is pin 12; the base B9A has pins 1 to 9."),
        (changed("V2", pins={}), "V2 (line 2): pins are missing"),
        (
            changed("V2", pins={"anode_1": "1", "cathode": "3", "heater": ["4", "5"]}),
            "V2 (line 2): pins.anode_2 is missing",
        ),
    ],
)
def test_pins_that_are_missing_or_that_the_base_has_not_are_named(rows, text):
    assert said(kit=lambda: rows)[0].startswith(text)


def test_pins_unlike_the_published_ones_are_a_doubt_and_sections_may_be_called_either_way():
    assert wondered(kit=lambda: pinned(grid="8", cathode="7")) == [
        "V1 (line 3): pins differ from those published for the ECC82: a.grid is pin 8, published 7; "
        "a.cathode is pin 7, published 8."
    ]
    swapped = changed(
        "V1", pins={"a": kits.TWIN_PINS["b"], "b": kits.TWIN_PINS["a"], "heater": ["4", "5"], "heater_centre": "9"}
    )
    assert wondered(kit=lambda: swapped) == []
    assert "published with the base B9A" in wondered(kit=lambda: changed("V2", base="octal"))[0]


def test_the_published_pins_lie_on_their_bases_and_no_two_electrodes_of_a_triode_share_one():
    """Outside fact: a noval or octal heater stands on its two pins alone (IEC 60067 bases; connections as the data file
    says)."""
    for name, row in published_pinout().items():
        pins = [p for s in row["sections"] for places in s.values() for p in places] + row["heater"]
        assert all(1 <= int(p) <= PINS[row["base"]] for p in pins), name
        for section in row["sections"]:
            if set(section) == {"anode", "grid", "cathode"}:
                assert len({json.dumps(p) for p in section.values()}) == 3, name


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        (
            [capacitor("C90", "ht.r", "x"), capacitor("C91", "x", "chassis")],
            "leave node x without DC: only C90 and C91",
        ),
        ([resistor("R90", "mains.live", "chassis", "1M")], "have a DC path from the mains (mains.live) to the chassis"),
    ],
)
def test_what_may_be_meant_is_a_doubt(rows, text):
    assert said(*rows) == []
    assert text in " ".join(wondered(*rows))


def test_heaters_that_hang_at_no_voltage_and_a_winding_with_one_end_loose_are_doubts():
    rows = [r for r in kits.preamp_rows() if r["ref"] not in ("R9", "R10")]
    assert "winding heater: joins have no DC path to chassis" in wondered(kit=lambda: rows)[0]
    v2 = next(r for r in kits.preamp_rows() if r["ref"] == "V2")
    rows = changed("V2", joins=v2["joins"] | {"anode_2": "ht.a"})
    assert "winding ht: joins leave the end at ht.b loose" in wondered(kit=lambda: rows)[0]


def test_a_resistor_on_one_node_twice_is_refused():
    assert "joins node ht.s to itself" in said(resistor("R90", "ht.s", "ht.s", "10k"))[0]
    assert part_from_mapping(resistor("R90", "ht.s", "ht.s", "10k")).ref == "R90"  # as a part alone it can be read


def test_a_rectifier_the_wrong_way_round_is_named_and_sound_rectifiers_are_not():
    supply = [
        kits.transformer(("ht", "250 V", "100R", ("a", "chassis", "b"))),
        capacitor("C1", "p", "chassis"),
        resistor("R1", "p", "chassis", "10k"),
        kits.diode("D1", "a", "p"),
    ]
    reported = [str(e) for e in circuit_errors(parts_of(*supply, kits.diode("D2", "p", "b")))]
    assert reported[0].startswith(
        "D1 (line 4): joins are the wrong way round somewhere: D1 and D2 pass current from a to b, ends of T1's"
    )
    assert circuit_errors(parts_of(*supply, kits.diode("D2", "b", "p"))) == []
    doubler = [
        kits.transformer(("ht", "100 V", "10R", ("w", "x"))),
        kits.diode("D1", "w", "p"),
        kits.diode("D2", "chassis", "w"),
        capacitor("C1", "p", "x"),
        capacitor("C2", "x", "chassis"),
        resistor("R1", "p", "chassis", "10k"),
    ]
    bridge = [
        kits.transformer(("ht", "100 V", "10R", ("a", "b"))),
        kits.diode("D1", "a", "p"),
        kits.diode("D2", "b", "p"),
        kits.diode("D3", "chassis", "a"),
        kits.diode("D4", "chassis", "b"),
        capacitor("C1", "p", "chassis"),
        resistor("R1", "p", "chassis", "10k"),
    ]
    assert circuit_errors(parts_of(*doubler)) == circuit_errors(parts_of(*bridge)) == []
    turned = [r | ({"joins": {"anode": "p", "cathode": "b"}} if r["ref"] == "D2" else {}) for r in bridge]
    assert any("wrong way round" in str(e) for e in circuit_errors(parts_of(*turned)))
