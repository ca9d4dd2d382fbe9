"""Each building block of the trade drawn by itself: read back by geometry alone, and laid out as text books have it."""

from collections import Counter
from functools import cache
from math import dist

import pytest

from checks.schematic import SectionKind, draw
from checks.schematic.anchors import find_anchor, find_room, taken
from checks.schematic.model import CHASSIS, At, Box
from tests.checks.schematic.kits import can, part, transformer, two
from tests.checks.schematic.small import BATTERY, INPUT, SMALL, pentode, valve
from tests.checks.schematic.tracing import faults_of, lies_on, overlap, passes_through, traced, wired


@cache
def drawn(name):
    return draw(SMALL[name]())


def symbols(name):
    return {symbol.unit.key: symbol for section in drawn(name).sections for symbol in section.symbols}


def symbol(name, ref, section=""):
    return symbols(name)[ref, section]


def middle(box):
    return At((box.left + box.right) / 2, (box.top + box.bottom) / 2)


@pytest.mark.parametrize("name", SMALL)
def test_a_block_reads_back_as_its_parts_list_and_nothing_lies_on_anything(name):
    assert traced(drawn(name)) == wired(SMALL[name]())
    assert faults_of(drawn(name)) == []
    assert drawn(name).undrawn == () and drawn(name).left_out == ()


@pytest.mark.parametrize("name", SMALL)
def test_each_end_of_each_part_is_drawn_exactly_once(name):
    ends = Counter((s.unit.ref, t) for section in drawn(name).sections for s in section.symbols for t in s.ends)
    assert ends == Counter((p.ref, t) for p in SMALL[name]() for t in p.joins)


@pytest.mark.parametrize("name", SMALL)
def test_every_wire_is_level_or_upright_and_ends_at_something(name):
    for section in drawn(name).sections:
        points = Counter(p for w in section.wires for p in (w.start, w.stop))
        points.update(at for s in section.symbols for at in s.ends.values())
        points.update(flag.at for flag in section.flags)
        for wire in section.wires:
            assert (wire.start.x == wire.stop.x) != (wire.start.y == wire.stop.y)
            assert points[wire.start] > 1 and points[wire.stop] > 1


@pytest.mark.parametrize("name", SMALL)
def test_a_wire_carries_the_net_of_every_end_and_flag_that_it_touches(name):
    for section in drawn(name).sections:
        places = [(s.unit.joins.get(t, ""), at) for s in section.symbols for t, at in s.ends.items()]
        places += [(flag.net, flag.at) for flag in section.flags]
        for wire in section.wires:
            assert {net for net, at in places if lies_on(at, wire)} <= {wire.net}


@pytest.mark.parametrize("name", SMALL)
def test_wires_of_two_nets_cross_at_right_angles_or_not_at_all(name):
    """Two nets never share a length of wire, nor a corner of either."""
    for section in drawn(name).sections:
        for n, one in enumerate(section.wires):
            for other in section.wires[:n]:
                if one.net != other.net:
                    assert not any(lies_on(p, other) for p in (one.start, one.stop))
                    assert not any(lies_on(p, one) for p in (other.start, other.stop))


@pytest.mark.parametrize("name", SMALL)
def test_a_dot_marks_each_meeting_of_three_and_nothing_else(name):
    for section in drawn(name).sections:
        ends = Counter(at for s in section.symbols for at in s.ends.values()) + Counter(f.at for f in section.flags)
        runs = Counter(p for w in section.wires for p in (w.start, w.stop))
        assert {at for at in {*ends, *runs} if runs[at] and ends[at] + runs[at] >= 3} == set(section.dots)


@pytest.mark.parametrize("name", SMALL)
def test_the_reference_stands_within_reach_of_its_symbol_and_nearer_to_it_than_to_any_other(name):
    for section in drawn(name).sections:
        for one in section.symbols:
            text = next(t for t in one.texts if t.is_strong)
            assert text.lettering == one.unit.label
            aside = max(one.body.left - text.box.right, text.box.left - one.body.right, 0)
            above = max(one.body.top - text.box.bottom, text.box.top - one.body.bottom, 0)
            assert aside + above < 2.5  # two captions may lie between
            for other in section.symbols:
                if other is not one:
                    assert not overlap(text.box, other.body)


@pytest.mark.parametrize("name", SMALL)
def test_the_page_of_a_section_holds_all_of_it(name):
    for section in drawn(name).sections:
        boxes = [s.body for s in section.symbols] + [f.box for f in section.flags]
        boxes += [t.box for s in section.symbols for t in s.texts]
        for box in boxes:
            assert section.box.left <= box.left and box.right <= section.box.right
            assert section.box.top <= box.top and box.bottom <= section.box.bottom


def test_a_net_of_two_sections_has_its_name_in_both():
    for name in SMALL:
        sections = drawn(name).sections
        for net in {n for s in sections for u in s.symbols for n in u.unit.nets}:
            having = [s for s in sections if any(net in u.unit.nets for u in s.symbols)]
            if len(having) > 1:
                assert all(any(flag.net == net for flag in section.flags) for section in having), (name, net)


def test_a_flag_with_a_name_is_never_alone():
    """A name that is found once on the page joins nothing: it is given to the end of a line nobody else is on."""
    for name in set(SMALL) - {"ends that join nothing"}:
        names = Counter(flag.net for section in drawn(name).sections for flag in section.flags)
        joined = Counter(net for p in SMALL[name]() for net in p.joins.values())
        assert [net for net, times in names.items() if times == 1 and joined[net] > 1 and net != CHASSIS] == []


def test_a_load_stands_above_its_anode_and_the_cathodes_parts_hang_below():
    at = symbols("common cathode")
    stage = at["V1", ""]
    for ref in ("R3", "C1"):
        assert at[ref, ""].body.top >= stage.body.bottom
    load = at["R2", ""]
    assert load.body.bottom <= stage.body.top and load.ends["a"].y < load.ends["b"].y  # the supply above
    assert at["J1", ""].body.right < stage.body.left < stage.body.right < at["J2", ""].body.left
    for leak in ("R1", "R4"):
        assert at[leak, ""].ends["a"].y < at[leak, ""].ends["b"].y


def test_the_coupling_part_lies_on_the_line_from_anode_to_output():
    at = symbols("common cathode")
    coupling = at["C2", ""]
    assert coupling.ends["a"].y == coupling.ends["b"].y and coupling.ends["a"].x < coupling.ends["b"].x
    assert at["V1", ""].ends["anode"].x <= coupling.ends["a"].x


def test_a_followers_load_hangs_below_and_its_anode_is_named():
    at = symbols("cathode follower")
    assert at["R2", ""].body.top >= at["V1", ""].body.bottom
    section = next(s for s in drawn("cathode follower").sections if s.kind == SectionKind.SIGNAL)
    assert any(f.net == "ht" and f.at == at["V1", ""].ends["anode"] for f in section.flags)


def test_a_transistor_that_feeds_an_anode_is_drawn_with_its_stage():
    sections = drawn("current source load").sections
    (having,) = [s for s in sections if any(u.unit.ref == "Q1" for u in s.symbols)]
    assert having.kind == SectionKind.SIGNAL and any(u.unit.ref == "V1" for u in having.symbols)


def test_the_supply_end_of_an_output_transformer_is_above_its_anode_end():
    one = symbol("single ended output", "T1")
    assert one.ends["primary.1"].y < one.ends["primary.2"].y
    assert symbol("single ended output", "V1").body.right < one.body.left
    swapped = [p for p in SMALL["single ended output"]() if p.ref != "T1"]
    swapped.append(transformer("T1", "output transformer", ("primary", "5k", "a", "ht"),
                               ("secondary", "8R", "spk", "chassis")))  # fmt: skip
    made = draw(swapped)
    assert traced(made) == wired(swapped)
    turned = next(s for section in made.sections for s in section.symbols if s.unit.ref == "T1")
    assert turned.ends["primary.2"].y < turned.ends["primary.1"].y


def test_a_supply_is_read_from_the_mains_on_the_left_to_its_rail_on_the_right():
    at = symbols("pi filter")
    order = [("P1", ""), ("F1", ""), ("S1", ""), ("T1", ""), ("V1", ""), ("C1", ""), ("L1", ""), ("C2", "")]
    left = [middle(at[key].body).x for key in order]
    assert left == sorted(left)
    assert {s.kind for s in drawn("pi filter").sections} == {SectionKind.SUPPLY}


def test_reservoirs_hang_with_plus_at_the_rail_and_minus_at_the_chassis():
    for name, refs in (("pi filter", ("C1", "C2")), ("diode bridge", ("C1",)), ("regulated heaters", ("C1",))):
        for ref in refs:
            one = symbol(name, ref)
            assert one.ends["plus"].y < one.ends["minus"].y and one.ends["plus"].x == one.ends["minus"].x


def test_a_reservoir_of_a_negative_rail_has_its_minus_at_the_rail_and_both_signs_the_right_way():
    for ref in ("C1", "C2"):
        one = symbol("negative bias", ref)
        strokes = [s.points for s in one.shapes if len(s.points) == 2 and abs(dist(*s.points) - 0.6) < 1e-6]
        sign = middle(Box(*(f(p[i] for s in strokes for p in s) for f in (min, max) for i in (0, 1))))
        assert dist(sign, one.ends["plus"]) < dist(sign, one.ends["minus"])


def test_four_diodes_are_drawn_as_a_diamond_that_points_to_plus():
    at = symbols("diode bridge")
    for ref in ("D1", "D2"):
        assert at[ref, ""].ends["cathode"] == at["D1", ""].ends["cathode"]
        assert at[ref, ""].ends["anode"].x < at[ref, ""].ends["cathode"].x
    for ref, mate in (("D3", "D1"), ("D4", "D2")):
        assert at[ref, ""].ends["cathode"] == at[mate, ""].ends["anode"]
        assert at[ref, ""].ends["anode"] == at["D3", ""].ends["anode"]
    assert len({at[f"D{n}", ""].ends[t] for n in range(1, 5) for t in ("anode", "cathode")}) == 4


def test_a_bridge_with_a_fifth_diode_beside_one_of_its_four_is_drawn_true_all_the_same():
    parts = [*SMALL["diode bridge"](), part("D5", "diode", "anode=s.a cathode=raw")]
    made = draw(parts)
    assert traced(made) == wired(parts) and faults_of(made) == []


def test_one_diode_of_four_turned_round_is_not_drawn_as_a_bridge():
    """The list is drawn as it is: a fault of the list must be seen on the drawing."""
    parts = [p for p in SMALL["diode bridge"]() if p.ref != "D4"] + [part("D4", "diode", "anode=s.b cathode=chassis")]
    made = draw(parts)
    assert traced(made) == wired(parts)
    diodes = [s for section in made.sections for s in section.symbols if s.unit.kind == "diode"]
    assert all(a.x == b.x or a.y == b.y for a, b in (tuple(s.ends.values()) for s in diodes))


def test_heaters_are_a_section_of_their_own_with_one_line_above_and_one_below():
    sections = {s.kind: s for s in drawn("elevated heaters").sections}
    heaters = sections[SectionKind.HEATERS]
    (one,) = [s for s in heaters.symbols if s.unit.name == "heater"]
    assert one.ends["heater.1"].y == one.ends["heater.2"].y < one.ends["heater_centre"].y
    assert not any(s.unit.name == "heater" for kind, x in sections.items() if kind != SectionKind.HEATERS
                   for s in x.symbols)  # fmt: skip


def test_heaters_on_a_regulator_stand_side_by_side_between_rail_and_chassis():
    row = [s for s in symbols("regulated heaters").values() if s.unit.name == "heater"]
    assert len(row) == 2 and row[0].body.top == row[1].body.top and row[0].body.right < row[1].body.left
    assert all(s.ends["heater.1"].y < s.ends["heater.2"].y for s in row)


@pytest.mark.parametrize("name", SMALL)
def test_the_place_of_each_net_is_on_one_of_its_wires_flags_or_ends(name):
    made = drawn(name)
    for net in {n for p in SMALL[name]() for n in p.joins.values() if n}:
        number, at = find_anchor(made, net)
        section = made.sections[number]
        own = [w for w in section.wires if w.net == net and lies_on(at, w)]
        own += [f for f in section.flags if f.net == net and f.at == at]
        own += [s for s in section.symbols for t, end in s.ends.items() if s.unit.joins.get(t) == net and end == at]
        assert own


def test_a_pin_is_found_at_its_own_end_and_a_pin_or_net_that_is_not_drawn_nowhere():
    made = draw([part("V1", "triode", {"anode": "a", "grid": "g", "cathode": "k"}, pins={"anode": "1", "grid": "6"}),
                 part("V2", "triode", {"anode": "a", "grid": "x", "cathode": "k"}, pins={"anode": "6"})])  # fmt: skip
    ends = {s.unit.ref: s.ends for section in made.sections for s in section.symbols}
    assert find_anchor(made, "V1.6")[1] == ends["V1"]["grid"]
    assert find_anchor(made, "V2.6")[1] == ends["V2"]["anode"]
    assert find_anchor(made, "V1.8") is None and find_anchor(made, "V3.1") is None and find_anchor(made, "") is None


@pytest.mark.parametrize("name", ["common cathode", "diode bridge", "feedback pair"])
def test_a_word_is_put_where_it_covers_nothing_and_its_line_ends_at_its_nearest_edge(name):
    for section in drawn(name).sections:
        points = [(w.start, 3.0, 1.2) for w in section.wires[:3]]
        for spot in find_room(points, taken(section), section.box.grown(6)):
            assert not any(passes_through(w, spot.box) for w in section.wires)
            assert not any(overlap(spot.box, s.body) for s in section.symbols)
            assert abs(spot.box.right - spot.box.left - 3.0) < 1e-9
            x, y = spot.foot
            assert spot.box.left <= x <= spot.box.right and spot.box.top <= y <= spot.box.bottom
            corners = [At(a, b) for a in (spot.box.left, spot.box.right) for b in (spot.box.top, spot.box.bottom)]
            assert all(dist(spot.at, spot.foot) <= dist(spot.at, corner) + 1e-9 for corner in corners)


def test_where_all_is_taken_a_word_covers_the_least_and_stays_within_the_page():
    page = Box(0, 0, 20, 20)
    half = [Box(0, 0, 20, 9)]
    (spot,) = find_room([(At(10, 5), 4.0, 2.0)], half, page)
    assert spot.box.top >= 9
    (forced,) = find_room([(At(10, 10), 4.0, 2.0)], [page], page)
    assert page.left <= forced.box.left and forced.box.right <= page.right
    assert page.top <= forced.box.top and forced.box.bottom <= page.bottom


def test_two_words_about_one_place_do_not_cover_each_other():
    one, other = find_room([(At(0, 0), 5.0, 2.0), (At(0, 0), 5.0, 2.0)], [], Box(-30, -30, 30, 30))
    assert not overlap(one.box, other.box)


def test_a_protective_earth_is_drawn_at_the_mains_inlet_only():
    signs = {}
    for section in drawn("pi filter").sections:
        inlet = next((s for s in section.symbols if s.unit.ref == "P1"), None)
        for flag in section.flags:
            if flag.net == CHASSIS:
                is_inlet = inlet is not None and flag.at == inlet.ends["earth"]
                slanting = [s for s in flag.shapes if s.points[0].x != s.points[-1].x and
                            s.points[0].y != s.points[-1].y]  # fmt: skip
                signs.setdefault(is_inlet, []).append(len(slanting))
    assert len(signs[True]) == 1 and signs[True][0] < 3 and all(n >= 3 for n in signs[False])


def test_stages_that_share_nothing_but_supplies_are_drawn_apart():
    left = [valve("V1", "a1", "in", "chassis"), two("R1", "ht", "a1", "47k"), two("R2", "in", "chassis", "1M")]
    right = [valve("V2", "a2", "g2", "chassis"), two("R3", "ht", "a2", "47k"), two("R4", "g2", "chassis", "1M")]
    made = draw([BATTERY, INPUT, *left, *right])
    having = [{s.unit.ref for s in section.symbols} for section in made.sections if section.kind == SectionKind.SIGNAL]
    assert len(having) == 2 and {"V1", "R1", "R2", "J1"} in having and {"V2", "R3", "R4"} in having


def test_an_order_of_the_list_changes_no_connection():
    for name in ("common cathode", "grounded grid", "pi filter"):
        parts = SMALL[name]()
        for turned in (parts[::-1], parts[3:] + parts[:3]):
            made = draw(turned)
            assert traced(made) == wired(parts) and faults_of(made) == []


def test_a_valve_with_its_screen_on_its_anode_shows_the_joint():
    parts = [BATTERY, INPUT, pentode("V1", "a", "a", "in", "k"), two("R1", "ht", "a", "4k7"),
             two("R2", "k", "chassis", "1k"), can("C1", "k", "chassis", "22µ"),
             two("R3", "in", "chassis", "1M")]  # fmt: skip
    made = draw(parts)
    assert frozenset({("V1", "anode"), ("V1", "screen"), ("R1", "b")}) in traced(made)
