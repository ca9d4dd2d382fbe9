"""A schematic says what the parts list says, and can be read: traced back by geometry alone (tracing.py)."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checks.circuit.netlist.terminals import LISTED, NAMED
from checks.errors import ChecksError
from checks.schematic import Component, SectionKind, draw, drawing
from checks.schematic.anchors import find_anchor, find_room, taken
from checks.schematic.drawing import MOST_UNITS
from checks.schematic.model import At, Wire
from tests.checks.schematic.kits import INVENTED, two
from tests.checks.schematic.tracing import faults_of, lies_on, overlap, passes_through, traced, wired


def refs_drawn(schematic) -> Counter:
    return Counter(symbol.unit.key for section in schematic.sections for symbol in section.symbols)


def assert_true_and_legible(components):
    schematic = draw(components)
    assert traced(schematic) == wired(components)
    assert faults_of(schematic) == []
    assert set(refs_drawn(schematic).values()) <= {1}
    return schematic


@pytest.mark.lengthy
@pytest.mark.parametrize("name", INVENTED)
def test_an_invented_kit_is_drawn_as_it_is_wired_and_nothing_lies_on_anything(name):
    components = INVENTED[name]()
    schematic = assert_true_and_legible(components)
    assert {ref for ref, _name in refs_drawn(schematic)} == {part.ref for part in components}


def test_a_crossing_that_joins_is_told_from_one_that_does_not():
    """The tracer itself: a wire laid across two nets from end to end must show as a difference."""
    components = INVENTED["battery cascode"]()
    schematic = draw(components)
    section = schematic.sections[0]
    one, other = section.wires[0], next(w for w in section.wires if w.net != section.wires[0].net)
    cheat = replace(section, wires=(*section.wires, Wire("x", one.start, other.start)))
    assert traced(replace(schematic, sections=(cheat, *schematic.sections[1:]))) != wired(components)


def test_a_wire_that_is_missing_shows():
    components = INVENTED["op-amp buffer"]()
    schematic = draw(components)
    section = max(schematic.sections, key=lambda s: len(s.wires))
    short = replace(section, wires=section.wires[1:])
    sections = tuple(short if s is section else s for s in schematic.sections)
    assert traced(replace(schematic, sections=sections)) != wired(components)


@pytest.mark.lengthy
def test_signals_run_from_left_to_right_and_supplies_stand_above_their_stage():
    components = INVENTED["long-tailed push-pull"]()
    section = next(s for s in draw(components).sections if s.kind == SectionKind.SIGNAL)
    at = {symbol.unit.key: symbol for symbol in section.symbols}
    middle = {key: (s.body.left + s.body.right) / 2 for key, s in at.items()}
    assert middle["J1", ""] < middle["V1", "a"] < middle["V2", ""] < middle["T2", ""] < middle["J2", ""]
    assert at["R9", ""].body.bottom <= at["V1", "a"].body.top
    assert at["R7", ""].body.top >= at["V1", "a"].body.bottom


def signal_symbols(name):
    section = next(s for s in draw(INVENTED[name]()).sections if s.kind == SectionKind.SIGNAL)
    return {symbol.unit.key: symbol for symbol in section.symbols}


@pytest.mark.lengthy
def test_a_long_tailed_pair_stands_side_by_side_with_its_tail_between_and_its_loads_above():
    at = signal_symbols("long-tailed push-pull")
    left, right = at["V1", "a"], at["V1", "b"]
    assert left.body.top == right.body.top
    assert left.ends["a.grid"].x < left.body.left and right.ends["b.grid"].x > right.body.right  # facing each other
    tail = at["R6", ""]
    assert left.ends["a.cathode"].x < tail.ends["a"].x < right.ends["b.cathode"].x
    assert tail.body.top > left.body.bottom and at["R7", ""].body.top > tail.body.bottom
    assert at["R9", ""].body.top == at["R10", ""].body.top
    assert at["R9", ""].body.bottom < left.body.top
    for leak in ("R5", "R8"):  # both lead down to the foot of the bias resistor
        assert at[leak, ""].ends["a"].x == at[leak, ""].ends["b"].x


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("name", "valves", "screens"), [("long-tailed push-pull", "V2 V3", ""), ("cathodyne push-pull", "V2 V3", "R22 R32")]
)
def test_the_valves_of_a_push_pull_stage_stand_one_under_the_other_before_their_transformer(name, valves, screens):
    at = signal_symbols(name)
    upper, lower = (at[ref, ""] for ref in valves.split())
    transformer = next(s for s in at.values() if s.unit.kind == "output transformer")
    assert upper.body.left == lower.body.left and upper.body.bottom < lower.body.top
    assert upper.body.right < transformer.body.left
    for ref in screens.split():
        assert upper.body.right < at[ref, ""].body.left and at[ref, ""].body.right < transformer.body.left


def test_output_valves_with_a_common_cathode_resistor_are_no_long_tailed_pair():
    at = signal_symbols("cathodyne push-pull")
    assert at["V2", ""].body.top != at["V3", ""].body.top


@pytest.mark.lengthy
def test_every_junction_of_three_leads_has_a_dot_and_no_crossing_has():
    for kit in INVENTED.values():
        for section in draw(kit()).sections:
            ends = Counter(at for s in section.symbols for at in s.ends.values()) + Counter(f.at for f in section.flags)
            wires = Counter(p for w in section.wires for p in (w.start, w.stop))
            meeting = {at for at in {*ends, *wires} if ends[at] + wires[at] >= 3 and wires[at]}
            assert meeting == set(section.dots)


def test_parts_without_a_wire_are_named_and_not_drawn():
    schematic = draw([two("R1", "a", "b", "1k"), two("R2", "", "", "1k"), Component("H1", "hardware", {})])
    assert schematic.left_out == ("R2", "H1")
    assert set(refs_drawn(schematic)) == {("R1", "")}


def test_a_section_of_a_valve_that_is_not_used_is_named_and_takes_no_room():
    """All its ends at the chassis, as a spare section of a double triode is left (common practice)."""
    used = {"a.anode": "ht", "a.grid": "in", "a.cathode": "chassis"}
    spare = dict.fromkeys(("b.anode", "b.grid", "b.cathode"), "chassis")
    valve = Component("V1", "twin triode", used | spare, {}, (), ("ECC83",))
    schematic = draw([valve, two("R1", "ht", "chassis", "1k"), two("R2", "in", "chassis", "1M")])
    assert schematic.left_out == ("V1b",)
    assert set(refs_drawn(schematic)) == {("V1", "a"), ("R1", ""), ("R2", "")}
    used_too = replace(valve, joins=used | spare | {"b.anode": "ht"})
    assert draw([used_too, two("R1", "ht", "chassis", "1k"), two("R2", "in", "chassis", "1M")]).left_out == ()


def test_an_empty_list_is_an_empty_drawing():
    assert draw([]).sections == ()


def test_a_list_too_long_to_draw_is_refused():
    parts = [two(f"R{n}", "a", "chassis", "1k") for n in range(MOST_UNITS + 1)]
    with pytest.raises(ChecksError) as error:
        draw(parts)
    assert error.value.code == "schematic-size"


def test_pin_numbers_stand_beside_the_ends_of_a_valve():
    joins = {"anode": "a", "grid": "g", "cathode": "k"}
    schematic = draw([Component("V1", "triode", joins, {"anode": "1", "grid": "6", "cathode": "7"})])
    symbol = schematic.sections[0].symbols[0]
    for terminal, pin in (("anode", "1"), ("grid", "6"), ("cathode", "7")):
        text = next(t for t in symbol.texts if t.lettering == pin)
        x, y = symbol.ends[terminal]
        assert abs(text.at.x - x) + abs(text.at.y - y) < 2.5


@pytest.mark.lengthy
def test_the_ends_of_every_symbol_lie_on_the_grid():
    for kit in INVENTED.values():
        for section in draw(kit()).sections:
            for symbol in section.symbols:
                assert all(At(round(x), round(y)) == (x, y) for x, y in symbol.ends.values())


KINDS = [
    "resistor",
    "capacitor",
    "electrolytic",
    "diode",
    "potentiometer",
    "npn transistor",
    "op-amp",
    "bridge",
    "fuse",
]
NETS = ["chassis", "ht", "n1", "n2", "n3", "n4", "n5", "n6", "n7", ""]


@st.composite
def netlists(draw_):
    rows = []
    for n, kind in enumerate(draw_(st.lists(st.sampled_from([*KINDS, "triode", "pentode"]), min_size=1, max_size=14))):
        names = {"triode": ("anode", "grid", "cathode"), "pentode": ("anode", "screen", "grid", "cathode")}.get(kind)
        names = names or LISTED.get(kind) or NAMED[kind]
        rows.append(Component(f"X{n}", kind, {name: draw_(st.sampled_from(NETS)) for name in names}, {}, (), ("4k7",)))
    return rows


@pytest.mark.lengthy
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(netlists())
def test_any_netlist_is_drawn_true_or_named_as_not_drawn(components):
    """However parts are joined, what is drawn reads back as the list; a section that finds no way is named."""
    try:
        schematic = draw(components)
    except ChecksError as error:
        assert error.code == "schematic-room"
        return
    undrawn = {unit.ref for unit in schematic.undrawn}
    drawn = [part for part in components if any(part.joins.values()) and part.ref not in undrawn]
    assert traced(schematic) == wired(drawn)
    assert faults_of(schematic) == []


@pytest.mark.lengthy
def test_room_for_a_word_covers_neither_symbols_nor_wires_nor_other_words_where_there_is_room():
    for kit in INVENTED.values():
        for section in draw(kit()).sections:
            points = [(at, 4.0, 1.5) for at in section.dots][:4]
            spots = find_room(points, taken(section), section.box.grown(4))
            for n, spot in enumerate(spots):
                assert not any(overlap(spot.box, other.box) for other in spots[:n])
                assert not any(overlap(spot.box, symbol.body) for symbol in section.symbols)
                assert not any(passes_through(wire, spot.box) for wire in section.wires)


@pytest.mark.lengthy
def test_the_place_of_a_pin_is_its_end_and_of_a_net_a_point_of_it():
    components = INVENTED["long-tailed push-pull"]()
    schematic = draw(components)
    section, at = find_anchor(schematic, "V4.8")
    symbol = next(s for s in schematic.sections[section].symbols if s.unit.key == ("V4", ""))
    assert at == symbol.ends["cathode"]
    section, at = find_anchor(schematic, "p.a")
    assert any(lies_on(at, wire) for wire in schematic.sections[section].wires if wire.net == "p.a")
    assert find_anchor(schematic, "V4.1") is None
    assert find_anchor(schematic, "nowhere") is None


@pytest.mark.lengthy
def test_a_section_without_room_is_named_and_the_others_are_drawn(monkeypatch):
    """Of a five-stage kit the supply finds no way: the stages are drawn all the same, and its parts listed."""
    components = INVENTED["long-tailed push-pull"]()
    whole = draw(components)
    real = drawing._wired_somehow
    monkeypatch.setattr(
        drawing, "_wired_somehow", lambda kind, *more: None if kind == SectionKind.SUPPLY else real(kind, *more)
    )
    part = draw(components)
    lost = {s.unit.key for section in whole.sections if section.kind == SectionKind.SUPPLY for s in section.symbols}
    assert lost and {unit.key for unit in part.undrawn} == lost
    assert set(refs_drawn(part)) == set(refs_drawn(whole)) - lost
    assert faults_of(part) == []
    monkeypatch.setattr(drawing, "_wired_somehow", lambda *_all: None)
    with pytest.raises(ChecksError) as nothing:
        draw(components)
    assert nothing.value.code == "schematic-room"


def test_the_upper_valve_of_a_cascode_stands_above_the_lower():
    schematic = assert_true_and_legible(INVENTED["battery cascode"]())
    bodies = {symbol.unit.key: symbol.body for section in schematic.sections for symbol in section.symbols}
    lower, upper = bodies["V1", "a"], bodies["V1", "b"]
    assert upper.bottom < lower.top and (upper.left, upper.right) == (lower.left, lower.right)
