"""How to wire a recording: the dummy load's rating and the divider, worked out from what the kit can put out.

A sound card's line input takes about 1 V RMS; the divider brings the greatest output to half of that (common practice).
"""

import math
from dataclasses import dataclass

from builds.bench.recordings.plans import Wanted
from builds.guides.figures import band_for
from builds.guides.guide_file.figure_sources import formula_of
from builds.guides.models import Revision
from checks.codes import nearest

LINE_INPUT = 0.5  # volts RMS wanted at the sound card
MARGIN = 2.0  # times the greatest power that the load must carry
LOWER = 1000.0  # ohms of the divider's lower arm: low against any input, high against any load
USUAL_WATTS = 10.0  # where the guide states no output power


@dataclass(frozen=True)
class SetUp:
    """Ohms and watts of the dummy load, and the divider's two resistors in ohms; no load: the figures are at line
    level and need neither."""

    load: float | None
    watts: float
    upper: float
    lower: float

    @property
    def ratio(self) -> float:
        """Volts at the amplifier for one at the sound card."""
        return (self.upper + self.lower) / self.lower


def plan_set_up(revision: Revision, signals: list[Wanted]) -> SetUp:
    load = next((one.load.value for one in signals if one.load), None) or _load_of_formulas(revision)
    if load is None:
        return SetUp(None, 0.0, 0.0, LOWER)
    power = _greatest_power(revision)
    volts = math.sqrt(power * load)
    upper = nearest(max(100.0, LOWER * (volts / LINE_INPUT - 1)), "E12")
    return SetUp(load, MARGIN * power, upper, LOWER)


def _load_of_formulas(revision: Revision) -> float | None:
    """The load that a power of this guide is worked out with."""
    for stage in revision.stages.prefetch_related("checks"):
        for check in stage.checks.all():
            formula = formula_of(check)
            if formula and formula.measure == "output power" and formula.loads[0]:
                return formula.loads[0].value
    return None


def _greatest_power(revision: Revision) -> float:
    """The largest output power that any check expects or allows, in watts."""
    bands = [
        band_for(check)
        for stage in revision.stages.prefetch_related("checks")
        for check in stage.checks.all()
        if check.measure == "output power"
    ]
    watts = [limit for band in bands if band for limit in (band.high, band.expected, band.low) if limit]
    return max(watts, default=USUAL_WATTS)
