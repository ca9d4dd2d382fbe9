"""A check as it reads in one build, with the valves that sit in its sockets.

A figure left to the circuit is the circuit's with those valves, and so is its band. One that the designer gave holds
for the guide's type and a middling valve: it is moved by what the circuit says these valves move it, and keeps its
width. Stop limits stay, except that the ratings are those of the type fitted. While the figures are being worked out
nothing passes.
"""

import copy
import json
from dataclasses import dataclass, replace
from functools import lru_cache

from builds.guides.alternatives import own_type, part_with
from builds.guides.circuit.stored import find_figure
from builds.guides.corrected import standing
from builds.guides.figures import MOVED, NOTHING, WAITING, band_for, is_model
from builds.guides.guide_cache import Guide, load_guide
from builds.guides.models import Check, CircuitFigures, Revision
from checks.band import Band
from checks.errors import ChecksError

UNMOVED = 0.002  # of a figure: less than any meter shows


@dataclass(frozen=True)
class FittedCheck:
    """A check with its band at the guide's mains. `share`: this build's figure over the guide's, None where the circuit
    cannot tell; `is_waiting`: the figures are being worked out."""

    check: Check
    band: Band | None
    share: float | None = 1.0
    is_waiting: bool = False


def as_fitted(build, check: Check) -> FittedCheck:
    """Asks nothing of the database for a build whose valves are the guide's."""
    check = check if hasattr(check, "guide") else standing(check)
    if not build.own_valves:
        return FittedCheck(check, band_for(check))
    base = find_figure(check)
    if build.valve_figures_id is None or check.stage.revision_id != build.revision_id:
        own = _copy(check, WAITING if base else "")
        return FittedCheck(own, band_for(check), None, is_waiting=base is not None)
    guide, figures = _fitted(*_key(build))
    own = _copy(check)
    own.guide = guide
    own.model_figure = figures.get(f"{check.stage.key}/{check.key}")
    share = _share(base, own.model_figure, check.unit)
    own.of_valves = MOVED if share is None or abs(share - 1) >= UNMOVED else ""
    return FittedCheck(own, _band(own, share), share)


def _copy(check: Check, of_valves: str = "") -> Check:
    own = copy.copy(check)
    own.of_valves = of_valves
    return own


def _band(own: Check, share: float | None) -> Band | None:
    if is_model(own):
        return band_for(own)
    if share is None:
        return None
    band = band_for(own)
    return band if band is None or abs(share - 1) < UNMOVED else _moved(band, share)


def _moved(band: Band, share: float) -> Band | None:
    """The limits and the expected value times `share`; None where they then pass a stop limit."""
    names = ("low", "high", "expected")
    try:
        return replace(band, **{name: value * share for name in names if (value := getattr(band, name)) is not None})
    except ChecksError:
        return None


def _share(base: dict | None, own: dict | None, unit: str) -> float | None:
    """None where the circuit has a figure for the guide's valves and cannot say what these read."""
    if base is None:
        return 1.0
    if own is None:
        return None
    before, after = base["value"], own["value"]
    if max(abs(before), abs(after)) < NOTHING.get(unit, 0.0):
        return 1.0
    return after / before if before * after > 0 else None


def load_guide_as_fitted(build) -> Guide:
    """The guide with the types and valves of a build in its parts list."""
    if not build.own_valves:
        return load_guide(build.revision)
    return _fitted(*_key(build))[0]


def guide_with(revision: Revision, own_valves: dict) -> Guide:
    """The guide of a revision with other valves in its sockets."""
    guide = load_guide(revision)
    parts = {ref: _with(part, own_valves.get(ref)) for ref, part in guide.parts.items()}
    return Guide(guide.stages, parts, guide.pictures, guide.probes)


def _with(part, own: dict | None):
    return part_with(part, own.get("type", own_type(part)), own.get("tested", {})) if own else part


def _text(build) -> str:
    return json.dumps(build.own_valves, sort_keys=True)


def _key(build) -> tuple:
    revision = build.revision
    return revision.pk, revision.issued_at, revision.corrected_at, _text(build), build.valve_figures_id


@lru_cache(maxsize=64)
def _fitted(revision_pk, issued_at, corrected_at, own_valves: str, figures_pk: int | None) -> tuple[Guide, dict]:
    """(the guide with these valves, {"stage/check": figure that has a value})."""
    guide = guide_with(Revision.objects.get(pk=revision_pk), json.loads(own_valves))
    figures = CircuitFigures.objects.get(pk=figures_pk).detail["checks"] if figures_pk else {}
    return guide, {name: figure for name, figure in figures.items() if "value" in figure}
