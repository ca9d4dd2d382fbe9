"""What may be wrong and what to measure next, from the designer's own hints on a check."""

from builds.guides.dangerous_words import asks_live
from checks.outcomes import Outcome


def for_reading(check, reading, guide, allowed) -> tuple[list[str], object | None]:
    """The hints that fit a reading out of its band, and the check to go to next if a hint names one.

    `allowed` (AllowedMeasurements): nobody is led to a reading that may not be taken now, and at a stop such a hint is
    left out whole, since its text may ask for it. So is, while the power must stay off, a hint whose own words do.
    """
    if reading is None or reading.outcome == Outcome.IN_BAND.value:
        return [], None
    side = "high" if reading.deviation > 0 else "low"
    fitting = [
        (hint.get("text", ""), guide.checks.get(hint.get("next")))
        for hint in check.hints or []
        if hint.get("when") in (side, "off") and (allowed.live or not asks_live(hint.get("text", "")))
    ]
    may_go = [after is None or allowed.allows_check(after) for _text, after in fitting]
    texts = [text for (text, _after), may in zip(fitting, may_go, strict=True) if may or not allowed.stopped]
    return texts, next((after for (_text, after), may in zip(fitting, may_go, strict=True) if after and may), None)
