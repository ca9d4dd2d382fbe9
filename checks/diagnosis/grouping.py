"""Faults that no reading tells apart are one answer."""

from itertools import pairwise

import numpy as np

from checks.diagnosis.ambiguity import STRAYS, Group, join_ambiguous
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.reading_scale import FLOOR

ALIKE = 2.0  # combined standard deviations below which no reading tells two faults apart
BETWEEN = 6  # points looked at from one size to the next
NEARLY_ALL = 0.75  # of the sizes of a fault, that must read as another's for the two to be one answer
KIN = 0.5  # below which two faults that hardly show are one answer


def group_parts(
    prepared: Prepared, probabilities, clear_at_most, peaks, extras=frozenset()
) -> tuple[Group, tuple[Group, ...]]:
    """(the faults that nothing shows, the others in groups, likeliest first). `probabilities` are (F,); what an
    unseen fault has beyond `clear_at_most` (F,) is told like any other. `peaks` (F + 1,) are the log densities of the
    readings, each fault at its best size; `extras` columns of readings beside the guide that were taken."""
    unseen, sets, kin = group_indistinct_faults(prepared, extras)
    clear = np.minimum(probabilities, clear_at_most)
    shown = probabilities.copy()
    shown[unseen] -= clear[unseen]
    joined = join_ambiguous(prepared, [*sets, *kin], shown, peaks[1:], peaks[0])
    hidden = set(unseen)
    groups = [
        _group(prepared, members, shown) for members in joined if shown[members].any() or not hidden >= set(members)
    ]
    return _group(prepared, unseen, clear), tuple(sorted(groups, key=lambda g: -g.probability))


def _group(prepared: Prepared, members, probabilities) -> Group:
    order = sorted(members, key=lambda f: -probabilities[f])
    return Group(tuple(prepared.faults[f] for f in order), float(probabilities[members].sum()) if members else 0.0)


def _group_unseen(prepared: Prepared, unseen):
    """Unseen faults in sets that lean the same way."""
    mean = prepared.mean[1:]
    deviation = np.sqrt(np.einsum("ii->i", prepared.cov[0]) + FLOOR)
    sets: list[list[int]] = []
    for f in unseen:
        for members in sets:
            if not np.nanmax(np.abs(mean[f] - mean[members[0]]) / deviation, initial=0.0) > KIN:
                members.append(f)
                break
        else:
            sets.append([f])
    return sets


def group_indistinct(prepared: Prepared, extras=frozenset()) -> tuple[list[int], list[list[int]]]:
    """(faults that no place of the guide tells from a healthy kit, the others in sets that none tells apart), by ALIKE
    standard deviations. Places that only an extra reading reaches are left out, but for `extras`. A part that may have
    any other value is an answer of its own."""
    at = [n for n, p in enumerate(prepared.places) if p.check or n in extras]
    mean, var = prepared.mean[:, at], np.einsum("fii->fi", prepared.cov)[:, at] + FLOOR
    unseen: list[int] = []
    alone: list[int] = []
    strays: list[list[int]] = []
    sized = set(prepared.size_row)
    sets: list[list[int]] = []
    for f in range(1, len(mean)):
        if prepared.faults[f - 1].code in STRAYS:  # evidence alone joins them to others: see ambiguity.py
            strays.append([f]) if _shows(prepared, f, at, var[0]) else unseen.append(f)
            continue
        if prepared.faults[f - 1].sizes:
            (alone if _shows(prepared, f, at, var[0]) else unseen).append(f)
            continue
        if f in sized and not _shows(prepared, f, at, var[0]):
            unseen.append(f)
            continue
        # The spread of its sizes is no doubt of what a large one reads: beside a healthy kit each is looked at alone.
        for members in sets if f in sized else ([0], *sets):
            lead = members[0]
            if lead and (f in sized) != (lead in sized):
                continue  # whatever comes in all sizes is like everything
            apart = np.abs(mean[f] - mean[lead]) / np.sqrt(var[f] + var[lead])
            if not np.max(np.where(np.isnan(apart), 99.0, apart), initial=0.0) > ALIKE:
                (unseen if lead == 0 else members).append(f)
                break
        else:
            sets.append([f])
    sets = [*_with_mimics(prepared, sets, alone, at, var[0]), *strays]
    return [f - 1 for f in unseen], [[f - 1 for f in members] for members in sets]


def _with_mimics(prepared: Prepared, sets, alone, at, var):
    """`sets`, and those of parts with any other value (`alone`): two of which each can read as the other are one, and
    faults that come in all sizes, such as a leak, join the part whose other values read alike."""
    sized = set(prepared.size_row)
    curves = {f: _curve(prepared, f, at) for f in alone}
    merged: list[list[int]] = []
    for f in alone:
        for members in merged:
            if _mimics(prepared, f, curves[members[0]], at, var) and _mimics(prepared, members[0], curves[f], at, var):
                members.append(f)
                break
        else:
            merged.append([f])
    unmerged = []
    for members in sets:
        stay: list[int] = []
        for f in members:
            into = f in sized and next((m for m in merged if _mimics(prepared, f, curves[m[0]], at, var)), None)
            (into or stay).append(f)
        unmerged += [stay] if stay else []
    return [*unmerged, *merged]


def _mimics(prepared: Prepared, f: int, curve, at, var) -> bool:
    """Do nearly all sizes of a fault that show read as some point of a curve?"""
    points = prepared.size_mean[prepared.size_row == f][:, at]
    points = points[~np.isnan(points).any(axis=1)]
    spread = np.sqrt(2 * var)
    apart = np.max(np.abs(points - prepared.mean[0, at]) / spread, axis=1, initial=0.0)
    points = points[apart > ALIKE]
    if not len(points):
        return False
    away = np.max(np.abs(points[:, None, :] - curve[None, :, :]) / spread, axis=2, initial=0.0)
    return bool((away.min(axis=1) <= ALIKE).mean() >= NEARLY_ALL)


def _curve(prepared: Prepared, f: int, at):
    """What a part with any other value makes the checks read: its sizes, and between them; from short to open."""
    fault, rows = prepared.faults[f - 1], np.flatnonzero(prepared.size_row == f)
    below = np.array([size < 1 for size in fault.sizes])
    ends = {
        code: _find_row(prepared, fault, code) for code in (FaultCode.SHORT, FaultCode.OPEN, FaultCode.WINDING_OPEN)
    }
    means, healthy = prepared.size_mean[:, at], prepared.mean[:1, at]
    low = [prepared.mean[[ends[FaultCode.SHORT]]][:, at]] if ends[FaultCode.SHORT] else []
    top = ends[FaultCode.OPEN] or ends[FaultCode.WINDING_OPEN]
    high = [prepared.mean[[top]][:, at]] if top else []
    whole = np.concatenate([*low, means[rows[below]], healthy, means[rows[~below]], *high])
    whole = whole[~np.isnan(whole).any(axis=1)]  # a size without a solution is passed over
    steps = np.linspace(0, 1, BETWEEN, endpoint=False)[:, None]
    return np.concatenate([*(one + steps * (two - one) for one, two in pairwise(whole)), whole[-1:]])


def _find_row(prepared: Prepared, fault, code) -> int:
    """The row of the fault with this code at the same part and winding; 0 where there is none."""
    winding = fault.params.get("winding")
    return next(
        (
            n + 1
            for n, other in enumerate(prepared.faults)
            if other.code is code and other.refs == fault.refs and other.params.get("winding") == winding
        ),
        0,
    )


def _shows(prepared: Prepared, row: int, at, var) -> bool:
    """Does a fault that comes in all sizes show in any of them?"""
    apart = np.abs(prepared.size_mean[prepared.size_row == row][:, at] - prepared.mean[0, at]) / np.sqrt(2 * var)
    return bool(np.max(np.where(np.isnan(apart), 99.0, apart), initial=0.0) > ALIKE)


def group_indistinct_faults(prepared: Prepared, extras=frozenset()):
    """`alike` and the unseen in sets that lean the same way, worked out once for a Prepared and the extra readings."""
    memo = prepared.__dict__.setdefault("_sets", {})
    if extras not in memo:
        unseen, sets = group_indistinct(prepared, extras)
        memo[extras] = unseen, sets, _group_unseen(prepared, unseen)
    return memo[extras]
