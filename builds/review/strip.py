"""A strip plot: every build's reading on the band, stacked where they meet."""
from dataclasses import dataclass

from builds.guides.drawings.scale import LEFT, RIGHT, Scale, make_scale

APART, STEP, TALLEST = 7, 8, 240  # between dots beside and above each other; the highest stack


@dataclass(frozen=True)
class Dot:
    x: float
    y: float
    last: bool  # the build's last attempt: filled; an earlier one is hollow
    label: str


@dataclass(frozen=True)
class Strip:
    scale: Scale
    dots: tuple[Dot, ...]
    height: float

    @property
    def stop_width(self) -> float:
        return RIGHT - (self.scale.stop_from or RIGHT)


def strip(band, readings) -> Strip:
    """`readings`: (value at the guide's mains, is the last attempt, label). Dots closer than 7 are stacked."""
    values = [v for v, _last, _label in readings]
    scale = make_scale(band.low if band else None, band.high if band else None, expected=band.expected if band else None,
                       stop_above=band.stop_above if band else None, values=values)
    span = scale.end - scale.start
    placed: list[Dot] = []
    ends: list[float] = []  # of each level, where its last dot is: the dots come from left to right
    for value, last, label in sorted(readings, key=lambda r: r[0]):
        x = min(RIGHT, max(LEFT, LEFT + (RIGHT - LEFT) * (value - scale.start) / span))
        level = next((n for n, end in enumerate(ends) if x - end >= APART), len(ends))
        ends[level:level + 1] = [x]
        placed.append(Dot(x, level, last, label))
    step = min(STEP, TALLEST / max(1, len(ends)))  # hundreds of builds are drawn closer, not higher
    height = 60 + step * max(0, len(ends) - 1)
    return Strip(scale, tuple(Dot(d.x, height - 44 - step * d.y, d.last, d.label) for d in placed), height)
