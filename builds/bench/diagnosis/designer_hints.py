"""What may be wrong and what to measure next, from the designer's own hints on a check."""

from checks.verdict import Outcome


def for_reading(check, reading, guide, allowed) -> tuple[list[str], object | None]:
    """The hints that fit a reading out of its band, and the check to go to next if a hint names one.

    `allowed` (AllowedMeasurements): a hint that leads to a reading which may not be taken now is left out whole.
    """
    if reading is None or reading.outcome == Outcome.IN_BAND.value:
        return [], None
    side = "high" if reading.over_range or reading.deviation > 0 else "low"
    fitting = [
        (hint.get("text", ""), guide.checks.get(hint.get("next")))
        for hint in check.hints or []
        if hint.get("when") in (side, "off")
    ]
    usable = [(text, after) for text, after in fitting if after is None or allowed.allows_check(after)]
    return [text for text, _after in usable], next((after for _text, after in usable if after), None)
