"""What lets a check pass: the one rule, for a reading just taken and for a concession given or taken back."""

import math
from operator import attrgetter

from checks.outcomes import Outcome

FARTHER = 1.1  # times as far out as what was conceded: what a second look may differ by (a supply drifts)


def is_confirmed(reading, earlier) -> bool:
    """Do two attempts in a row lie in band as they read? `earlier` is the attempt before (a Reading or a CheckState),
    or None. An entry that corrects a slip has nothing before it: what it corrects was no reading."""
    return reading.confirms and not reading.is_slip and earlier is not None and earlier.confirms


def is_conceded(build, reading) -> bool:
    """Does the designer's concession of this check reach this reading? It was given for what stood then: for a reading
    as far out, on the same side, while none after it said switch off."""
    concession = build.concessions.filter(check_row=reading.check_row_id).first()
    if concession is None:
        return False
    readings = build.readings.filter(check_row=reading.check_row_id)
    seen = readings.filter(at__lte=concession.at).order_by("attempt").last()
    if seen is None or readings.filter(outcome=Outcome.SWITCH_OFF, at__gt=concession.at).exists():
        return False
    return _is_no_farther(reading, seen)


def _is_no_farther(reading, seen) -> bool:
    """Deviations end at a largest figure, where a short and a leak, or an open circuit and a wrong part, look alike: so
    what was read counts too. Beyond the meter's range is farther than any figure."""
    if reading.deviation * seen.deviation < 0 or abs(reading.deviation) > FARTHER * abs(seen.deviation):
        return False
    if seen.true_value is None or reading.true_value is None:
        return seen.true_value is None
    value, before = (_compared(one) for one in (reading, seen))
    farther = math.copysign(1.0, seen.deviation) * (value - before)
    return farther <= (FARTHER - 1) * abs(before) + 2 * math.hypot(reading.u, seen.u)


def _compared(reading) -> float:
    """What was read, at the guide's mains; without its sign where an upper limit alone makes that one."""
    value = reading.true_value if reading.at_reference is None else reading.at_reference
    return abs(value) if reading.low is None and (reading.high or 0.0) > 0 else value


def supersedes(reading, earlier) -> bool:
    """Is this attempt what the check now stands on? One kept on a phone while another was taken later is not; a stop
    always is. `earlier`: a Reading or a CheckState, or None."""
    return earlier is None or reading.at >= earlier.at or reading.outcome == Outcome.SWITCH_OFF


def find_latest(readings):
    """The attempt that a check stands on, of all its attempts; None of none."""
    latest = None
    for reading in sorted(readings, key=attrgetter("attempt")):
        latest = reading if latest is None or supersedes(reading, latest) else latest
    return latest


def passes(reading, *, confirmed: bool = False, conceded: bool = False) -> bool:
    """In band passes; too close to call passes once confirmed; a concession passes all but switch off."""
    if reading.outcome == Outcome.SWITCH_OFF:
        return False
    if reading.outcome == Outcome.IN_BAND or conceded:
        return True
    return reading.outcome == Outcome.TOO_CLOSE and confirmed
