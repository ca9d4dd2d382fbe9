"""Spectrum and frequency response over the logarithm of frequency, each with its table behind it."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from builds.ui.drawings.plot import Box, Curve, Label, Line, Mark, Plot
from builds.ui.formatting import format_figure, number

WIDTH, HEIGHT, LEFT, RIGHT, TOP, FOOT = 420.0, 240.0, 40.0, 412.0, 10.0, 208.0
LABEL_WIDTH, LABEL_HEIGHT = 15.0, 9.0  # of a mark's label, within which another would lie on it
SPAN = 6  # points of a spectrum that its mask holds together: a ninth of an octave
DECADES = (10, 100, 1000, 10_000, 100_000)


@dataclass(frozen=True)
class Axes:
    """Maps hertz and decibels to the drawing; what lies outside is brought to its edge."""

    low: float
    high: float
    bottom: float
    top: float

    def x(self, hertz: float) -> float:
        share = math.log(min(max(hertz, self.low), self.high) / self.low) / math.log(self.high / self.low)
        return LEFT + (RIGHT - LEFT) * share

    def y(self, level: float) -> float:
        share = (min(max(level, self.bottom), self.top) - self.bottom) / (self.top - self.bottom)
        return FOOT - (FOOT - TOP) * share

    def grid(self, step: float, unit: str) -> Iterator:
        for decade in DECADES:
            if self.low <= decade <= self.high:
                x = self.x(decade)
                yield Line(x, TOP, x, FOOT, "grid")
                yield Label(x, FOOT + 14, _round_hertz(decade))
        level = math.ceil(self.bottom / step) * step
        while level <= self.top + 1e-9:
            y = self.y(level)
            yield Line(LEFT, y, RIGHT, y, "grid")
            yield Label(LEFT - 4, y + 3, number(level, 0), "end")
            level += step
        yield Line(LEFT, FOOT, RIGHT, FOOT, "axis")
        yield Line(LEFT, TOP, LEFT, FOOT, "axis")
        yield Label(LEFT, HEIGHT - 4, unit, "start")

    def curve(self, hertz: Sequence[float], levels: Sequence[float], look: str = "curve") -> Curve:
        inside = [(f, y) for f, y in zip(hertz, levels, strict=True) if self.low <= f <= self.high]
        return Curve(tuple((self.x(f), self.y(y)) for f, y in inside), look)


def _round_hertz(hertz: int) -> str:
    """Of a grid line: a whole number of hertz or kilohertz, without decimals."""
    return f"{hertz // 1000} kHz" if hertz >= 1000 else f"{hertz} Hz"


def spectrum_plot(table: dict, other: tuple[str, dict] | None = None, mask: float = 0.0) -> Plot:
    """Levels in dBr where there is a tone, else in dB re 1 V or full scale; harmonics and mains lines are marked.

    `other` is (name, table) of a recording to lay over it, `mask` dB above and below what that one spans.
    """
    spectrum, tone = table["spectrum"], table.get("tone")
    zero = _zero(table)
    levels = [y - zero for y in spectrum["levels"]]
    unit = _("dBr, relative to the fundamental") if tone else _unit_without_tone(table)
    top = 10 * math.ceil((max(levels) + 1) / 10)
    axes = Axes(10.0, max(spectrum["hertz"]), max(min(levels), top - 160) // 10 * 10, top)
    shapes = [*axes.grid(20, unit)]
    legend: list[tuple[str, str]] = []
    if other:
        beside, others = other[1]["spectrum"]["hertz"], [y - _zero(other[1]) for y in other[1]["spectrum"]["levels"]]
        if mask:
            shapes += _spans(axes, beside, others, mask)
        shapes.append(axes.curve(beside, others, "curve-other"))
    shapes.append(axes.curve(spectrum["hertz"], levels))
    marks, rows = _named_lines(table, zero)
    for hertz, level, shape, description, _short in marks:
        shapes.append(Mark(axes.x(hertz), axes.y(level) - 4, shape, description))
    shapes += _labels(axes, marks)
    if any(mark[2] == "square" for mark in marks):
        legend.append(("square", _("fundamental and harmonics, with their order")))
    if any(mark[2] == "diamond" for mark in marks):
        legend.append(("diamond", _("mains lines, with their hertz")))
    description = _("Spectrum over frequency, in %(unit)s.") % {"unit": unit}
    if other and mask:
        description = _(
            "Spectrum over frequency, in %(unit)s; thin line: %(other)s; hatched: up to %(mask)s above and below it."
        ) % {"unit": unit, "other": other[0], "mask": format_figure(mask, "dB", 2)}
    elif other:
        description = _("Spectrum over frequency, in %(unit)s; thin line: %(other)s.") % {
            "unit": unit,
            "other": other[0],
        }
    head = (_("Line"), _("Frequency"), _("Level"))
    return Plot(description, WIDTH, HEIGHT, tuple(shapes), head, tuple(rows) or ((_("none"), "", ""),), tuple(legend))


def _spans(axes: Axes, hertz: Sequence[float], levels: Sequence[float], mask: float) -> Iterator[Box]:
    """The tolerance mask of a spectrum: what SPAN neighbours reach to, since noise differs from point to point."""
    for at in range(0, len(hertz) - 1, SPAN):
        span, ends = levels[at : at + SPAN + 1], hertz[at : at + SPAN + 1]
        upper, lower = axes.y(max(span) + mask), axes.y(min(span) - mask)
        yield Box(axes.x(ends[0]), upper, axes.x(ends[-1]) - axes.x(ends[0]), lower - upper, "mask")


def _unit_without_tone(table: dict) -> str:
    return _("dBV, relative to 1 V RMS") if table["in_volts"] else _("dB, relative to full scale")


def _labels(axes: Axes, marks: list) -> Iterator[Label]:
    """Above each mark what it is of, the loudest first: one that another's label leaves no room for has none."""
    taken: list[tuple[float, float]] = []
    for hertz, level, _shape, _description, short in sorted(marks, key=lambda mark: -mark[1]):
        x, y = axes.x(hertz), axes.y(level) - 11
        if all(abs(x - other) >= LABEL_WIDTH or abs(y - beside) >= LABEL_HEIGHT for other, beside in taken):
            taken.append((x, y))
            yield Label(x, max(y, TOP - 1), short)


def _zero(table: dict) -> float:
    tone = table.get("tone")
    return 20 * math.log10(tone["rms"]) if tone and tone["rms"] > 0 else 0.0


def _named_lines(table: dict, zero: float) -> tuple[list, list]:
    marks, rows = [], []

    def add(name: str, hertz: float, level: float, shape: str, short: str) -> None:
        figure = number(level, 1)
        marks.append((hertz, level, shape, f"{name}: {figure}", short))
        rows.append((name, format_figure(hertz, "Hz", 5), figure))

    if tone := table.get("tone"):
        add(_("Fundamental"), tone["hertz"], 0.0, "square", "1")
        for harmonic in tone["harmonics"]:
            if harmonic["is_seen"]:
                name = _("Harmonic %(order)d") % harmonic
                add(name, tone["hertz"] * harmonic["order"], harmonic["level"], "square", str(harmonic["order"]))
    for line in (table.get("hum") or {}).get("lines", []):
        if line["rms"] > 0:
            level = 20 * math.log10(line["rms"]) - zero
            add(_("Mains line"), line["hertz"], level, "diamond", str(round(line["hertz"])))
    return marks, rows


def response_plot(response: dict, other: tuple[str, dict] | None = None, mask: float | None = None) -> Plot:
    """dB re the reference frequency; `other` is (name, response) laid over it, `mask` dB on both sides of that one."""
    hertz, levels = response["hertz"], response["levels"]
    bottom, top = max(-30.0, min(-6.0, min(levels))) // 3 * 3, math.ceil((max(3.0, max(levels)) + 0.1) / 3) * 3
    axes = Axes(hertz[0], hertz[-1], bottom, top)
    shapes = [*axes.grid(3, _("dB"))]
    if other:
        if mask:
            shapes += _mask_boxes(axes, other[1], mask)
        shapes.append(axes.curve(other[1]["hertz"], other[1]["levels"], "curve-other"))
    shapes.append(axes.curve(hertz, levels))
    rows = tuple(_at_octaves(hertz, levels))
    reference = format_figure(response["reference"], "Hz")
    description = _("Frequency response in dB, relative to %(hertz)s.") % {"hertz": reference}
    if other and mask:
        description = _(
            "Frequency response in dB, relative to %(hertz)s; thin line: %(other)s; hatched: %(mask)s above and below "
            "it."
        ) % {"hertz": reference, "other": other[0], "mask": format_figure(mask, "dB", 2)}
    elif other:
        description = _("Frequency response in dB, relative to %(hertz)s; thin line: %(other)s.") % {
            "hertz": reference,
            "other": other[0],
        }
    return Plot(description, WIDTH, HEIGHT, tuple(shapes), (_("Frequency"), _("Level, dB")), rows)


def _mask_boxes(axes: Axes, response: dict, mask: float) -> Iterator[Box]:
    """The tolerance mask as narrow boxes along the reference's response."""
    points = list(zip(response["hertz"], response["levels"], strict=True))[::8]
    for (f1, y1), (f2, _y2) in zip(points, points[1:], strict=False):
        upper, lower = axes.y(y1 + mask), axes.y(y1 - mask)
        yield Box(axes.x(f1), upper, axes.x(f2) - axes.x(f1), lower - upper, "mask")


def _at_octaves(hertz: Sequence[float], levels: Sequence[float]) -> Iterator[tuple[str, str]]:
    """The level at 20 Hz, 40 Hz ... as far as it was measured."""
    at = _nearest(hertz, levels)
    step = 20.0
    while step <= hertz[-1]:
        if step >= hertz[0]:
            yield format_figure(step, "Hz"), number(at(step), 2)
        step *= 2


def level_at(hertz: Sequence[float], levels: Sequence[float], at: float) -> float:
    """The level of the point nearest to a frequency."""
    return _nearest(hertz, levels)(at)


def _nearest(hertz: Sequence[float], levels: Sequence[float]) -> Callable[[float], float]:
    return lambda f: levels[min(range(len(hertz)), key=lambda n: abs(math.log(hertz[n] / f)))]
