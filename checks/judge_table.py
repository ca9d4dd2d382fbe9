"""What a phone without a connection may judge by: a small table of outcomes, worked out by the functions that judge.

A meter's figure is a whole number of its last digit. For every worth of that digit, a power of ten, the table holds the
whole numbers at which the outcome changes, so that looking an entry up is all the phone does. Nothing is fitted or
rounded: each change is found by judging the two figures on either side of it.
"""

import math
from collections.abc import Callable, Iterable

from checks.quantity import LARGEST, Quantity

POWERS = range(-5, 7)  # of the last digit that hand-held meters show: ten microvolts to a megohm (common practice)
WHOLE = 2**53 - 1  # the largest whole number that a browser counts exactly
DECADES = range(-3, 12)  # between which a far figure is judged like its neighbours or is looked for between them

Code = Callable[[Quantity], str]


def changes(code: Code, power: int, limits: Iterable[float], unit: str = "") -> list:
    """[code, n, code, n, code, ...]: the first code holds below the first n, the next from it on. `limits` are the
    values between which the outcome goes one way only."""
    step, seen = float(f"1e{power}"), {}

    def at(n: int) -> str:
        if n not in seen:
            seen[n] = code(Quantity(float(f"{n}e{power}"), unit, step))
        return seen[n]

    boundaries: list = []
    points = _points(limits, step, power)
    for a, b in zip(points, points[1:], strict=False):
        _between(a, b, at, boundaries)
    table: list = [at(points[0])]
    for n in boundaries:
        table += [n, at(n)]
    return table


def _points(limits: Iterable[float], step: float, power: int) -> list[int]:
    most = int(min(LARGEST / step, WHOLE))
    points = {
        -most,
        -1,
        0,
        1,
        most,
        *(round(sign * 10.0 ** (decade - power)) for decade in DECADES for sign in (-1, 1)),
    }
    for limit in limits:
        below = math.floor(limit / step)
        points |= {below, below + 1, -below, -below - 1}
    return sorted({min(max(n, -most), most) for n in points})


def _between(a: int, b: int, at: Callable[[int], str], boundaries: list) -> None:
    """Note every n in (a, b] that is judged otherwise than the figure below it."""
    if at(a) == at(b):
        return
    if b - a == 1:
        boundaries.append(b)
        return
    middle = (a + b) // 2
    _between(a, middle, at, boundaries)
    _between(middle, b, at, boundaries)


def build_table(code: Code, limits: Iterable[float], unit: str = "") -> dict:
    """The changes for every power, and the codes of "OL" and "-OL"."""
    limits = tuple(limits)
    return {
        "powers": {str(power): changes(code, power, limits, unit) for power in POWERS},
        "over": code(Quantity(None, unit, None, over_range=True)),
        "below": code(Quantity(None, unit, None, over_range=True, is_below=True)),
    }
