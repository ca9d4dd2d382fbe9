"""Which faults the guide's checks would show, which they would miss, and which check would show most of what is missed."""
from dataclasses import dataclass

import numpy as np

from checks.faults.fault import Fault
from checks.faults.place import Place
from checks.faults.predict import Prepared
from checks.faults.rank import sets_of
from checks.faults.space import FLOOR

SHOWS = 3.0  # combined standard deviations from the healthy reading, from which a check shows a fault


@dataclass(frozen=True)
class Coverage:
    """`shown` faults with the place that shows them best; `missed`; `groups` that nothing tells apart; `adds` [(place, faults it
    would add)], best first."""

    shown: tuple[tuple[Fault, Place, float], ...]
    missed: tuple[Fault, ...]
    groups: tuple[tuple[Fault, ...], ...]
    adds: tuple[tuple[Place, tuple[Fault, ...]], ...]

    @property
    def share(self) -> float:
        """Share of the faults, by weight, that some check shows."""
        shown, missed = sum(f.weight for f, *_ in self.shown), sum(f.weight for f in self.missed)
        return shown / (shown + missed) if shown + missed else 0.0


def coverage(prepared: Prepared) -> Coverage:
    """What the guide's own checks show, and what extra readings with the power off would."""
    apart = _apart(prepared)
    own = np.array([bool(p.check) for p in prepared.places])
    best = np.where(own[None, :], apart, 0.0)
    shown, missed = [], []
    for f, fault in enumerate(prepared.faults):
        at = int(best[f].argmax())
        (shown.append((fault, prepared.places[at], float(best[f, at]))) if best[f, at] >= SHOWS else missed.append(f))
    adds = [(prepared.places[n], tuple(prepared.faults[f] for f in missed if apart[f, n] >= SHOWS)) for n in np.flatnonzero(~own)]
    adds = sorted((a for a in adds if a[1]), key=lambda a: -sum(f.weight for f in a[1]))
    groups = tuple(tuple(prepared.faults[f] for f in members) for members in sets_of(prepared)[1] if len(members) > 1)
    return Coverage(tuple(shown), tuple(prepared.faults[f] for f in missed), groups, tuple(adds))


def _apart(prepared: Prepared) -> np.ndarray:
    """(faults, places): standard deviations between faulty and healthy. A circuit without a solution shows itself."""
    var = np.einsum("fii->fi", prepared.cov) + FLOOR
    apart = np.abs(prepared.mean[1:] - prepared.mean[0]) / np.sqrt(var[1:] + var[0])
    return np.where(np.isnan(apart), 99.0, apart)
