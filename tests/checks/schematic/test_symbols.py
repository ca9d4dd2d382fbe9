"""What a symbol shows must be so: polarity marks, arrows and leads, looked at as strokes in every turn they are drawn.

The forms are those of IEC 60617 as text books print them (from memory, as in the symbols themselves).
"""

from math import dist

import pytest

from checks.circuit.netlist.terminals import LISTED, NAMED
from checks.schematic import Component
from checks.schematic.flags import find_direction, flag
from checks.schematic.model import CHASSIS, At, Box, Ink, Unit
from checks.schematic.symbol_placing import other_end, turn_along
from checks.schematic.symbols import MIRROR, TURNS, draw_symbol, turned
from checks.schematic.symbols.others import transformer
from checks.schematic.symbols.two_ended import STROKES
from checks.schematic.units import list_units

WAYS = ("right", "left", "up", "down")
AWAY = {"right": (1, 0), "left": (-1, 0), "up": (0, -1), "down": (0, 1)}
VALVE_ENDS = {
    "triode": ("anode", "grid", "cathode"),
    "pentode": ("anode", "grid", "screen", "cathode"),
    "rectifier valve": ("anode_1", "anode_2", "cathode"),
}


def unit(kind, *terminals, name="", pins=None, form="", windings=()):
    names = terminals or VALVE_ENDS.get(kind) or list(LISTED.get(kind) or NAMED.get(kind) or ()) or ("a", "b")
    return Unit("X1", name, kind, {t: f"net.{t}" for t in names}, pins or {}, windings, (), form)


def near(point, other):
    return dist(point, other) < 1e-6


def on_stroke(point, shape):
    """Does the point lie on a line of the shape?"""
    pairs = list(zip(shape.points, shape.points[1:], strict=False))
    if shape.closed:
        pairs.append((shape.points[-1], shape.points[0]))
    return any(abs(dist(a, point) + dist(point, b) - dist(a, b)) < 1e-6 for a, b in pairs)


def crossed_strokes(symbol):
    """The middles of two short strokes that cross at right angles: the plus signs of a symbol."""
    lines = [s.points for s in symbol.shapes if len(s.points) == 2 and 0.4 <= dist(*s.points) <= 0.65]
    middles = [(At((a.x + b.x) / 2, (a.y + b.y) / 2), a.x == b.x) for a, b in lines]
    flat, tall = [m for m, is_tall in middles if not is_tall], [m for m, is_tall in middles if is_tall]
    return [m for m in flat if any(near(m, other) for other in tall)]


def triangles(symbol, ink=Ink.PAPER):
    return [s for s in symbol.shapes if s.ink == ink and s.closed and len(s.points) == 3]


@pytest.mark.parametrize("kind", STROKES)
@pytest.mark.parametrize("way", WAYS)
def test_a_part_with_two_ends_begins_at_its_terminal_and_leads_the_way_it_is_turned(kind, way):
    (first, second), _strokes = STROKES[kind]
    part = unit("diode" if kind == "led" else kind, first, second, form="led" if kind == "led" else "")
    for terminal in (first, second):
        symbol = turn_along(part, terminal, way)
        start, stop = symbol.ends[terminal], symbol.ends[other_end(part, terminal)]
        x, y = AWAY[way]
        assert near(start, (0, 0)) and near(stop, (4 * x, 4 * y))


EVERY_KIND = [*STROKES, "potentiometer", "triode", "pentode", "rectifier valve", "npn transistor", "pnp transistor"]
EVERY_KIND += ["n-channel mosfet", "p-channel mosfet", "op-amp", "regulator", "negative regulator", "bridge"]


@pytest.mark.parametrize("kind", EVERY_KIND)
@pytest.mark.parametrize("turn", [*TURNS.values(), MIRROR])
def test_a_stroke_of_the_symbol_touches_each_of_its_ends_and_its_body_covers_none(kind, turn):
    ends = STROKES[kind][0] if kind in STROKES else ()
    part = unit("diode" if kind == "led" else kind, *ends, form="led" if kind == "led" else "")
    symbol = turned(draw_symbol(part), turn)
    assert set(symbol.ends) >= set(part.joins)
    for end in symbol.ends.values():
        assert any(on_stroke(end, shape) for shape in symbol.shapes)
        assert not (symbol.body.left < end.x < symbol.body.right and symbol.body.top < end.y < symbol.body.bottom)


def touches(point, shape):
    if shape.radius:
        return dist(point, shape.points[0]) < 1e-6 or abs(dist(point, shape.points[0]) - shape.radius) < 0.01
    return on_stroke(point, shape)


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_lead_ends_at_what_it_leads_to(kind):
    """Nothing of a symbol hangs in the air: the inner end of each lead lies on another stroke."""
    ends = STROKES[kind][0] if kind in STROKES else ()
    symbol = draw_symbol(unit("diode" if kind == "led" else kind, *ends, form="led" if kind == "led" else ""))
    outer = [At(*end) for end in symbol.ends.values()]
    for lead in (
        s for s in symbol.shapes if len(s.points) > 1 and any(near(p, end) for p in s.points for end in outer)
    ):
        inner = [p for p in (lead.points[0], lead.points[-1]) if not any(near(p, end) for end in outer)]
        assert all(any(touches(p, other) for other in symbol.shapes if other is not lead) for p in inner)


@pytest.mark.parametrize("kind", ["electrolytic", "battery", "dc supply"])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("terminal", ["plus", "minus"])
def test_the_plus_sign_is_on_the_side_of_the_plus_terminal_however_it_is_turned(kind, way, terminal):
    symbol = turn_along(unit(kind, "plus", "minus"), terminal, way)
    (sign,) = crossed_strokes(symbol)
    assert dist(sign, symbol.ends["plus"]) + 0.5 < dist(sign, symbol.ends["minus"])


@pytest.mark.parametrize("kind", ["capacitor", "resistor", "inductor", "fuse", "thermistor"])
def test_a_part_without_polarity_has_no_plus_sign(kind):
    assert crossed_strokes(draw_symbol(unit(kind, "a", "b"))) == []


@pytest.mark.parametrize("way", WAYS)
def test_the_long_plate_of_a_battery_is_its_plus(way):
    symbol = turn_along(unit("battery", "plus", "minus"), "plus", way)
    plates = [s.points for s in symbol.shapes if dist(*s.points) >= 0.85]
    plates = [p for p in plates if not any(near(end, point) for end in symbol.ends.values() for point in p)]
    long, short = sorted(plates, key=lambda p: -dist(*p))
    halfway = [At((a.x + b.x) / 2, (a.y + b.y) / 2) for a, b in (long, short)]
    assert dist(halfway[0], symbol.ends["plus"]) < 2 < dist(halfway[1], symbol.ends["plus"])


@pytest.mark.parametrize("kind", ["diode", "zener", "led"])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("terminal", ["anode", "cathode"])
def test_the_triangle_of_a_diode_points_to_its_cathode(kind, way, terminal):
    part = unit("zener" if kind == "zener" else "diode", "anode", "cathode", form="led" if kind == "led" else "")
    symbol = turn_along(part, terminal, way)
    (triangle,) = triangles(symbol)
    anode, cathode = symbol.ends["anode"], symbol.ends["cathode"]
    on_axis = [p for p in triangle.points if abs(dist(anode, p) + dist(p, cathode) - dist(anode, cathode)) < 1e-6]
    assert len(on_axis) == 1
    assert all(dist(on_axis[0], cathode) < dist(p, cathode) for p in triangle.points if p != on_axis[0])
    bars = [s.points for s in symbol.shapes if len(s.points) == 2 and abs(dist(*s.points) - 1.2) < 1e-6]
    assert any(on_stroke(on_axis[0], s) for s in symbol.shapes if s.points in bars)


def test_only_a_breakdown_diode_has_a_bent_bar_and_only_a_led_has_rays():
    plain, zener, led = (
        draw_symbol(unit(kind, "anode", "cathode", form=form))
        for kind, form in (("diode", ""), ("zener", ""), ("diode", "led"))
    )
    (bend,) = [s for s in zener.shapes if s not in plain.shapes]
    assert bend.points[0] == At(2.5, -0.6) and bend.points[1].x < 2.5
    rays = [s for s in led.shapes if s not in plain.shapes]
    assert len(rays) == 4 and led.body.top < plain.body.top
    assert all(led.body.top <= p.y for ray in rays for p in ray.points)


def arrow_of(symbol):
    """(tip, back) of the only arrow head."""
    (head,) = triangles(symbol, Ink.FILLED)
    tip, one, two = head.points
    return tip, At((one.x + two.x) / 2, (one.y + two.y) / 2)


@pytest.mark.parametrize(("kind", "is_out"), [("npn transistor", True), ("pnp transistor", False)])
@pytest.mark.parametrize("turn", [TURNS["right"], MIRROR])
def test_the_arrow_of_a_bipolar_transistor_is_at_its_emitter_and_points_as_current_flows(kind, is_out, turn):
    """NPN: "not pointing in"."""
    symbol = turned(draw_symbol(unit(kind, "base", "collector", "emitter")), turn)
    tip, back = arrow_of(symbol)
    emitter, collector = symbol.ends["emitter"], symbol.ends["collector"]
    assert dist(tip, emitter) < dist(tip, collector)
    assert (dist(tip, emitter) < dist(back, emitter)) == is_out


@pytest.mark.parametrize(("kind", "is_in"), [("n-channel mosfet", True), ("p-channel mosfet", False)])
@pytest.mark.parametrize("turn", [TURNS["right"], MIRROR])
def test_the_arrow_of_a_mosfet_points_to_an_n_channel_and_from_a_p_channel(kind, is_in, turn):
    symbol = turned(draw_symbol(unit(kind, "gate", "drain", "source")), turn)
    tip, back = arrow_of(symbol)
    gate = symbol.ends["gate"]
    assert (abs(tip.x - gate.x) < abs(back.x - gate.x)) == is_in


@pytest.mark.parametrize(
    ("kind", "above", "below", "control"),
    [
        ("npn transistor", "collector", "emitter", "base"),
        ("pnp transistor", "emitter", "collector", "base"),
        ("n-channel mosfet", "drain", "source", "gate"),
        ("p-channel mosfet", "source", "drain", "gate"),
        ("triode", "anode", "cathode", "grid"),
        ("pentode", "anode", "cathode", "grid"),
        ("op-amp", "plus_supply", "minus_supply", "plus_input"),
    ],
)
def test_the_end_that_current_enters_stands_above_the_one_it_leaves_by(kind, above, below, control):
    ends = draw_symbol(unit(kind)).ends
    assert ends[above].y < 0 < ends[below].y and ends[above].x == ends[below].x
    assert ends[control].x < ends[above].x


def test_the_inputs_of_an_op_amp_carry_their_own_signs():
    symbol = draw_symbol(unit("op-amp"))
    (plus,) = crossed_strokes(symbol)
    assert plus.y == symbol.ends["plus_input"].y
    minus = [s for s in symbol.shapes if len(s.points) == 2 and abs(dist(*s.points) - 0.6) < 1e-6]
    flat = {p.y for s in minus for p in s.points if s.points[0].y == s.points[1].y}
    assert flat == {symbol.ends["minus_input"].y, symbol.ends["plus_input"].y}
    assert symbol.ends["output"].x > symbol.body.right > symbol.body.left > symbol.ends["plus_input"].x


def test_a_bridge_names_both_poles_beside_their_ends_and_its_diode_points_to_plus():
    symbol = draw_symbol(unit("bridge"))
    words = {t.lettering: t for t in symbol.texts}
    assert dist(words["+"].at, symbol.ends["plus"]) < 1.5 < dist(words["+"].at, symbol.ends["minus"])
    assert dist(words["–"].at, symbol.ends["minus"]) < 1.5 < dist(words["–"].at, symbol.ends["plus"])
    (triangle,) = triangles(symbol)
    tip = max(triangle.points, key=lambda p: p.x)
    assert tip.y == 0 and symbol.ends["plus"].x > tip.x
    assert {symbol.ends["ac1"].x, symbol.ends["ac2"].x} == {0}


@pytest.mark.parametrize("kind", ["regulator", "negative regulator"])
def test_a_regulator_names_its_ends_where_they_are(kind):
    symbol = draw_symbol(unit(kind))
    for word, terminal in (("IN", "input"), ("OUT", "output"), ("COM", "common")):
        text = next(t for t in symbol.texts if t.lettering == word)
        nearest = min(symbol.ends, key=lambda t: dist(symbol.ends[t], text.at))
        assert nearest == terminal


@pytest.mark.parametrize("kind", ["triode", "pentode", "rectifier valve"])
@pytest.mark.parametrize("turn", [TURNS["right"], MIRROR])
def test_each_pin_number_of_a_valve_is_nearest_to_its_own_end(kind, turn):
    pins = {terminal: str(n) for n, terminal in enumerate(VALVE_ENDS[kind], 1)}
    symbol = turned(draw_symbol(unit(kind, pins=pins)), turn)
    assert {t.lettering for t in symbol.texts} == set(pins.values())
    for terminal, pin in pins.items():
        text = next(t for t in symbol.texts if t.lettering == pin)
        assert min(symbol.ends, key=lambda t: dist(symbol.ends[t], text.at)) == terminal
        assert not any(text.box.left < end.x < text.box.right and text.box.top < end.y < text.box.bottom
                       for end in symbol.ends.values())  # fmt: skip


@pytest.mark.parametrize("kind", ["npn transistor", "p-channel mosfet"])
def test_each_lead_number_of_a_transistor_is_nearest_to_its_own_end(kind):
    names = LISTED.get(kind) or NAMED[kind]
    pins = {terminal: str(n) for n, terminal in enumerate(names, 1)}
    symbol = draw_symbol(unit(kind, pins=pins))
    for terminal, pin in pins.items():
        text = next(t for t in symbol.texts if t.lettering == pin)
        assert min(symbol.ends, key=lambda t: dist(symbol.ends[t], text.at)) == terminal


@pytest.mark.parametrize("third", ["suppressor", "grid_3", "beam"])
def test_a_third_grid_has_an_end_only_where_it_is_wired(third):
    names = VALVE_ENDS["pentode"]
    assert third not in draw_symbol(unit("pentode")).ends
    wired = draw_symbol(unit("pentode", *names, third))
    assert third in wired.ends and wired.ends[third] != wired.ends["grid"]
    inside, outside = ([s for s in made.shapes if len(s.points) == 4 and not s.closed and s.points[0].y < 0]
                       for made in (draw_symbol(unit("pentode")), wired))  # fmt: skip
    assert len(inside) == 1 and outside == []  # the joint to the cathode inside the valve


def test_a_rectifier_valve_with_one_anode_has_one_plate_on_its_axis():
    one = draw_symbol(unit("rectifier valve", "anode_1", "cathode"))
    both = draw_symbol(unit("rectifier valve"))
    assert one.ends == {"anode_1": At(-4, 0), "cathode": At(4, 0)}
    assert both.ends["anode_1"].y == -both.ends["anode_2"].y != 0


def test_the_halves_of_a_double_triode_are_open_to_each_other():
    """The dashed part of each envelope is where the other section is."""
    for name, side in (("a", 1), ("b", -1)):
        ends = [f"{name}.{t}" for t in VALVE_ENDS["triode"]]
        dashed = [s for s in draw_symbol(unit("twin triode", *ends, name=name)).shapes if s.ink == Ink.DASHED]
        assert len(dashed) == 1 and sum(p.x for p in dashed[0].points) * side > 0
    assert not any(s.ink == Ink.DASHED for s in draw_symbol(unit("triode")).shapes)


def heater(**joins):
    names = {"one": "heater.1", "two": "heater.2", "tap": "heater_centre"}
    return draw_symbol(Unit("V1", "heater", "heater", {names[k]: net for k, net in joins.items()}, {}))


def test_a_heater_in_series_stands_between_two_lines_and_one_in_parallel_has_its_tap_below():
    series = heater(one="h1", two="h2", tap="mid")
    assert series.ends["heater.1"].y < 0 < series.ends["heater.2"].y and series.ends["heater_centre"].x < 0
    parallel = heater(one="h1", two="h1", tap="h2")
    assert parallel.ends["heater.1"].y == parallel.ends["heater.2"].y < 0 < parallel.ends["heater_centre"].y
    assert set(heater(one="h1", two="h2").ends) == {"heater.1", "heater.2"}
    assert set(heater(one="h1", two="h1").ends) == {"heater.1", "heater.2"}


def windings(*rows):
    names = [(name, tuple(f"{name}.{n}" for n in range(1, ends + 1)), words) for name, ends, words in rows]
    joins = {t: f"n.{t}" for _name, terminals, _words in names for t in terminals}
    return Unit("T1", "", "mains transformer", joins, {}, tuple(names))


def test_the_primaries_of_a_transformer_are_left_and_all_else_right_in_the_order_of_the_list():
    made = draw_symbol(windings(("ht", 3, "300 V"), ("primary", 3, "230 V"), ("heater", 2, "6.3 V")))
    sides = {name: at.x for name, at in made.ends.items()}
    assert {x for name, x in sides.items() if name.startswith("primary")} == {-4}
    assert {x for name, x in sides.items() if not name.startswith("primary")} == {4}
    rows = [made.ends[name].y for name in ("ht.1", "ht.2", "ht.3", "heater.1", "heater.2")]
    assert rows == sorted(set(rows))
    assert made.ends["ht.2"].y * 2 == made.ends["ht.1"].y + made.ends["ht.3"].y  # a tap in the middle
    for words, winding in (("300 V", "ht"), ("230 V", "primary"), ("6.3 V", "heater")):
        text = next(t for t in made.texts if t.lettering == words)
        nearest = min(made.ends, key=lambda name: dist(made.ends[name], text.at))
        assert nearest.startswith(winding)


def test_a_transformer_without_a_primary_by_name_has_its_first_winding_left():
    made = draw_symbol(windings(("one", 2, ""), ("other", 2, "")))
    assert made.ends["one.1"].x == -4 and made.ends["other.1"].x == 4


def test_a_transformer_turned_over_swaps_its_left_ends_from_top_to_bottom_and_leaves_the_right_ones():
    part = windings(("primary a", 2, ""), ("primary b", 2, ""), ("secondary", 2, ""))
    plain, over = transformer(part), transformer(part, turned_over=True)
    left = ["primary a.1", "primary a.2", "primary b.1", "primary b.2"]
    assert sorted(left, key=lambda n: plain.ends[n].y) == left
    assert sorted(left, key=lambda n: over.ends[n].y) == left[::-1]
    assert {n: plain.ends[n] for n in plain.ends if n not in left} == {
        n: over.ends[n] for n in over.ends if n not in left
    }


def test_the_core_of_a_transformer_is_as_tall_as_its_windings_and_crosses_no_coil():
    made = draw_symbol(windings(("primary", 2, ""), ("ht", 3, ""), ("heater", 2, "")))
    core = [s for s in made.shapes if len(s.points) == 2 and s.points[0].x == s.points[1].x]
    assert len(core) == 2
    low = max(at.y for at in made.ends.values())
    assert all(min(p.y for p in s.points) < 0 and max(p.y for p in s.points) > low for s in core)
    assert {s.points[0].x for s in core} == {-0.25, 0.25}
    coils = [s for s in made.shapes if len(s.points) > 2]
    assert all(abs(p.x) > 0.25 for s in coils for p in s.points)
    for side in (-1, 1):  # the half turns follow each other from end to end of each winding
        rows = sorted((s.points[0].y, s.points[-1].y) for s in coils if s.points[0].x * side > 0)
        assert all(abs(stop - start - 1) < 1e-6 for start, stop in (sorted(pair) for pair in rows))


def test_a_connector_names_each_terminal_in_its_row():
    made = draw_symbol(unit("connector", "live", "neutral", "earth"))
    assert [made.ends[t] for t in ("live", "neutral", "earth")] == [At(0, 0), At(0, 2), At(0, 4)]
    assert {(t.lettering, t.at.y) for t in made.texts} == {("live", 0), ("neutral", 2), ("earth", 4)}
    longest = draw_symbol(unit("connector", "a very long name of a terminal"))
    assert longest.texts[0].box.left > longest.body.left


def test_a_loudspeaker_is_drawn_at_its_terminals_and_only_where_it_is_one():
    plain, speaker = (draw_symbol(unit("connector", "plus", "minus", form=form)) for form in ("", "speaker"))
    assert len(speaker.shapes) == len(plain.shapes) + 2 and speaker.body.left < plain.body.left
    assert all(p.x >= speaker.body.left for s in speaker.shapes for p in s.points)


def test_a_kind_that_has_no_symbol_is_refused():
    with pytest.raises(KeyError):
        draw_symbol(unit("theremin"))


@pytest.mark.parametrize(
    ("at", "way"), [((-4, 0), "left"), ((4, 0), "right"), ((0, -4), "up"), ((0, 4), "down"), ((0, 0), "right")]
)
def test_a_flag_leaves_by_the_side_its_end_is_on(at, way):
    assert find_direction(At(*at), Box(-3, -3, 3, 3)) == way


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("net", ["B+", "a.long.name", CHASSIS])
def test_a_flag_lies_wholly_on_the_side_it_is_pointed_to_and_begins_at_its_point(way, net):
    at = At(7, 5)
    made = flag(net, at, way)
    assert any(on_stroke(at, shape) for shape in made.shapes)
    for x, y in (p for s in made.shapes for p in s.points):
        assert made.box.grown(1e-6).left <= x <= made.box.grown(1e-6).right
        assert min(at.y, made.box.top) - 1e-6 <= y <= max(at.y, made.box.bottom) + 1e-6
    assert [t.lettering for t in made.texts] == ([] if net == CHASSIS else [net])
    if net == CHASSIS:
        assert made.box.top >= at.y  # the chassis is always drawn hanging down
        return
    middle = At((made.box.left + made.box.right) / 2, (made.box.top + made.box.bottom) / 2)
    x, y = AWAY[way]
    assert (middle.x - at.x) * x + (middle.y - at.y) * y > 0.5
    assert made.texts[0].box.left >= made.box.left and made.texts[0].box.right <= made.box.right


@pytest.mark.parametrize(("way", "sign"), [("up", -1), ("down", 1)])
def test_a_rail_above_or_below_ends_in_a_bar_with_its_name_beyond(way, sign):
    made = flag("B+", At(7, 5), way)
    lead, bar = made.shapes
    assert on_stroke(lead.points[1], bar) and bar.points[0].y == bar.points[1].y
    assert bar.points[0].x + bar.points[1].x == pytest.approx(14) and dist(*bar.points) == pytest.approx(1.6)
    beyond = (made.texts[0].at.y - bar.points[0].y) * sign
    assert 0.5 < beyond < 0.8 and made.texts[0].at.x == 7  # half its height away, and no more
    assert made.box.top <= made.texts[0].box.top and made.texts[0].box.bottom <= made.box.bottom


def test_the_protective_earth_is_drawn_unlike_the_chassis():
    """Three bars that grow shorter downwards, against one with slanting strokes (IEC 60617-2, from memory)."""
    earth, chassis = flag(CHASSIS, At(0, 0), "down", is_earth=True), flag(CHASSIS, At(0, 0), "down")
    bars = [s.points for s in earth.shapes[1:]]
    widths = [dist(*points) for points in bars]
    assert len(bars) == 3 and widths == sorted(widths, reverse=True)
    assert all(a.y == b.y for a, b in bars) and [a.y for a, _b in bars] == sorted({a.y for a, _b in bars})
    slanting = [s for s in chassis.shapes if s.points[0].x != s.points[-1].x and s.points[0].y != s.points[-1].y]
    assert len(slanting) == 3 and not any(s in earth.shapes for s in slanting)
    bar = next(s for s in chassis.shapes if s.points[0].y == s.points[-1].y)
    assert all(on_stroke(s.points[0], bar) for s in slanting)
    leaning = {(round(s.points[1].x - s.points[0].x, 6), round(s.points[1].y - s.points[0].y, 6)) for s in slanting}
    assert len(leaning) == 1  # all the same way


def valve(kind, joins, pins=None):
    return Component("V1", kind, joins, pins or {}, (), ("ECC83",))


def test_a_valve_is_drawn_by_its_sections_and_its_heater_without_a_caption():
    joins = {f"{s}.{t}": f"{s}{t}" for s in "ab" for t in VALVE_ENDS["triode"]}
    joins |= {"heater.1": "h1", "heater.2": "h1", "heater_centre": "h2"}
    units, left_out = list_units([valve("twin triode", joins, {"a.anode": "1", "heater.1": "4"})])
    assert [u.key for u in units] == [("V1", "a"), ("V1", "b"), ("V1", "heater")] and not left_out
    assert [u.label for u in units] == ["V1a", "V1b", "V1"]
    assert [u.captions for u in units] == [("ECC83",), ("ECC83",), ()]
    assert [dict(u.pins) for u in units] == [{"a.anode": "1"}, {}, {"heater.1": "4"}]
    assert set(units[2].joins) == {"heater.1", "heater.2", "heater_centre"}


def test_every_terminal_that_joins_something_belongs_to_exactly_one_symbol():
    joins = {t: f"n{t}" for t in (*VALVE_ENDS["pentode"], "suppressor", "heater.1", "heater.2")}
    units, _left_out = list_units([valve("pentode", joins)])
    assert sorted(t for u in units for t in u.joins) == sorted(joins)


def test_hardware_and_the_parts_of_a_test_are_named_as_left_out_even_where_they_are_wired():
    rows = [Component(ref, kind, {"a": "x", "b": "y"}) for ref, kind in
            (("H1", "hardware"), ("RT1", "test resistor"), ("BT1", "test battery"), ("R1", "resistor"))]  # fmt: skip
    units, left_out = list_units(rows)
    assert [u.ref for u in units] == ["R1"] and left_out == ["H1", "RT1", "BT1"]


def test_a_heater_that_is_not_wired_is_no_symbol_and_is_not_named_as_missing():
    units, left_out = list_units([valve("triode", {"anode": "a", "grid": "g", "cathode": "k"})])
    assert [u.name for u in units] == [""] and left_out == []
