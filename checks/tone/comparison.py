"""Two recordings side by side: differences in dB with their uncertainty, and whether one is better beyond it."""

import math
from dataclasses import dataclass
from enum import StrEnum

from checks.derived import Estimate
from checks.finite import refuse_unreal

COVERAGE = 2.0  # times the standard uncertainty: about 95 %
SETTING = 0.1  # dB by which two recordings of one amplifier differ anyway (levels set by hand; common practice)


class Better(StrEnum):
    """Which of two is better; NEITHER where the difference may be chance, or is none to a tenth of a dB."""

    FIRST = "first"
    SECOND = "second"
    NEITHER = "neither"
    UNKNOWN = "unknown"  # they differ, but not by what is compared alone: another level, or another card


@dataclass(frozen=True)
class Difference:
    """First less second, in dB, with its standard uncertainty."""

    value: float
    u: float
    better: Better

    def __post_init__(self):
        refuse_unreal(self, "value")
        refuse_unreal(self, "u", least=0, finite=False)

    @property
    def expanded(self) -> float:
        """The ± that covers about 95 %."""
        return COVERAGE * self.u


def compare_levels(first: Estimate, second: Estimate) -> Difference:
    """Of unwanted things (harmonics, hum, noise), in dB: the lower is better, if by more than the uncertainty."""
    value, u = first.value - second.value, math.hypot(first.u, second.u, SETTING)
    if round(abs(value), 1) <= round(COVERAGE * u, 1):
        return Difference(value, u, Better.NEITHER)
    return Difference(value, u, Better.FIRST if value < 0 else Better.SECOND)
