"""A builder at work: reads the guide's checks in order, and stops at one that is out of band or past a stop limit."""

import math
from dataclasses import dataclass, field

from tests.trials.bench import Bench
from tests.trials.figures import figure, limits
from tests.trials.meters import Meter

BLIND = 0.10  # by which a supply may be off that nobody measured (EN 50160)
LEAD = (0.02, 0.15)  # ohms of probes and clips left in a reading
UNREAD = ("isolation", "temperature")


@dataclass
class Log:
    """`readings` are [place, shown] in order, shown None for over range; `off` is the place that ended them."""

    readings: list = field(default_factory=list)
    off: str = ""
    stop: bool = False
    slip: str = ""


def take(bench: Bench, meter: Meter, noted: float | None, rng, slip: bool = False) -> Log:
    """Readings stage by stage up to the end of the stage whose reading is out; none after one that stops.

    With a slip the probes change places at one powered check.
    """
    log, slipped = Log(), _slip_at(bench.guide, rng) if slip else ""
    log.slip = slipped
    for n, stage in enumerate(bench.guide["stage"]):
        if stage.get("power") == "on":
            bench.break_down()
        for check in stage.get("check", []):
            if check["measure"] in UNREAD:
                continue
            place = f"{stage['key']}/{check['key']}"
            shown, known = reading(bench, n, check, meter, rng, place == slipped)
            if not known:
                continue
            log.readings.append([place, shown])
            stops = is_stop(bench.guide, check, shown)
            if not log.off and (stops or is_off(bench.guide, check, shown, noted, meter.input_ohms)):
                log.off, log.stop = place, stops
            if stops:
                return log
        if log.off:
            return log
    return log


def _slip_at(guide, rng) -> str:
    places = [
        f"{s['key']}/{c['key']}"
        for s in guide["stage"]
        if s.get("power") == "on"
        for c in s.get("check", [])
        if c["measure"] == "dc volts" and "expected" in c
    ]
    return str(rng.choice(places))


def reading(bench: Bench, n: int, check: dict, meter: Meter, rng, swapped: bool = False):
    """(what the meter shows, or None for over range; whether this trial can say)."""
    volts = check["measure"] in ("dc volts", "current")
    value = bench.value(n, check, meter.input_ohms if volts else None, meter.test_volts)
    if value is None:
        return None, False
    if volts:
        return meter.shows(-value if swapped else value, "dc", rng), True
    if check["measure"] == "ac volts":
        return meter.shows(value, "ac", rng), True
    return meter.shows(value + rng.uniform(*LEAD), "ohms", rng), True


def in_unit(guide, check, shown):
    """A current is read as the volts across its resistor."""
    if check["measure"] == "current" and shown is not None:
        return shown / figure(next(p["value"] for p in guide["part"] if p["ref"] == check["through"]))
    return shown


def is_off(guide, check, shown: float | None, noted: float | None, input_ohms: float) -> bool:
    """Out of band at the guide's mains and without the meter's load, where the guide says what it loads.

    The band of one who noted no mains is wider by what a supply may be off.
    """
    value = math.inf if shown is None else in_unit(guide, check, shown)
    value *= 1 + figure(check.get("source_resistance", "0R")) / input_ohms
    low, high = limits(check)
    power = check.get("mains_exponent", 0.0)
    if noted:
        value *= (guide["kit"]["mains"]["volts"] / noted) ** power
    wider = 0.0 if noted else BLIND * power
    return (low is not None and value < low - wider * abs(low)) or (
        high is not None and value > high + wider * abs(high)
    )


def is_stop(guide, check, shown: float | None) -> bool:
    """Past a stop limit, judged on what is shown."""
    above, below = check.get("stop_above"), check.get("stop_below")
    if shown is None:
        return above is not None
    value = in_unit(guide, check, shown)
    return (above is not None and value > figure(above)) or (below is not None and value < figure(below))
