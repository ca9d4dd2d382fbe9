"""What the deviations on one check point to: a first sorting of the evidence, with its reason in words.

A rule of thumb with stated thresholds, not a probability: with fewer than three builds it says so.
"""
from dataclasses import dataclass

import numpy as np

from checks.pooled.summary import MAD_TO_SD

FEW = 3
OFF = 0.75  # of a half-band: the centre of the readings is that far from the guide's centre
TIGHT = 0.65  # of a half-band: robust spread above which a good build often falls outside


@dataclass(frozen=True)
class Meaning:
    """`kind` is one of: fits, figure off, band too tight, two groups, single builds, step unclear, not enough."""

    kind: str
    words: str
    shift: float  # median deviation in half-bands
    spread: float  # robust, in half-bands


def meaning(deviations, retaken_right: int = 0, snags: int = 0) -> Meaning:
    """Sort one check's evidence. `deviations`: last readings of each build, in half-bands from the centre.

    `retaken_right` counts builds that missed first and were in band in the end.
    """
    d = np.clip(np.asarray(list(deviations), dtype=float), -20, 20)
    n = d.size
    if n < FEW:
        return Meaning("not enough", f"Only {n} build{'' if n == 1 else 's'} measured this.",
                       float(np.median(d)) if n else 0.0, 0.0)
    shift = float(np.median(d))
    spread = float(np.median(np.abs(d - shift))) * MAD_TO_SD
    outside = np.abs(d) > 1
    share = float(outside.mean())
    return Meaning(*_sort(d, n, shift, spread, share, retaken_right, snags), shift, spread)


def _sort(d, n, shift, spread, share, retaken_right, snags) -> tuple[str, str]:
    gap = _gap(d)
    if gap is not None:
        return "two groups", f"The builds fall into two groups of {gap[0]} and {gap[1]}: look for a part batch."
    if share > 0.5 and abs(shift) >= OFF and spread < OFF:
        side = "above" if shift > 0 else "below"
        return "figure off", f"{int(round(share * n))} of {n} builds lie {side} the band, close together."
    if share > 0.25 and spread > TIGHT:
        return "band too tight", f"Readings scatter about the figure by more than the band allows ({n} builds)."
    if 0 < share <= 0.4:
        return "single builds", f"{int(round(share * n))} of {n} builds are out; the others agree with the guide."
    if retaken_right >= 2 and retaken_right >= 0.25 * n or snags >= 2:
        return "step unclear", f"{retaken_right} builds missed first and came right; {snags} snags. The figures are fine."
    return "fits", f"{n} builds agree with the guide."


def _gap(d) -> tuple[int, int] | None:
    """Sizes of two clusters, if a gap wider than 0.8 half-bands parts at least a quarter from the rest, each tight."""
    ordered = np.sort(d)
    gaps = np.diff(ordered)
    if ordered.size < 5 or gaps.size == 0:
        return None
    k = int(np.argmax(gaps)) + 1
    small = min(k, ordered.size - k)
    widest_inside = max(np.ptp(ordered[:k]), np.ptp(ordered[k:]))
    if gaps[k - 1] > 0.8 and small >= max(2, ordered.size / 4) and widest_inside < 1.2 and gaps[k - 1] < 12:
        return k, ordered.size - k
    return None
