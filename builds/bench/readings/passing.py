"""What lets a check pass: the one rule, for a reading just taken and for a concession given or taken back."""

from checks.outcomes import Outcome


def is_confirmed(reading, earlier) -> bool:
    """Do two attempts in a row lie in band as they read? `earlier` is the attempt before (a Reading or a Stand), or
    None. An entry that corrects a slip has nothing before it: what it corrects was no reading."""
    return reading.confirms and not reading.is_slip and earlier is not None and earlier.confirms


def passes(reading, *, confirmed: bool = False, conceded: bool = False) -> bool:
    """In band passes; too close to call passes once confirmed; a concession passes all but switch off."""
    if reading.outcome == Outcome.SWITCH_OFF:
        return False
    if reading.outcome == Outcome.IN_BAND or conceded:
        return True
    return reading.outcome == Outcome.TOO_CLOSE and confirmed
