"""What may be wrong and what to measure next, from the designer's own hints on a check."""


def for_reading(check, reading) -> tuple[list[str], object | None]:
    """The hints that fit a reading out of its band, and the check to go to next if a hint names one."""
    if reading is None or reading.outcome == "in band":
        return [], None
    side = "high" if reading.over_range or reading.deviation > 0 else "low"
    fitting = [hint for hint in check.hints or [] if hint.get("when") in (side, "off")]
    keys = [hint["next"] for hint in fitting if hint.get("next")]
    named = None
    if keys:
        from builds.guides.models import Check

        named = Check.objects.filter(stage__revision=check.stage.revision_id, key=keys[0]).select_related(
            "stage").first()
    return [hint.get("text", "") for hint in fitting], named
