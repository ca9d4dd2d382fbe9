"""How long this kit takes to discharge by itself: asked of its parts list."""

from functools import lru_cache

from builds.guides.circuit.specs import specs_or_none
from builds.guides.guide_cache import load_guide
from checks.discharge import Discharge, discharge
from checks.errors import ChecksError


def compute_discharge(revision, start_volts: float) -> Discharge | None:
    """Worst case to the touch limit after switch-off; None when the parts list has no supply or cannot be
    calculated."""
    if revision.is_draft:
        return _of(tuple(specs_or_none(load_guide(revision))), start_volts)
    return _frozen_discharge(revision.pk, revision.issued_at, round(start_volts), revision)


@lru_cache(maxsize=64)
def _frozen_discharge(pk, issued_at, start_volts, revision):
    return _of(tuple(specs_or_none(load_guide(revision))), start_volts)


def _of(parts, start_volts) -> Discharge | None:
    try:
        worst = discharge(parts, start_volts)
    except ChecksError:  # a circuit with loose ends: the meter alone says when it is safe, as it does anyway
        return None
    return worst if worst and worst.seconds < float("inf") else None
