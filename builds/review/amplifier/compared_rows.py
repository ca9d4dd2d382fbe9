"""A row of two recordings compared: one figure of both, and their difference in dB."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from builds.ui.formatting import format_figure, number
from checks.derived import Estimate
from checks.tone.comparison import Difference, compare_levels


@dataclass(frozen=True)
class Row:
    """One figure of both recordings; `difference` is None where it is no level."""

    name: str
    first: str
    second: str
    difference: Difference | None = None

    @property
    def difference_text(self) -> str:
        if self.difference is None:
            return ""
        return f"{number(self.difference.value, 1)} ± {number(self.difference.expanded, 1)}"


def level_row(name: str, a: float, b: float, u: float) -> Iterator[Row]:
    if a > 0 and b > 0:
        known = [Estimate(20 * math.log10(rms), max(u, 0.05)) for rms in (a, b)]
        yield Row(name, format_figure(a, "V"), format_figure(b, "V"), compare_levels(*known))
