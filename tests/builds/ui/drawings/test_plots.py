"""Charts: a table behind each, marks told apart without colour, nothing drawn outside."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.ui.drawings.order_plot import Point, order_plot
from builds.ui.drawings.plot import PATHS, SHAPES, Mark, Plot
from builds.ui.drawings.share_plot import LEFT, RIGHT, share_plot
from builds.ui.messages.outcomes import OUTDATED, outcome_label
from checks.band import Band
from checks.errors import ChecksError
from checks.statistics.proportions import wilson

BAND = Band(270.0, 330.0, 300.0, stop_above=400.0)
OUTCOMES = ("in band", "too close to call", "out of band", "switch off")


def plot(*points, band=BAND):
    return order_plot("B+", "V", band, points)


def test_every_outcome_has_a_shape_of_its_own():
    outcomes = (*OUTCOMES, OUTDATED)
    shapes = [SHAPES[o] for o in outcomes] + [SHAPES["earlier"]]
    assert len(set(shapes)) == 6
    drawn = [re.sub(r"M\S+ \S+?(?=m)", "", Mark(10, 10, s).path) for s in shapes[:-1]]
    assert len(set(drawn)) == 5


@pytest.mark.parametrize("outcome", [*OUTCOMES, OUTDATED])
def test_the_legend_says_of_each_mark_what_the_reading_is(outcome):
    assert dict(plot(Point("B-01", 330.0, outcome)).legend) == {SHAPES[outcome]: outcome_label(outcome)}


def test_the_table_behind_has_every_build():
    made = plot(
        Point("001", 301.0, "in band"),
        Point("002", 345.0, "out of band"),
        Point("003", 300.0, "in band", 250.0, "out of band"),
        Point("004", None, "out of band"),
    )
    assert made.rows == (
        ("001", "301 V", "301 V", "in band"),
        ("002", "345 V", "345 V", "out of band"),
        ("003", "250 V", "300 V", "in band"),
        ("004", "over range", "over range", "out of band"),
    )
    assert made.description == "B+: 4 builds by serial number, 2 not in band."
    assert sorted(m.shape for m in made.marks) == ["cross", "dot", "dot", "ring"]
    assert [shape for shape, _ in made.legend] == ["dot", "cross", "ring"]


def test_a_single_build_is_described_as_one():
    assert plot(Point("001", 352.0, "out of band")).description == "B+: 1 build, 1 not in band."


def test_a_build_far_off_is_drawn_at_the_edge_with_its_figure():
    made = plot(Point("001", 300.0, "in band"), Point("002", 0.0, "out of band"))
    assert "↓ 0 V" in [label.text for label in made.labels]
    over = plot(Point("001", 300.0, "in band"), Point("002", 900.0, "out of band"))
    assert "↑ 900 V" in [label.text for label in over.labels]
    first = plot(Point("001", 300.0, "in band", 900.0, "out of band"))
    assert "↑ 900 V" in [label.text for label in first.labels]
    near = plot(Point("001", 300.0, "in band"), Point("002", 345.0, "out of band"))
    assert not any("↑" in label.text for label in near.labels)


def test_the_figure_of_a_stray_touches_neither_its_mark_nor_a_limit():
    for stray in (0.064, 900.0):
        made = plot(Point("001", 301.0, "in band"), Point("003", stray, "out of band"), Point("004", 299.0, "in band"))
        mark = next(m for m in made.marks if m.shape == "cross")
        label = next(t for t in made.labels if t.y == mark.y + 3.5 and t.anchor == "start" and t.x > mark.x)
        assert label.x - mark.x > 4  # half the mark is 3
        limits = [line.y1 for line in made.lines if line.look == "limit"]
        assert all(abs(y - mark.y) > 7 for y in limits)  # more than half the height of the text


def test_no_rule_runs_through_a_name():
    made = share_plot("Shares.", [("Unpack and count", wilson(9, 10)), ("Supply", wilson(4, 5))])
    for name in (t for t in made.labels if t.anchor == "start" and "%" not in t.text):
        assert not any(
            line.x1 == line.x2 and min(line.y1, line.y2) < name.y - 1 < max(line.y1, line.y2) for line in made.lines
        )


def test_no_readings_give_no_chart():
    assert plot(Point("001", None, "out of band")) is None
    assert share_plot("Yield.", [("Stage", wilson(0, 0))]) is None


@pytest.mark.lengthy
@given(
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.sampled_from(OUTCOMES)), min_size=1, max_size=30),
    st.sampled_from([BAND, Band(1e6, None), Band(None, 0.5), None]),
)
def test_nothing_is_drawn_outside(values, band):
    made = plot(*(Point(f"{n:03d}", v, o) for n, (v, o) in enumerate(values)), band=band)
    for mark in made.marks:
        assert 0 <= mark.x <= made.width and 0 <= mark.y <= made.height
    for box in made.boxes:
        assert box.height > 0 and box.y >= 0 and box.y + box.height <= made.height
    assert len(made.rows) == len(values)


def test_a_share_stands_where_its_figure_says():
    made = share_plot("Yield.", [("Supply", wilson(9, 12))])
    (mark,) = made.marks
    assert mark.x == pytest.approx(LEFT + 0.75 * (RIGHT - LEFT))
    whiskers = [line for line in made.lines if line.look == "whisker" and line.y1 == line.y2]
    # Newcombe 1998 (Statist. Med. 17:857) gives the score interval; 9 of 12 by its formula: 0.4677 to 0.9111
    assert (whiskers[0].x1 - LEFT) / (RIGHT - LEFT) == pytest.approx(0.4677, abs=5e-4)
    assert (whiskers[0].x2 - LEFT) / (RIGHT - LEFT) == pytest.approx(0.9111, abs=5e-4)
    assert made.rows == (("Supply", "9 of 12", "75%", "47% to 91%"),)


@pytest.mark.parametrize(("description", "rows"), [("", (("a",),)), ("A chart.", ()), ("A chart.", (("a", "b"),))])
def test_a_chart_without_words_or_table_is_refused(description, rows):
    with pytest.raises(ChecksError, match="chart"):
        Plot(description, 320, 100, (), ("Build",), rows)


CSS = (Path(__file__).resolve().parents[4] / "static/app.css").read_text()


def palette(block: str) -> dict[str, tuple]:
    matches = re.findall(r"--([a-z-]+): #([0-9a-f]{3,6})\b", block)
    full = {name: c if len(c) == 6 else "".join(h + h for h in c) for name, c in matches}
    return {name: tuple(int(h, 16) / 255 for h in re.findall("..", c)) for name, c in full.items()}


def luminance(colour) -> float:
    """Relative luminance by its definition in WCAG 2.2."""
    r, g, b = ((c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4) for c in colour)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one, other) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_measure_of_contrast_is_the_standards():
    assert contrast((1, 1, 1), (0, 0, 0)) == pytest.approx(21)  # WCAG 2.2: from 1 to 21
    assert contrast((0.4667,) * 3, (1, 1, 1)) == pytest.approx(
        4.48, abs=0.02
    )  # #777 on white: just under 4.5 (widely published)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_marks_and_limits_stand_out_from_the_sheet(theme):
    """WCAG 2.2, success criterion 1.4.11: graphical objects at 3:1 or more."""
    by_day, by_night = CSS[: CSS.index("@media (prefers-contrast")].split("@media (prefers-color-scheme: dark)")
    colours = palette(by_day) | (palette(by_night) if theme == "dark" else {})
    looks = "dot|ring|cross|diamond|axis|limit|expected|whisker"
    used = set(re.findall(rf"\.(?:mark|plot)-(?:{looks})\b[^{{]*{{[^}}]*stroke: var\(--([a-z-]+)\)", CSS))
    assert {"ink", "in", "out"} <= used
    for name in used:
        assert contrast(colours[name], colours["sheet"]) >= 3, name


def test_every_shape_has_its_look():
    for shape in PATHS:
        assert f".mark-{shape}" in CSS


def test_hundreds_of_builds_are_thinned_and_the_words_say_so_and_no_stop_is_lost():
    points = [Point(f"{n:04d}", 300.0, "in band") for n in range(950)]
    points[333] = Point("0333", 420.0, "switch off")
    points[777] = Point("0777", 300.0, "in band", 420.0, "switch off")
    plot = order_plot("B+", "V", None, points)
    drawn = [row[0] for row in plot.rows]
    assert len(drawn) < 110 and {"0333", "0777"} <= set(drawn) and drawn == sorted(drawn)
    assert (
        "950 builds" in plot.description
        and "one in every 10" in plot.description
        and "Drawn" not in order_plot("B+", "V", None, points[:40]).description
    )
