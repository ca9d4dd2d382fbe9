"""Each mistake of a parts list by its code, made in a sound kit one at a time, with its siblings that are none."""

import pytest

from checks.circuit import HOPELESS, SHORTS, circuit_errors, part_from_mapping, parts_list_errors, parts_list_warnings
from checks.circuit.validation.connectivity import is_unused
from checks.circuit.validation.shorts import find_shortest_path
from checks.circuit.valves.pinouts import PINS, find_pinout, has_cap, is_pin_of, is_shared_bulb, plain_base
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer, triode

LINK, SWITCH, FUSE = "link", "switch", "fuse"


def wire(a, b, kind=LINK, ref="W1"):
    return {"ref": ref, "kind": kind, "joins": [a, b]} | ({"value": "1 A"} if kind == FUSE else {})


def kit(*more, without=(), **changed):
    """The preamplifier with parts added, left out, or with other entries: V1={"pins": …}."""
    rows = [row | changed.get(row["ref"], {}) for row in kits.preamp_rows() if row["ref"] not in without]
    return parts_of(*rows, *more)


def errors(*more, **how):
    return {(e.params["ref"], e.code) for e in circuit_errors(kit(*more, **how))}


def doubts(*more, **how):
    return {(e.params["ref"], e.code) for e in parts_list_warnings(kit(*more, **how))}


def row_of(ref):
    return next(row for row in kits.preamp_rows() if row["ref"] == ref)


def with_joins(ref, **nodes):
    return {ref: {"joins": row_of(ref)["joins"] | nodes}}


def test_a_sound_kit_has_no_error_and_no_doubt():
    assert errors() == doubts() == set()


@pytest.mark.parametrize("kind", [LINK, SWITCH, FUSE])
@pytest.mark.parametrize(
    "ends", [("ht.a", "ht.b"), ("ht.a", "chassis"), ("h.a", "h.b"), ("mains.live", "mains.neutral")]
)
def test_a_wire_across_a_winding_is_a_short_whatever_it_is_made_of(kind, ends):
    assert ("T1", "winding-shorted") in errors(wire(*ends, kind))
    assert ("T1", "winding-shorted") in errors(wire(*ends[::-1], kind))


def test_a_short_by_way_of_several_wires_names_them_all():
    (short,) = [e for e in circuit_errors(kit(wire("ht.a", "x"), wire("x", "y", FUSE, "W2"), wire("y", "ht.b", SWITCH,
                "W3"))) if e.code == "winding-shorted"]  # fmt: skip
    assert short.params["by"] == ["W1", "W2", "W3"] and short.params["winding"] == "ht"


def test_a_wire_across_a_smoothing_capacitor_is_a_short_and_a_switch_there_may_be_meant():
    assert ("C2", "capacitor-shorted") in errors(wire("ht.s", "chassis"))
    for kind in (SWITCH, FUSE):
        assert not {code for _ref, code in errors(wire("ht.s", "chassis", kind))} & {"capacitor-shorted"}


@pytest.mark.parametrize("make", [
    lambda: resistor("X1", "ht.s", "ht.s", "1k"),
    lambda: capacitor("X1", "ht.s", "ht.s"),
    lambda: diode("X1", "ht.s", "ht.s"),
    lambda: wire("ht.s", "ht.s", ref="X1"),
    lambda: wire("ht.s", "ht.s", FUSE, "X1"),
    lambda: {"ref": "X1", "kind": "lamp", "ohms": "10R", "joins": ["ht.s", "ht.s"]},
    lambda: {"ref": "X1", "kind": "inductor", "value": "1H", "ohms": "10R", "joins": ["ht.s", "ht.s"]},
    lambda: {"ref": "X1", "kind": "zener", "value": "10 V", "joins": {"anode": "ht.s", "cathode": "ht.s"}},
    lambda: {"ref": "X1", "kind": "neon", "value": "90 V", "joins": ["ht.s", "ht.s"]},
])  # fmt: skip
def test_a_part_with_both_ends_at_one_node_is_a_slip(make):
    assert ("X1", "joined-to-itself") in errors(make())


@pytest.mark.parametrize("kind", [LINK, SWITCH, FUSE])
@pytest.mark.parametrize("live", ["mains.live", "mains.neutral"])
@pytest.mark.parametrize("other", ["chassis", "h.a", "ht.b"])
def test_the_mains_joined_to_what_a_hand_can_touch_is_refused_from_either_pole(kind, live, other):
    assert ("T1", "mains-live") in errors(wire(live, other, kind))
    assert ("T1", "mains-live") in errors(wire(other, live, kind))


def test_a_resistor_from_the_mains_to_the_chassis_is_a_doubt_and_a_capacitor_is_none():
    """A class Y capacitor may lie there; a resistance may not (IEC 60384-14 knows only the one: common practice)."""
    assert ("T1", "mains-dc-path") in doubts(resistor("X1", "mains.neutral", "chassis", "1M"))
    y = {"ref": "X1", "kind": "capacitor", "value": "2n2", "joins": ["mains.live", "chassis"]}
    assert doubts(y) == set()
    assert "mains-dc-path" in HOPELESS and "mains-live" in HOPELESS and SHORTS < HOPELESS


SUPPLY = [transformer(("ht", "250 V", "100R", ("a", "chassis", "b"))), capacitor("C1", "p", "chassis"),
          resistor("R1", "p", "chassis", "10k")]  # fmt: skip


@pytest.mark.parametrize(("one", "other", "is_short"), [
    (("a", "p"), ("b", "p"), False),
    (("p", "a"), ("p", "b"), False),  # both turned: a negative rail, not a short
    (("a", "p"), ("p", "b"), True),
    (("p", "a"), ("b", "p"), True),
])  # fmt: skip
def test_one_of_two_rectifiers_turned_round_shorts_the_winding(one, other, is_short):
    found = [e for e in circuit_errors(parts_of(*SUPPLY, diode("D1", *one), diode("D2", *other)))
             if e.code == "diodes-short"]  # fmt: skip
    assert bool(found) == is_short
    if found:
        assert set(found[0].params["diodes"]) == {"D1", "D2"} and found[0].params["winding"] == "ht"


def test_a_single_diode_across_a_winding_is_a_short():
    assert ("D9", "diodes-short") in errors(diode("D9", "ht.a", "chassis"))
    assert ("D9", "diodes-short") not in errors(diode("D9", "ht.a", "x"), resistor("R99", "x", "chassis", "10k"),
                                                capacitor("C99", "x", "chassis"))  # fmt: skip


def test_an_end_at_a_node_of_its_own_is_a_slip_of_the_pen():
    assert ("R2", "loose-end") in errors(R2={"joins": ["ht.s", "a1.typo"]})
    assert ("R9", "loose-end") in errors(R9={"joins": ["h.a", "chasis"]})
    assert not [e for e in errors() if e[1] == "loose-end"]


def test_the_loose_end_of_a_wire_is_none_where_a_check_is_read_there():
    parts = kit(wire("ht.s", "tp1"))
    assert [e.code for e in parts_list_errors(parts)] == ["loose-end"]
    assert parts_list_errors(parts, frozenset({"tp1"})) == []
    assert [e.code for e in parts_list_errors(kit(wire("ht.s", "mains.inlet", SWITCH)))] == []


@pytest.mark.parametrize("sort", ["connector", "hardware"])
def test_an_end_of_a_socket_may_be_alone(sort):
    assert errors({"ref": "J9", "kind": sort, "joins": ["nobody.else", "chassis"]}) == set()


def test_two_parts_that_hang_on_nothing_are_named_once_with_all_that_hang_together():
    parts = kit(resistor("R90", "x", "y", "1k"), resistor("R91", "y", "z", "1k"), resistor("R92", "z", "x", "1k"))
    (piece,) = [e for e in circuit_errors(parts) if e.code == "isolated-pieces"]
    assert piece.params["parts"] == ["R90", "R91", "R92"] and piece.params["ref"] == "R90"
    joined = kit(
        resistor("R90", "x", "y", "1k"), resistor("R91", "y", "x", "1k"), resistor("R92", "x", "chassis", "1k")
    )
    assert not [e for e in circuit_errors(joined) if e.code == "isolated-pieces"]


@pytest.mark.parametrize(("ref", "anode"), [("R2", "a.anode"), ("R5", "b.anode")])
def test_an_anode_whose_load_leads_to_the_chassis_is_fed_by_nothing(ref, anode):
    node = row_of(ref)["joins"][1]
    (found,) = [e for e in parts_list_errors(kit(**{ref: {"joins": ["chassis", node]}})) if e.code == "not-fed"]
    assert found.params["key"] == f"joins.{anode}" and found.params["node"] == node


def test_an_anode_behind_a_capacitor_is_fed_by_nothing():
    assert ("V1", "not-fed") in errors(capacitor("C9", "ht.s", "a1"), without=("R2",))


def test_a_section_with_all_its_ends_at_the_chassis_is_a_spare_one():
    spare = {"b": {"anode": "chassis", "grid": "chassis", "cathode": "chassis"}}
    assert errors(without=("R5", "R6", "R7"), **with_joins("V1", **spare)) == set()
    (valve,) = (p for p in kit(without=("R5", "R6", "R7"), **with_joins("V1", **spare)) if p.ref == "V1")
    nodes = {node: n for n, node in enumerate(dict.fromkeys((*valve.joins.values(), "chassis")))}
    assert is_unused(valve, "b", nodes) and not is_unused(valve, "a", nodes) and not is_unused(valve, "", nodes)


@pytest.mark.parametrize(("gone", "key"), [("R4", "joins.a.grid"), ("R7", "joins.b.grid"), ("R3", "joins.a.cathode"),
                                           ("R6", "joins.b.cathode")])  # fmt: skip
def test_a_grid_without_a_leak_and_a_cathode_without_its_resistor_are_named(gone, key):
    node = row_of(gone)["joins"][0]
    held = [capacitor("C90", node, "chassis")]
    found = [e for e in circuit_errors(kit(*held, without=(gone,))) if e.code == "electrode-without-dc"]
    assert [(e.params["ref"], e.params["key"], e.params["node"]) for e in found] == [("V1", key, node)]


def test_a_reference_that_stands_on_two_parts_is_refused():
    assert ("R1", "duplicate-ref") in errors(resistor("R1", "ht.s", "chassis", "1M"))


def test_a_type_of_another_kind_is_refused():
    assert ("V9", "valve-kind") in errors(triode("V9", "ht.s", "g1", "k1", "EL84"))


def test_a_type_that_nobody_knows_is_refused_without_a_model_and_not_with_one():
    strange = triode("V9", "ht.s", "g1", "k1", "XX99")
    codes = {code for ref, code in errors(strange) if ref == "V9"}
    assert codes and codes <= {"valve-model", "unknown-valve"}
    model = {"mu": 20, "ex": 1.4, "kg1": 1500, "kp": 120, "kvb": 300}
    assert not {code for ref, code in errors(strange | {"model": model}) if ref == "V9"}
    assert {code for ref, code in errors(strange | {"model": model | {"mu": 0}}) if ref == "V9"}


@pytest.mark.parametrize("base", [b for b in PINS if not has_cap(b)])
def test_a_base_has_its_pins_and_no_more(base):
    """Noval nine, miniature seven, octal eight (IEC 60067)."""
    assert PINS["B9A"] == 9 and PINS["B7G"] == 7 and PINS["octal"] == 8
    assert all(is_pin_of(base, str(n)) for n in range(1, PINS[base] + 1))
    assert not any(is_pin_of(base, pin) for pin in ("0", str(PINS[base] + 1), "-1", "a", "", "cap", "1.5"))
    assert plain_base(f"{base} cap") == plain_base(base) == base
    if f"{base} cap" in PINS:
        assert PINS[f"{base} cap"] == PINS[base] and is_pin_of(f"{base} cap", "cap")


@pytest.mark.parametrize("pin", ["0", "10", "12"])
def test_a_pin_that_the_base_has_not_is_refused(pin):
    pins = row_of("V1")["pins"]
    found = circuit_errors(kit(V1={"pins": pins | {"a": pins["a"] | {"anode": pin}}}))
    assert [(e.code, e.params["pin"], e.params["most"]) for e in found] == [("no-such-pin", pin, 9)]


def test_of_a_base_that_is_not_named_no_pin_is_refused():
    pins = row_of("V1")["pins"]
    assert errors(V1={"base": "", "pins": pins | {"a": pins["a"] | {"anode": "12"}}}) == set()


def test_electrodes_without_pins_are_named_together_and_a_socket_without_any_once():
    pins = row_of("V1")["pins"]
    (some,) = circuit_errors(kit(V1={"pins": pins | {"a": {"anode": "6"}}}))
    assert some.code == "pin-missing" and some.params["terminals"] == ["a.grid", "a.cathode"]
    (none,) = circuit_errors(kit(V1={"pins": {}}))
    assert none.code == "pins-missing"


def test_two_electrodes_swapped_are_a_doubt_and_two_sections_swapped_are_none():
    """ECC82: section a on 6, 7, 8, section b on 1, 2, 3 (published connections)."""
    pins = row_of("V1")["pins"]
    swapped = pins["a"] | {"anode": "8", "cathode": "6"}
    (doubt,) = parts_list_warnings(kit(V1={"pins": pins | {"a": swapped}}))
    assert doubt.code == "other-pins"
    assert [(t, p, q) for t, p, q in doubt.params["pins"]] == [("a.anode", "8", ["6"]), ("a.cathode", "6", ["8"])]
    assert doubts(V1={"pins": pins | {"a": pins["b"], "b": pins["a"]}}) == set()
    assert ("V1", "other-pins") in doubts(V1={"pins": pins | {"heater": ["4", "9"], "heater_centre": "5"}})


def test_another_base_than_the_published_is_a_doubt_and_its_pins_are_not_looked_at():
    assert doubts(V1={"base": "octal"}) == {("V1", "other-base")}


@pytest.mark.parametrize(("type_", "kind", "pins"), [
    ("EL84", "pentode", {"anode": ["7"], "grid": ["2"], "cathode": ["3"], "screen": ["9"]}),
    ("6BQ5", "pentode", {"anode": ["7"], "grid": ["2"], "cathode": ["3"], "screen": ["9"]}),
    ("EL34", "pentode", {"anode": ["3"], "grid": ["5"], "cathode": ["8"], "screen": ["4"]}),
    ("6V6", "pentode", {"anode": ["3"], "grid": ["5"], "cathode": ["8"], "screen": ["4"]}),
])  # fmt: skip
def test_published_pins_are_those_of_the_handbooks(type_, kind, pins):
    """EL84 and the octal output valves by their data sheets (from memory)."""
    (section,) = find_pinout(type_, kind)["sections"]
    assert all(set(places) <= set(section[name]) for name, places in pins.items())


def test_a_bulb_with_two_systems_has_the_pins_of_the_one_that_is_asked_for():
    assert is_shared_bulb("ECL82") and is_shared_bulb("ecl-82 ") and not is_shared_bulb("EL84")
    one, other = (find_pinout("ECL82", kind)["sections"][0] for kind in ("triode", "pentode"))
    assert one["anode"] != other["anode"] and find_pinout("ECL82", "rectifier valve") is None
    assert find_pinout("XX99") is None


def test_a_valve_without_a_heater_among_heated_ones_is_a_doubt():
    joins = {k: v for k, v in row_of("V1")["joins"].items() if not k.startswith("heater")}
    pins = {k: v for k, v in row_of("V1")["pins"].items() if not k.startswith("heater")}
    assert ("V1", "heater-unjoined") in doubts(V1={"joins": joins, "pins": pins})
    joins = {k: v for k, v in row_of("V2")["joins"].items() if not k.startswith("heater")}
    assert ("V2", "heater-unjoined") in doubts(V2={"joins": joins, "pins": {"anode_1": "1", "anode_2": "7",
                                                                            "cathode": "3"}})  # fmt: skip


def test_heaters_at_no_voltage_are_a_doubt_until_one_resistor_holds_them():
    assert ("T1", "floating-heaters") in doubts(without=("R9", "R10"))
    assert doubts(without=("R10",)) == set()


def test_a_winding_with_one_end_in_use_is_a_doubt():
    (doubt,) = [
        e for e in parts_list_warnings(kit(**with_joins("V2", anode_2="ht.a"))) if e.code == "winding-end-loose"
    ]
    assert (doubt.params["winding"], doubt.params["node"]) == ("ht", "ht.b")
    iron = row_of("T1")["winding"]
    fused = wire("mains.inlet", "mains.live", FUSE)
    assert doubts(fused) == set()  # the other lead of the mains comes from a plug that no list needs to have
    slip = [w | {"joins": ["mains.live", "mains.netural"]} if w["name"] == "primary" else w for w in iron]
    assert doubts(fused, T1={"winding": slip}) == {("T1", "winding-end-loose")}


def test_a_node_between_capacitors_alone_has_no_direct_voltage():
    rows = [capacitor("C90", "ht.r", "x"), capacitor("C91", "x", "chassis")]
    (doubt,) = parts_list_warnings(kit(*rows))
    assert doubt.code == "no-dc" and doubt.params["parts"] == ["C90", "C91"] and doubt.params["node"] == "x"
    assert doubts(*rows, resistor("R90", "x", "chassis", "220k")) == set()
    assert doubts(rows[0] | {"leakage": "50 uA"}, rows[1] | {"leakage": "50 uA"}) == set()


@pytest.mark.parametrize(("more", "code"), [({}, "regulation-of-copper"), ({"amps": ""}, "regulation-assumed")])
def test_a_transformer_that_says_nothing_of_its_regulation_has_what_was_taken_told(more, code):
    iron = row_of("T1")
    windings = [w | more if w["name"] == "ht" else w for w in iron["winding"]]
    assert ("T1", code) in doubts(T1={"regulation": "", "winding": windings})


def test_the_shortest_way_is_found_and_none_where_there_is_none():
    ways = {"a": [("b", "1"), ("c", "2")], "b": [("d", "3")], "c": [("d", "4")], "d": [("e", "5")], "e": [], "z": []}
    assert find_shortest_path(ways, "a", "e") in (["1", "3", "5"], ["2", "4", "5"])
    assert find_shortest_path(ways, "a", "a") == []
    assert find_shortest_path(ways, "a", "z") is None


def test_every_error_names_its_part_its_key_and_its_line():
    parts = kit(wire("mains.live", "chassis"), resistor("R90", "x", "y", "1k"), R2={"joins": ["ht.s", "a1.typo"]})
    lines = {p.ref: p.line for p in parts}
    found = circuit_errors(parts)
    assert len(found) >= 3
    for error in found:
        assert error.params["line"] == lines[error.params["ref"]]
        assert str(error).startswith(f"{error.params['ref']} (line {error.params['line']}): ")
    assert part_from_mapping(resistor("R1", "a", "b", "1k")).line is None
