"""How to wire a recording: the dummy load's rating and the divider, worked out from what the kit can put out.

A sound card's line input takes about 1 V RMS; the divider brings the greatest output to half of that (common practice).
"""

import math
from dataclasses import dataclass

from builds.bench.recordings.plans import Wanted
from builds.guides.circuit.specs import specs_or_none
from builds.guides.figures import band_for
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file.figure_sources import read_formula
from builds.guides.guide_file.shape import VALVES
from builds.guides.models import Revision
from checks.circuit.valves.types import find_limits
from checks.codes import nearest

LINE_INPUT = 0.5  # volts RMS wanted at the sound card
MARGIN = 2.0  # times the greatest power that the load must carry
LOWER = 1000.0  # ohms of the divider's lower arm: low against any input, high against any load
USUAL_WATTS = 10.0  # where the guide states no output power, or what its valves may dissipate if that is more
USUAL_LOAD = 8.0  # ohms where neither the guide nor the output transformer says
LOUDSPEAKERS = (1.0, 100.0)  # ohms of windings that loudspeakers are connected to
POWER_VALVE = 5.0  # watts of anode dissipation, from which a valve drives a loudspeaker


@dataclass(frozen=True)
class SetUp:
    """Ohms and watts of the dummy load, and the divider's two resistors in ohms; no load: the figures are at line
    level and need neither. `assumed` are the watts of output that they follow from where the guide states none."""

    load: float | None
    watts: float
    upper: float
    lower: float
    assumed: float | None = None

    @property
    def ratio(self) -> float:
        """Volts at the amplifier for one at the sound card."""
        return (self.upper + self.lower) / self.lower


def plan_set_up(revision: Revision, signals: list[Wanted]) -> SetUp:
    stated = next((one.load.value for one in signals if one.load), None) or _load_of_formulas(revision)
    load = stated or _load_of_parts(revision)
    if load is None:
        return SetUp(None, 0.0, 0.0, LOWER)
    known = _greatest_power(revision)
    power = known or max(USUAL_WATTS, _dissipation(revision))
    volts = math.sqrt(power * load)
    upper = nearest(max(100.0, LOWER * (volts / LINE_INPUT - 1)), "E12")
    return SetUp(load, MARGIN * power, upper, LOWER, None if known else power)


def _load_of_formulas(revision: Revision) -> float | None:
    """The load that a power of this guide is worked out with."""
    for stage in revision.stages.prefetch_related("checks"):
        for check in stage.checks.all():
            formula = read_formula(check)
            if formula and formula.measure == "output power" and formula.loads[0]:
                return formula.loads[0].value
    return None


def _load_of_parts(revision: Revision) -> float | None:
    """What an output transformer is made for: an amplifier with one is never run without a load, whatever its guide
    says. None for a kit that has none."""
    transformers = [part for part in specs_or_none(load_guide(revision)) if part.kind == "output transformer"]
    if not transformers:
        return None
    low, high = LOUDSPEAKERS
    ohms = [w.impedance for part in transformers for w in part.windings if w.impedance and low <= w.impedance <= high]
    return max(ohms, default=USUAL_LOAD)


def _dissipation(revision: Revision) -> float:
    """What the anodes of the output valves may dissipate, in watts: more than that they hardly deliver (common
    practice)."""
    valves = [part for part in specs_or_none(load_guide(revision)) if part.kind in VALVES]
    watts = [find_limits(part.type, part.limits, part.kind).get("anode_watts", 0.0) for part in valves]
    return sum(one for one in watts if one >= POWER_VALVE)


def _greatest_power(revision: Revision) -> float:
    """The largest output power that any check expects or allows, in watts; 0 where none does."""
    bands = [
        band_for(check)
        for stage in revision.stages.prefetch_related("checks")
        for check in stage.checks.all()
        if check.measure == "output power"
    ]
    watts = [limit for band in bands if band for limit in (band.high, band.expected, band.low) if limit]
    return max(watts, default=0.0)
