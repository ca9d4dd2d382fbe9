"""Where things stand on drawings: pins of sockets from below, bands, needles and stops on scales, chips, axes."""

import math
from itertools import combinations
from types import SimpleNamespace

import pytest

from builds.ui.drawings.chips import PAD, PICTURE_SQUARES, Chip, chips_svg, spots_on_picture, spots_on_schematic
from builds.ui.drawings.curves import FOOT, TOP, Axes
from builds.ui.drawings.curves import LEFT as AXIS
from builds.ui.drawings.curves import RIGHT as END
from builds.ui.drawings.descriptions import describe_scale, describe_socket
from builds.ui.drawings.plot import Curve, Mark
from builds.ui.drawings.scale import LEFT, RIGHT, make_scale
from builds.ui.drawings.scale_marks import LETTER, WIDTH, figures_on, list_marks
from builds.ui.drawings.schematic import build_drawing, find_size, list_undrawn, schematic_file, sections_down
from builds.ui.drawings.socket import BASES, CENTRE, find_base, list_pins
from checks.errors import CallerError
from checks.schematic import draw
from checks.schematic.model import At
from tests.checks.schematic.kits import can, part, two
from tests.checks.schematic.small import BATTERY, SMALL

# Degrees clockwise from straight down, the valve's key or gap below, seen from below (IEC 60067; UX4 from memory).
DEGREES = {
    "B9A": [36, 72, 108, 144, 180, 216, 252, 288, 324],
    "B7G": [45, 90, 135, 180, 225, 270, 315],
    "octal": [22.5, 67.5, 112.5, 157.5, 202.5, 247.5, 292.5, 337.5],
    "loctal": [22.5, 67.5, 112.5, 157.5, 202.5, 247.5, 292.5, 337.5],
    "UX4": [45, 135, 225, 315],
}


def angle(pin):
    return math.degrees(math.atan2(-(pin.x - CENTRE), pin.y - CENTRE)) % 360


@pytest.mark.parametrize("base", DEGREES)
def test_the_pins_of_a_socket_stand_at_the_angles_of_its_sheet(base):
    for name in (base, f"{base} cap"):
        if name in BASES:
            assert [angle(pin) for pin in list_pins(name)] == pytest.approx(DEGREES[base])


def test_from_below_the_first_pin_is_left_of_the_gap_and_the_last_right_of_it():
    for name in BASES:
        first, *_between, last = list_pins(name)
        assert first.x < CENTRE < last.x and first.y == pytest.approx(last.y) and first.y > CENTRE


def test_of_a_noval_socket_pin_five_faces_the_gap_and_of_an_octal_one_no_pin_does():
    five = list_pins("B9A")[4]
    assert (five.x, five.number) == (pytest.approx(CENTRE), "5") and five.y < CENTRE
    assert all(abs(pin.x - CENTRE) > 5 for pin in list_pins("octal"))
    for one in range(4):  # octal pins face each other: 1 and 5, 2 and 6, …
        a, b = list_pins("octal")[one], list_pins("octal")[one + 4]
        assert (a.x + b.x) / 2 == pytest.approx(CENTRE) and (a.y + b.y) / 2 == pytest.approx(CENTRE)


@pytest.mark.parametrize("name", BASES)
def test_no_pin_touches_another_and_each_number_stands_inside_its_pin(name):
    pins = list_pins(name)
    for a, b in combinations(pins, 2):
        assert math.dist((a.x, a.y), (b.x, b.y)) > a.radius + b.radius
        assert math.dist((a.label_x, a.label_y), (b.label_x, b.label_y)) > 12
    for pin in pins:
        assert math.dist((pin.label_x, pin.label_y), (CENTRE, CENTRE)) < math.dist((pin.x, pin.y), (CENTRE, CENTRE))
        nearest = min(pins, key=lambda other: math.dist((other.x, other.y), (pin.label_x, pin.label_y)))
        assert nearest is pin


@pytest.mark.parametrize("name", ["", "B9G", "noval", "UX8"])
def test_a_base_that_is_not_drawn_is_refused(name):
    with pytest.raises(CallerError):
        find_base(name)


def test_the_words_of_a_socket_name_both_probes_and_a_cap():
    said = describe_socket(find_base("octal"), "V2", red="3", black="8")
    assert "V2" in said and "pin 3" in said and "pin 8" in said and "from below" in said
    assert said.index("Red") < said.index("Black")
    assert "probe" not in describe_socket(find_base("octal"), "V2")
    assert "cap" in describe_socket(find_base("octal cap"), "V2", red="cap")


def place(scale, value):
    return LEFT + (RIGHT - LEFT) * (value - scale.start) / (scale.end - scale.start)


@pytest.mark.parametrize(("low", "high"), [(270, 330), (0, 5), (-40, -30), (-1, 1), (0.001, 0.002), (1e6, 2e6)])
def test_a_band_takes_the_middle_of_its_scale_and_stands_where_its_limits_are(low, high):
    scale = make_scale(low, high, expected=(low + high) / 2)
    assert scale.low_x == pytest.approx(place(scale, low)) and scale.high_x == pytest.approx(place(scale, high))
    assert scale.band_x == scale.low_x and scale.band_x + scale.band_width == pytest.approx(scale.high_x)
    assert scale.expected_x == pytest.approx((scale.low_x + scale.high_x) / 2)
    assert LEFT < scale.low_x < scale.high_x < RIGHT
    assert 0.3 < scale.band_width / (RIGHT - LEFT) < 0.75


@pytest.mark.parametrize(("low", "high"), [(None, 330), (270, None), (0, None), (None, 0), (None, -5)])
def test_a_band_open_on_one_side_runs_to_the_end_there(low, high):
    scale = make_scale(low, high)
    assert (scale.low_x is None) == (low is None) and (scale.high_x is None) == (high is None)
    if low is None:
        assert scale.band_x == LEFT and scale.band_x + scale.band_width == pytest.approx(scale.high_x)
    else:
        assert scale.band_x == scale.low_x and scale.band_x + scale.band_width == pytest.approx(RIGHT)


def test_a_band_of_no_width_is_drawn_all_the_same():
    for value in (0, 5, -5):
        scale = make_scale(value, value)
        assert scale.band_width >= 1 and LEFT < scale.low_x < RIGHT


@pytest.mark.parametrize("value", [250, 270, 300, 330, 345])
def test_a_needle_stands_at_its_reading_with_its_uncertainty_on_both_sides(value):
    scale = make_scale(270, 330, values=[value], u=2)
    (needle,) = scale.needles
    assert needle.x == pytest.approx(place(scale, value)) and not needle.outside
    assert needle.left + needle.width / 2 == pytest.approx(needle.x)
    assert needle.width == pytest.approx(2 * 2 * (RIGHT - LEFT) / (scale.end - scale.start))
    assert (needle.x < scale.low_x) == (value < 270) and (needle.x > scale.high_x) == (value > 330)


@pytest.mark.parametrize(("value", "x"), [(1e6, RIGHT), (-1e6, LEFT)])
def test_a_reading_far_off_stands_at_the_end_and_says_so(value, x):
    (needle,) = make_scale(270, 330, values=[value]).needles
    assert needle.outside and needle.x == x


@pytest.mark.parametrize("value", [None, math.inf, -math.inf, math.nan])
def test_what_is_no_reading_has_no_needle(value):
    assert make_scale(270, 330, values=[value, 300]).needles[0].x == make_scale(270, 330, values=[300]).needles[0].x
    assert len(make_scale(270, 330, values=[value]).needles) == 0


@pytest.mark.parametrize("above", [335, 400, 500])
def test_a_stop_near_the_band_is_on_the_scale_beyond_it(above):
    scale = make_scale(270, 330, stop_above=above, stop_below=600 - above)
    assert scale.stop_from == pytest.approx(place(scale, above)) and scale.stop_to == RIGHT
    assert scale.stop_from > scale.high_x and scale.stop_low_to < scale.low_x
    assert scale.stop_low_to == pytest.approx(place(scale, 600 - above))


def test_a_stop_far_away_is_off_the_scale_and_still_has_its_number_and_an_arrow():
    scale = make_scale(270, 330, stop_above=5000)
    assert scale.stop_from is None
    figures = figures_on("V", low=270, high=330, stop_above=5000)
    made = list_marks(scale, figures)
    (stop,) = [m for m in made.marks if "off above" in m.text]
    assert stop.text.endswith("→") and made.hatched[0][0] >= RIGHT


@pytest.mark.parametrize("sides", [("stop_above",), ("stop_below",), ("stop_above", "stop_below")])
def test_each_stop_is_hatched_on_its_own_side(sides):
    values = {"stop_above": 350, "stop_below": 250}
    scale = make_scale(270, 330, **{s: values[s] for s in sides})
    made = list_marks(scale, figures_on("V", low=270, high=330, **{s: values[s] for s in sides}))
    assert len(made.hatched) == len(sides)
    for x, width, path in made.hatched:
        is_low = x + width <= scale.low_x
        assert is_low or x >= scale.high_x
        assert ("stop_below" in sides) if is_low else ("stop_above" in sides)
        assert path.count("M") >= width / 6 - 1
    words = {m.text for m in made.marks}
    assert ("off above 350 V" in words, "off below 250 V" in words) == ("stop_above" in sides, "stop_below" in sides)


def test_absent_figures_are_left_out():
    assert figures_on("V", low=270, high=None, value=0) == {"low": "270 V", "value": "0 V"}


def test_a_needles_figure_stays_on_the_drawing_at_both_ends():
    for value, arrow in ((10_000, "→"), (-10_000, "←")):
        scale = make_scale(270, 330, values=[value])
        made = list_marks(scale, figures_on("V", low=270, high=330, value=value), value)
        (mark,) = [m for m in made.marks if arrow in m.text]
        assert mark.x - LETTER * len(mark.text) / 2 >= -1e-9 and mark.x + LETTER * len(mark.text) / 2 <= WIDTH + 1e-9


@pytest.mark.parametrize(("figures", "words"), [
    ({"low": "270 V", "high": "330 V"}, "Band from 270 V to 330 V."),
    ({"low": "270 V"}, "Band from 270 V."),
    ({"high": "330 V"}, "Band up to 330 V."),
    ({}, ""),
    ({"high": "1 V", "stop_above": "5 V", "stop_below": "−5 V"},
     "Band up to 1 V. Switch off above 5 V. Switch off below −5 V."),
])  # fmt: skip
def test_a_scale_in_words_says_its_band_and_every_stop(figures, words):
    assert describe_scale(figures, "in band") == words  # no verdict without a reading


def test_a_scale_in_words_gives_the_verdict_after_the_reading():
    said = describe_scale({"low": "1 V", "high": "2 V", "value": "1.5 V"}, "in band")
    assert said.endswith("Reading 1.5 V. Verdict: in band.")
    assert "Verdict" not in describe_scale({"low": "1 V", "high": "2 V", "value": "1.5 V"})


AXES = Axes(10.0, 100_000.0, -120.0, 0.0)


@pytest.mark.parametrize(("hertz", "share"), [(10, 0), (100, 0.25), (1000, 0.5), (100_000, 1), (1, 0), (1e9, 1)])
def test_every_decade_is_as_wide_as_the_next_and_nothing_leaves_the_axes(hertz, share):
    assert AXES.x(hertz) == pytest.approx(AXIS + (END - AXIS) * share)


@pytest.mark.parametrize(("level", "share"), [(-120, 0), (-60, 0.5), (0, 1), (-500, 0), (20, 1)])
def test_levels_rise_upwards_and_stay_within_the_axes(level, share):
    assert AXES.y(level) == pytest.approx(FOOT - (FOOT - TOP) * share)


def test_a_curve_holds_only_what_its_axes_show():
    made = AXES.curve([5, 10, 100, 200_000], [-1, -2, -3, -4])
    assert len(made.points) == 2 and made.points[0] == (pytest.approx(AXIS), AXES.y(-2))
    assert Curve(((0.0, 1.0), (2.25, 3.0))).path == "M0.0 1.0L2.2 3.0"
    assert Mark(10, 20, "cross").path.startswith("M10.0 20.0")


def test_the_number_of_a_chip_comes_first_and_its_box_holds_its_longest_line():
    chip = Chip(3, ("305 V", "read 298 V"))
    assert chip.numbered_lines == ("3: 305 V", "read 298 V")
    assert Chip(4, ()).numbered_lines == ("4",) and Chip(4, ("", "x")).numbered_lines == ("4", "x")
    wide, high = chip.size
    assert wide > 2 * PAD + 0.6 * len("read 298 V") and high > Chip(3, ("305 V",)).size[1]


def test_chips_on_a_picture_cover_neither_each_other_nor_leave_it():
    chips = [(Chip(n, ("305 V", "298 V")), At(100 + 40 * n, 300)) for n in range(1, 6)]
    spots = spots_on_picture(1000, 800, chips)
    assert [chip.number for chip, _spot in spots] == [1, 2, 3, 4, 5]
    square = 1000 / PICTURE_SQUARES
    for n, (_chip, spot) in enumerate(spots):
        assert spot.at == (pytest.approx((140 + 40 * n) / square), pytest.approx(300 / square))
        assert 0 <= spot.box.left < spot.box.right <= PICTURE_SQUARES
        assert 0 <= spot.box.top < spot.box.bottom <= 800 / square
    assert not any(a.box.overlaps(b.box) for (_c, a), (_d, b) in combinations(spots, 2))


def test_chips_on_a_schematic_move_with_their_section():
    made = draw(SMALL["common cathode"]())
    last = len(made.sections) - 1
    at = made.sections[last].symbols[0].body
    ((_chip, spot),) = spots_on_schematic(made, [(Chip(1, ("6.3 V",)), last, At(at.left, at.top))])
    _section, dx, dy = sections_down(made)[last]
    assert spot.at == (at.left + dx, at.top + dy)
    assert spot.box.left >= 0 and spot.box.bottom <= find_size(made).bottom + 3


def test_a_chip_with_an_address_leads_there_and_its_words_are_escaped():
    chips = [(Chip(1, ("<b>5 V</b>",), "in-band", "/c/1?a=1&b=2"), At(10, 10)), (Chip(2, ("6 V",)), At(500, 300))]
    svg = chips_svg(spots_on_picture(1000, 800, chips))
    assert svg.count("<a ") == 1 and 'href="/c/1?a=1&amp;b=2"' in svg
    assert "<b>" not in svg and "&lt;b&gt;5 V" in svg and 'class="map-chip in-band"' in svg
    assert svg.rindex("map-point") < svg.index("map-chip")  # no marker hides words


def test_sections_of_a_schematic_stand_under_each_other_without_touching():
    made = draw(SMALL["common cathode"]())
    boxes = [section.box.moved(x, y) for section, x, y in sections_down(made)]
    assert len(boxes) > 1 and all(box.left == 0 for box in boxes) and boxes[0].top == 0
    assert all(one.bottom < other.top for one, other in zip(boxes, boxes[1:], strict=False))
    whole = find_size(made)
    assert whole.bottom == pytest.approx(boxes[-1].bottom) and whole.right == max(box.right for box in boxes)


@pytest.mark.parametrize(("zoom", "shown"), [("1", "1"), ("4", "4"), ("5", "1"), ("", "1"), (None, "1"), ("<", "1")])
def test_a_schematic_is_shown_as_large_as_offered_and_no_larger(zoom, shown):
    made = build_drawing(draw([two("R1", "x", "chassis", "1k"), can("C1", "x", "chassis", "10µ"), BATTERY]), zoom)
    assert made["zoom"] == shown and made["parts"] == 3 and made["undrawn"] == []
    assert build_drawing(None) is None


def test_words_of_a_parts_list_are_escaped_in_the_drawing():
    made = draw([two("R1", "<x>", "chassis", "<4k7>"), part("B1", "battery", {"plus": "<x>", "minus": "chassis"})])
    svg = schematic_file(made, "A & B")
    assert "<4k7>" not in svg and "&lt;4k7&gt;" in svg and "<title>A &amp; B</title>" in svg


def test_what_found_no_room_is_listed_with_the_points_it_joins():
    unit = SimpleNamespace(label="R1", nets={"b", "a"})
    assert list_undrawn(SimpleNamespace(undrawn=[unit])) == ["R1 (a, b)"]
