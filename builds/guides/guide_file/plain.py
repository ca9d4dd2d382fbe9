"""What no row of a guide may hold, whatever its key: it could not be kept, or not be given back as it came."""

import math
import unicodedata

from builds.guides.models import Check, Kit, Part, Point, Stage, Step

DEEPEST = 6  # tables within tables
LARGEST = 1e12
MODELS = {"kit": Kit, "point": Point, "part": Part, "stage": Stage, "step": Step, "check": Check}
RANGES = {"quantity": (1, 999), "minutes": (0, 9999), "mains_exponent": (-4, 4), "setting": (0, 1)}
TEXTS = ("not_fitted", "parts", "cautions", "order")  # lists of words


def wrong_value(table: str, key: str, value) -> str:
    """What is wrong with a value that is of the right type for its key, as the end of a sentence; empty when nothing
    is."""
    if key in TEXTS and not all(isinstance(item, str) for item in value):
        return "must be a list of words between quotes."
    if key in RANGES and not RANGES[key][0] <= value <= RANGES[key][1]:  # not a number is not in it either
        return f"is {value}; it takes {RANGES[key][0]} to {RANGES[key][1]}."
    if isinstance(value, str) and len(value) > (longest(table, key) or math.inf):
        return f"is {len(value)} characters long; it takes {longest(table, key)}."
    return odd(value)


def longest(table: str, key: str) -> int | None:
    """How many characters the database keeps of a key; None when it keeps all."""
    model = MODELS.get(table)
    field = next((f for f in model._meta.fields if f.name == key), None) if model else None
    return field and field.max_length


def odd(value, depth: int = 0) -> str:
    """A date, a number without end, a character that is no text, or tables too deep within each other."""
    if depth > DEEPEST:
        return f"holds tables or lists more than {DEEPEST} deep within each other."
    if isinstance(value, str):
        found = next((c for c in value if unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\r\t"), "")
        return f"holds a character that is no text, U+{ord(found):04X}." if found else ""
    if isinstance(value, int | float):
        return (
            "" if math.isfinite(value) and abs(value) <= LARGEST else "holds a number that is too large or none at all."
        )
    if isinstance(value, list | dict):
        inner = [*value, *value.values()] if isinstance(value, dict) else value
        return next((wrong for item in inner if (wrong := odd(item, depth + 1))), "")
    return "holds a date or a time; write it as text, between quotes."
