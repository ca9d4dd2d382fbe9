"""The mains family and the response of two recordings, line by line and octave by octave."""

import math
from collections.abc import Iterator

from django.utils.translation import gettext as _

from builds.review.amplifier.compared_rows import Row, level_row
from builds.ui.drawings.curves import level_at
from builds.ui.formatting import format_figure, number
from checks.derived import Estimate
from checks.tone.comparison import compare_levels
from checks.tone.response import DOUBTFUL, FLATNESS

HUM_U = 0.2  # dB by which hum differs from one recording to the next (common practice)
FIRST_OCTAVE = 20.0  # hertz


def mains_rows(a: dict, b: dict, scale_u: float) -> Iterator[Row]:
    """Lines of the same multiple of the mains frequency, where both have one; 50 and 60 Hz are compared alike."""
    others = {_multiple(line, b): line for line in b["lines"]}
    for line in a["lines"]:
        multiple = _multiple(line, a)
        if other := others.get(multiple):
            name = _("Hum at %(multiple)d × the mains frequency") % {"multiple": multiple}
            u = math.hypot(HUM_U, scale_u, line["u"], other["u"])
            yield from level_row(name, line["rms"], other["rms"], u)


def _multiple(line: dict, hum: dict) -> int:
    return round(line["hertz"] / hum["mains"])


def response_rows(a: dict, b: dict) -> Iterator[Row]:
    """At every octave that both have measured well enough, relative to the reference frequency."""
    hertz = FIRST_OCTAVE
    while hertz <= min(a["hertz"][-1], b["hertz"][-1]):
        if hertz >= max(a["hertz"][0], b["hertz"][0]):
            yield from _response_row(hertz, a, b)
        hertz *= 2


def _response_row(hertz: float, a: dict, b: dict) -> Iterator[Row]:
    levels = [level_at(response["hertz"], response["levels"], hertz) for response in (a, b)]
    doubts = [level_at(response["hertz"], response["u"], hertz) if "u" in response else 0.0 for response in (a, b)]
    if max(doubts) > DOUBTFUL:
        return
    one, two = (Estimate(level, math.hypot(FLATNESS, u)) for level, u in zip(levels, doubts, strict=True))
    first, second = (_("%(level)s dB") % {"level": number(level, 2)} for level in levels)
    name = _("Response at %(hertz)s") % {"hertz": format_figure(hertz, "Hz")}
    yield Row(name, first, second, compare_levels(one, two))
