"""A step that puts in "the valves", without naming one: those that the stages before it left out."""

import re

_VALVES = r"(?:(?:all|both|the|your|alle|beide|die|sämtliche[n]?)\s+)*(?:valves|tubes|röhren)"
_PUTS_IN = re.compile(
    rf"\b(?:insert|fit|install|seat|plug in|push in|put in)\s+{_VALVES}\b|"
    rf"\b(?:put|plug|push|seat)\s+{_VALVES}\s+(?:back\s+)?in(?:to)?\b|"
    rf"\b{_VALVES}\s+(?:wieder\s+|jetzt\s+|nun\s+|alle\s+)*(?:in (?:die|ihre) fassungen\s+)?"
    r"(?:einsetzen|einstecken|einbauen|setzen|stecken)\b|"
    rf"\b(?:setzen?|stecken?)\s+(?:sie\s+)?(?:jetzt\s+|nun\s+)?{_VALVES}\s+(?:wieder\s+)?(?:ein\b|in\b)",
    re.IGNORECASE,
)
_SENTENCE = re.compile(r"(?<=[.!?;])\s+|\n+")
_FORBIDS = re.compile(
    r"\b(?:never|not|don[’']t|without|yet|noch|nie(?:mals)?|nicht|kein\w*|ohne|erst)\b", re.IGNORECASE
)


def puts_valves_in(text: str) -> bool:
    return any(_PUTS_IN.search(sentence) and not _FORBIDS.search(sentence) for sentence in _SENTENCE.split(text))


def fit_valves_left_out(stages: list[dict]) -> None:
    """Such a step gets the valves that are still out as its parts, and puts hands inside the kit."""
    away: list[str] = []
    for stage in stages:
        away += [ref for ref in stage.get("not_fitted", ()) if ref not in away]
        for step in stage.get("step", ()):
            if step.get("parts"):
                away = [ref for ref in away if ref not in step["parts"]]
            elif away and not stage.get("not_fitted") and puts_valves_in(step["text"]):
                step |= {"parts": away, "hands_in": True}
                away = []
