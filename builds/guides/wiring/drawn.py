"""The schematic of a parts list, drawn once for each wording of it."""

import json
from functools import lru_cache

from builds.guides.wiring.components import list_components
from checks.errors import ChecksError
from checks.schematic import Schematic, draw


def build_schematic(rows: list[dict]) -> Schematic | None:
    """None where nothing is wired, or where the parts cannot be drawn: then the wiring table is all there is."""
    return _drawn(json.dumps(rows, ensure_ascii=False))


@lru_cache(maxsize=32)
def _drawn(rows: str) -> Schematic | None:
    try:
        schematic = draw(list_components(json.loads(rows)))
    except ChecksError:
        return None
    return schematic if schematic.sections else None
