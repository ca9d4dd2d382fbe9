"""A guide's rows, fields and figures as a person says them: for lists of changes, never for the guide file."""

import re

from builds.ui.rich_text import to_text

FIGURES = ("expected", "band", "low", "high", "at_least", "at_most")
FIELDS = {
    "at_least": "at least",
    "at_most": "at most",
    "text": "words",
    "intro": "introduction",
    "hint": "hints",
    "red": "red probe",
    "black": "black probe",
    "stop_above": "stop limit above",
    "stop_below": "stop limit below",
    "measure": "what is measured",
    "mains_exponent": "how it follows the mains",
    "figure_from": "where the figure is from",
    "source_resistance": "source resistance",
    "not_fitted": "parts not fitted yet",
    "minutes": "minutes",
    "hands_in": "hands inside the kit",
    "order": "order of steps and checks",
    "joins": "what it joins",
    "through": "resistor the current goes through",
}
MARKED = ("text", "intro", "note", "summary")  # Markdown
NUMBER = re.compile(r"([+−-]?\d+(?:[.,]\d+)?)\s*(%|[A-Za-zµμΩ°]+)?")


def figure_words(figures: dict) -> str:
    """A figure with its band, as typed: "262 V ± 6 %", "231 V, 218 to 244 V", "at least 100 kΩ"; empty where nothing is
    given."""
    given = {name: spaced(str(figures.get(name) or "").strip()) for name in FIGURES}
    expected = "left to the circuit" if given["expected"].lower() == "model" else given["expected"]
    if given["band"]:
        return f"{expected} ± {given['band'].lstrip('± ')}".strip()
    limits = [limits_words(given["low"], given["high"])] if given["low"] or given["high"] else []
    limits += [f"{FIELDS[name]} {given[name]}" for name in ("at_least", "at_most") if given[name]]
    return ", ".join(x for x in (expected, *limits) if x)


def limits_words(low: str, high: str) -> str:
    """Two limits as typed, the unit once where it is the same: "218 to 244 V"."""
    unit = high.rpartition(" ")[2]
    if low and high:
        return f"{low.removesuffix(f' {unit}') if ' ' in high else low} to {high}"
    return f"from {low}" if low else f"up to {high}"


def spaced(figure: str) -> str:
    """A figure as typed with a space before its unit: "6%" is "6 %". What is no plain figure ("4k7") is left alone."""
    found = NUMBER.fullmatch(figure)
    return f"{found[1]} {found[2]}" if found and found[2] else figure


def field_words(key: str) -> str:
    return FIELDS.get(key, key.replace("_", " "))


def value_words(key: str, value) -> str:
    """Any value of a row in words: text without its marks, lists and tables told in a breath."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        joined = "; " if value and isinstance(value[0], dict) else ", "
        return joined.join(value_words(key, item) for item in value)
    if isinstance(value, dict) and {"when", "text"} <= set(value):
        return f"when {value['when']}: {value['text']}"
    if isinstance(value, dict):
        return ", ".join(f"{field_words(str(k))} {value_words(k, v)}" for k, v in value.items())
    return to_text(value) if key in MARKED and isinstance(value, str) else spaced(str(value))
