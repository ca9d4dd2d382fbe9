"""The pins of valves: what a base has, what a socket's drawing needs, and what a type's published connections are."""

import json
from functools import cache
from pathlib import Path

# IEC 60067 sheets; the bases a guide may name.
PINS = {"B9A": 9, "B7G": 7, "octal": 8, "UX4": 4}
DATA = Path(__file__).with_name("pinouts.json")


@cache
def published() -> dict:
    """Type -> {"base", "sections": [{electrode: [pins]}], "heater": [pins], "heater_centre": [pins], "source"}."""
    return json.loads(DATA.read_text(encoding="utf-8"))["types"]
