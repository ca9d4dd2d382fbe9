"""What a mains transformer gives without load: its regulation over the volts stated at rated amps.

A parts list may state it, 0 where its volts are those without load. Where it does not, what the windings' warm copper
drops at their rated amps is taken. Where ohms or amps are missing too, figures take the volts as they are, and ratings
are judged with the usual regulation of so small a transformer: nothing may pass for want of a figure.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from checks.circuit.netlist.conditions import COPPER, WINDING_RISE

if TYPE_CHECKING:
    from checks.circuit.netlist.parts import PartSpec, Winding

WARM = 1 + COPPER * WINDING_RISE
USUAL = ((50.0, 0.12), (150.0, 0.08), (math.inf, 0.06))  # up to so many VA, of small transformers (common practice)


def is_primary_name(name: str) -> bool:
    """Does a winding's name say that it is fed? "primary", "Primary 2" and "prim. 115 V" do."""
    return name.strip().lower().startswith("prim")


def list_primaries(part: PartSpec) -> list[Winding]:
    """The windings on the side that is fed, of a mains transformer the mains: those named so, and those that lie
    across the first."""
    first = {node for w in part.windings if w.name == "primary" for node in w.nodes}
    return [w for w in part.windings if is_primary_name(w.name) or {*w.nodes} <= first]


def list_secondaries(part: PartSpec) -> list[Winding]:
    mains = list_primaries(part)
    return [w for w in part.windings if w not in mains]


def no_load_rise(part: PartSpec, winding: Winding) -> float:
    """By what share of its volts a winding rises without load; 0 where nothing says."""
    return part.regulation if part.regulation is not None else _copper_share(part, winding) or 0.0


def copper_regulation(part: PartSpec) -> float | None:
    """The most that a transformer's secondaries drop at rated amps; None where its regulation is stated, or ohms or
    amps are missing."""
    shares = [_copper_share(part, w) for w in _secondaries(part)] if _is_unstated(part) else []
    known = [share for share in shares if share is not None]
    return max(known) if known and len(known) == len(shares) else None


def usual_regulation(part: PartSpec) -> float | None:
    """What is assumed for ratings; None where it is stated or known of the copper. Unstated amps count as none."""
    if not _is_unstated(part) or not _secondaries(part) or copper_regulation(part) is not None:
        return None
    watts = sum((w.volts or 0.0) * (w.amps or 0.0) for w in _secondaries(part))
    return next(share for most, share in USUAL if watts <= most)


def assume_regulation(part: PartSpec) -> PartSpec:
    """The part as ratings are judged: with the regulation assumed where none is known."""
    share = usual_regulation(part)
    return part if share is None else replace(part, regulation=share)


def _is_unstated(part: PartSpec) -> bool:
    return part.kind == "mains transformer" and part.regulation is None


def _secondaries(part: PartSpec) -> list[Winding]:
    return [w for w in list_secondaries(part) if w.volts]


def _copper_share(part: PartSpec, winding: Winding) -> float | None:
    """What a winding and the primary drop of its volts while every secondary gives its rated amps."""
    if part.kind != "mains transformer" or not (winding.volts and winding.amps and winding.ohms):
        return None
    mains, loads = list_primaries(part), _secondaries(part)
    conductance = [w.volts**2 / w.ohms if w.volts and w.ohms else 0.0 for w in mains]
    if not all(conductance) or not all(w.amps for w in loads):
        return None
    primary = sum((w.volts or 0.0) * (w.amps or 0.0) for w in loads) / sum(conductance)
    own = winding.amps * winding.ohms / (len(winding.nodes) - 1) / winding.volts
    return WARM * (own + primary)
