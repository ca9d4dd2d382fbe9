"""What no row of a guide may hold, whatever its key: it could not be kept, or not be given back as it came."""

import math
import unicodedata

from django.utils.translation import gettext as _

from builds.guides.models import Check, Kit, Part, Point, Stage, Step

DEEPEST = 6  # tables within tables
LARGEST = 1e12
MODELS = {"kit": Kit, "point": Point, "part": Part, "stage": Stage, "step": Step, "check": Check}
RANGES = {"quantity": (1, 999), "minutes": (0, 9999), "mains_exponent": (-4, 4), "setting": (0, 1)}
TEXTS = ("not_fitted", "parts", "cautions", "order")  # lists of words


def wrong_value(table: str, key: str, value) -> str:
    """What is wrong with a value of the right type for its key, as a sentence; empty when nothing is."""
    if key in TEXTS and not all(isinstance(item, str) for item in value):
        return _("This must be a list of texts, each in quotes.")
    if key in RANGES and not RANGES[key][0] <= value <= RANGES[key][1]:  # not a number is not in it either
        low, high = RANGES[key]
        return _("%(value)s is out of range. Accepted: %(low)s to %(high)s.") % {
            "value": value,
            "low": low,
            "high": high,
        }
    most = most_characters(table, key)
    if isinstance(value, str) and most and len(value) > most:
        return _("This is %(count)d characters long. Accepted: up to %(most)d.") % {"count": len(value), "most": most}
    return find_unstorable(value)


def are_shares(values) -> bool:
    """Fractions of a picture's width and height."""
    return all(isinstance(v, int | float) and not isinstance(v, bool) and 0 <= v <= 1 for v in values)


def most_characters(table: str, key: str) -> int | None:
    """How many characters the database keeps of a key; None when it keeps all."""
    model = MODELS.get(table)
    field = next((f for f in model._meta.fields if f.name == key), None) if model else None
    return None if field is None else field.max_length


def find_unstorable(value, depth: int = 0) -> str:
    """A date, a number without end, a character that is no text, or tables too deep within each other."""
    if depth > DEEPEST:
        return _("Tables and lists may be nested up to %(count)d deep.") % {"count": DEEPEST}
    if isinstance(value, str):
        character = next((c for c in value if unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\r\t"), "")
        return (
            _("This has a character that is not text, U+%(code)s.") % {"code": f"{ord(character):04X}"}
            if character
            else ""
        )
    if isinstance(value, int | float):
        is_good = math.isfinite(value) and abs(value) <= LARGEST
        return "" if is_good else _("This number is too large, or not a number.")
    if isinstance(value, list | dict):
        inner = [*value, *value.values()] if isinstance(value, dict) else value
        return next((wrong for item in inner if (wrong := find_unstorable(item, depth + 1))), "")
    return _("Dates and times are written here as text in quotes.")
