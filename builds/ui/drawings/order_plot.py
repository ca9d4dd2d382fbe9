"""Readings of one check in the order of the builds: groups, drifts and strays show as they never do in a row of
figures."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.ui.drawings.plot import OUTCOMES, SHAPES, Box, Label, Line, Mark, Plot, mark_label
from builds.ui.formatting import format_figure
from builds.ui.messages.outcomes import outcome_label
from checks.outcomes import Outcome

WIDTH, TOP, BOTTOM, LEFT, RIGHT = 320.0, 8.0, 104.0, 58.0, 312.0
HEIGHT = 124.0
ARROW_UP, ARROW_DOWN = "↑", "↓"  # beside readings outside the scale
MOST = 100  # builds drawn: more cannot be told apart at this width


@dataclass(frozen=True)
class Point:
    """What one build read at the guide's mains: `value` None when over range; `first` if a first attempt missed."""

    serial: str
    value: float | None
    outcome: str
    first: float | None = None
    first_outcome: str = ""


def order_plot(title: str, unit: str, band, points) -> Plot | None:
    """A build a column, from left to right by serial number; None when no build has a value. Of more than MOST builds,
    every n-th is drawn and every one that had to be switched off."""
    counted, out = len(points), sum(p.outcome != Outcome.IN_BAND for p in points)
    every = -(-counted // MOST)
    points = [p for n, p in enumerate(points) if n % every == 0 or Outcome.SWITCH_OFF in (p.outcome, p.first_outcome)]
    known = [p for p in points if p.value is not None]
    if not known:
        return None
    low, high = (band.low, band.high) if band else (None, None)
    start, end = _ends(low, high, [v for p in known for v in (p.value, p.first) if v is not None])
    step = (RIGHT - LEFT - 12) / max(1, len(points) - 1)

    start, end = _room_at_the_edges(start, end, [p.value for p in known])

    def y(value):
        return min(BOTTOM - 6, max(TOP + 4, BOTTOM - (BOTTOM - TOP) * (value - start) / (end - start)))

    shapes = [*_band(low, high, band and band.expected, unit, y), Line(LEFT, BOTTOM, RIGHT, BOTTOM)]
    for n, p in enumerate(points):
        x = LEFT + 6 + n * step if len(points) > 1 else (LEFT + RIGHT) / 2
        if p.first is not None:
            shapes.append(Mark(x, y(p.first), "ring", _first_label(p, p.first, unit)))
            shapes += _far(x, y(p.first), p.first, start, end, unit)
        if p.value is not None:
            shapes.append(Mark(x, y(p.value), SHAPES[p.outcome], _label(p, p.value, unit)))
            shapes += _far(x, y(p.value), p.value, start, end, unit)
    shapes += [
        Label(LEFT + 6, HEIGHT - 6, points[0].serial, "start"),
        Label(RIGHT, HEIGHT - 6, points[-1].serial, "end"),
    ]
    used = [s for s in (*OUTCOMES, "ring") if any(m.shape == s for m in shapes if isinstance(m, Mark))]
    return Plot(
        _heading(title, counted, out, len(points), every),
        WIDTH,
        HEIGHT,
        tuple(shapes),
        (_("Build"), _("First attempt"), _("Last attempt"), _("Verdict")),
        tuple(_row(p, unit) for p in points),
        tuple((s, mark_label(s)) for s in used),
    )


def _heading(title: str, counted: int, out: int, drawn: int, every: int) -> str:
    params = {"title": title, "count": counted, "out": out, "drawn": drawn, "every": every}
    if every == 1:
        heading = ngettext(
            "%(title)s: %(count)s build, %(out)s not in band.",
            "%(title)s: %(count)s builds by serial number, %(out)s not in band.",
            counted,
        )
        return heading % params
    return (
        _(
            "%(title)s: %(count)s builds by serial number, %(out)s not in band. The chart shows %(drawn)s of them: "
            "one in every %(every)s, and all that were switched off."
        )
        % params
    )


def _label(p: Point, value: float, unit: str) -> str:
    return _("%(serial)s: %(figure)s, %(outcome)s") % {
        "serial": p.serial,
        "figure": format_figure(value, unit),
        "outcome": outcome_label(p.outcome),
    }


def _first_label(p: Point, first: float, unit: str) -> str:
    return _("%(serial)s, first attempt: %(figure)s, %(outcome)s") % {
        "serial": p.serial,
        "figure": format_figure(first, unit),
        "outcome": outcome_label(p.first_outcome),
    }


def _row(p: Point, unit: str) -> tuple[str, ...]:
    first = p.first if p.first is not None else None if p.first_outcome else p.value
    return (
        p.serial,
        format_figure(first, unit) if first is not None else _("over range"),
        format_figure(p.value, unit) if p.value is not None else _("over range"),
        outcome_label(p.outcome),
    )


def _band(low, high, expected, unit, y):
    """The band as a tinted and hatched area with its limits drawn and numbered at the left."""
    if low is not None or high is not None:
        top, foot = (y(high) if high is not None else TOP), (y(low) if low is not None else BOTTOM)
        yield Box(LEFT, top, RIGHT - LEFT, max(1.0, foot - top))
    limits = [v for v in (low, high) if v is not None]
    for value in limits:
        yield Line(LEFT, y(value), RIGHT, y(value), "limit")
        yield Label(LEFT - 4, y(value) + 3.5, format_figure(value, unit), "end")
    if expected is not None:
        yield Line(LEFT, y(expected), RIGHT, y(expected), "expected")
        if all(abs(y(expected) - y(v)) > 11 for v in limits):
            yield Label(LEFT - 4, y(expected) + 3.5, format_figure(expected, unit), "end")


def _far(x: float, y: float, value: float, start: float, end: float, unit: str) -> list[Label]:
    """Beside a mark that is drawn at the edge of the scale: an arrow towards where it lies, and its figure."""
    if start <= value <= end:
        return []
    return [_beside(x, y, f"{ARROW_UP if value > end else ARROW_DOWN} {format_figure(value, unit)}")]


def _beside(x: float, y: float, text: str) -> Label:
    """A label beside a mark, to the left of it near the right-hand edge."""
    return Label(x - 7, y + 3.5, text, "end") if x > RIGHT - 52 else Label(x + 7, y + 3.5, text, "start")


def _room_at_the_edges(start, end, values) -> tuple[float, float]:
    """Where strays are drawn at an edge with their figures, neither touches a limit of the band."""
    room = (end - start) * 0.18
    return (start - room if min(values) < start else start), (end + room if max(values) > end else end)


def _ends(low, high, values) -> tuple[float, float]:
    """From a little under the least to a little over the most of band and readings; far strays are drawn at the
    edge."""
    limits = [v for v in (low, high) if v is not None]
    near = sorted(values)
    if len(limits) == 2:
        reach = 4 * (high - low) or abs(high) or 1.0
        near = [v for v in near if low - reach <= v <= high + reach]
    start, end = min([*limits, *near]), max([*limits, *near])
    room = (end - start) * 0.08 or abs(end) * 0.1 or 1.0
    return start - room, end + room
