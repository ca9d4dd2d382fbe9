"""What may be wrong and what to measure next, from the designer's own hints on a check."""


def for_reading(check, reading, guide) -> tuple[list[str], object | None]:
    """The hints that fit a reading out of its band, and the check to go to next if a hint names one."""
    if reading is None or reading.outcome == "in band":
        return [], None
    side = "high" if reading.over_range or reading.deviation > 0 else "low"
    fitting = [hint for hint in check.hints or [] if hint.get("when") in (side, "off")]
    named = next((guide.checks[hint["next"]] for hint in fitting if hint.get("next") in guide.checks), None)
    return [hint.get("text", "") for hint in fitting], named
