"""Which faults the guide's checks would show, which they would miss, and which check would show most of what is
missed. Paths that no part makes are left out: a path between any two points is nothing that a guide is written for."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from checks.band import Band
from checks.diagnosis.ambiguity import STRAYS
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.fault import Fault
from checks.diagnosis.grouping import group_indistinct_faults
from checks.diagnosis.place import Place
from checks.diagnosis.reading_scale import FLOOR, to_scale

SHOWS = 3.0  # combined standard deviations from the healthy reading, from which a check without a band shows a fault
MOSTLY = 0.8  # share of builds with a fault that a band must put out for it to count as shown
LEAST_GAIN = 0.01  # of all faults' weight, that a further check must show to be worth adding


@dataclass(frozen=True)
class Coverage:
    """`shown` faults with the place that shows them best; `missed`; `groups` that nothing tells apart; `adds` [(place,
    faults it would add to those before it)], the best first; `unsolved` faults, of which a check has no figure and none
    shows them by another."""

    shown: tuple[tuple[Fault, Place, float], ...]
    missed: tuple[Fault, ...]
    groups: tuple[tuple[Fault, ...], ...]
    adds: tuple[tuple[Place, tuple[Fault, ...]], ...]
    unsolved: tuple[Fault, ...] = ()

    @property
    def share(self) -> float:
        """Share of the faults, by weight, that some check shows."""
        shown, missed = sum(f.weight for f, *_ in self.shown), sum(f.weight for f in self.missed)
        return shown / (shown + missed) if shown + missed else 0.0


def coverage(prepared: Prepared, bands: dict[str, Band] | None = None) -> Coverage:
    """What the guide's own checks show, and what further readings would, one after another.

    `bands` by place name, at the guide's mains: a check with one shows a fault when it puts MOSTLY of its builds out;
    one without when it moves the reading by SHOWS standard deviations.
    """
    apart, shows = compute_separations(prepared), places_that_show(prepared, bands)
    own = np.array([bool(p.check) for p in prepared.places], bool)
    known = np.array([fault.code not in STRAYS for fault in prepared.faults], bool)
    lost = (np.isnan(prepared.mean[1:]) & own[None, :]).any(axis=1)
    seen = (shows & own[None, :]).any(axis=1)
    best = np.where(shows & own[None, :], apart, -1.0)
    shown = [
        (prepared.faults[f], prepared.places[int(best[f].argmax())], float(best[f].max()))
        for f in np.flatnonzero(seen & known)
    ]
    groups = tuple(
        tuple(prepared.faults[f] for f in members)
        for members in group_indistinct_faults(prepared)[1]
        if len(members) > 1
    )
    return Coverage(
        tuple(shown),
        tuple(prepared.faults[f] for f in np.flatnonzero(~seen & ~lost & known)),
        groups,
        tuple(_adds(prepared, shows, seen | lost | ~known, own)),
        tuple(prepared.faults[f] for f in np.flatnonzero(lost & ~seen & known)),
    )


def places_that_show(prepared: Prepared, bands: dict[str, Band] | None = None) -> np.ndarray:
    """(faults, places): does a reading there show a fault, by the band of its place where it has one? None whose
    reading has no figure."""
    shows = compute_separations(prepared) >= SHOWS
    for n, place in enumerate(prepared.places):
        band = (bands or {}).get(place.name)
        if band is not None:
            shows[:, n] = _rejects(prepared, n, band)
    return shows & ~np.isnan(prepared.mean[1:])


def _adds(prepared: Prepared, shows, seen, own):
    """Yield the extra place that shows most of what is still missed, then the next, while one is worth it."""
    weights = np.array([f.weight for f in prepared.faults])
    unseen, extra = ~seen, list(np.flatnonzero(~own))
    while extra and unseen.any():
        best = max(extra, key=lambda n: weights[unseen & shows[:, n]].sum())
        adds = np.flatnonzero(unseen & shows[:, best])
        if weights[adds].sum() < LEAST_GAIN * weights.sum():
            return
        yield prepared.places[best], tuple(prepared.faults[f] for f in adds)
        unseen = unseen & ~shows[:, best]
        extra.remove(best)


def _rejects(prepared: Prepared, n: int, band: Band) -> np.ndarray:
    """(faults,): does a band put out most builds with a fault, where it lets most good ones in?"""
    low, high = (to_scale(v, prepared.units[n]) if v is not None else None for v in (band.low, band.high))
    mean, sd = prepared.mean[:, n], np.sqrt(prepared.cov[:, n, n] + FLOOR)
    inside = (ndtr((high - mean) / sd) if high is not None else 1.0) - (
        ndtr((low - mean) / sd) if low is not None else 0.0
    )
    out = np.asarray(1.0 - inside)
    return (out[1:] >= MOSTLY) & (out[0] < 0.5)


def compute_separations(prepared: Prepared) -> np.ndarray:
    """(faults, places): standard deviations between faulty and healthy; 0 of what has no figure."""
    var = np.einsum("fii->fi", prepared.cov) + FLOOR
    apart = np.abs(prepared.mean[1:] - prepared.mean[0]) / np.sqrt(var[1:] + var[0])
    return np.nan_to_num(apart)
