"""A dictionary brought to what good kits of this guide read, where the circuit's own figures are off.

Valves differ from their models, and a model's figure is nobody's reading. Every prediction at a place is multiplied by
what good kits read there over what the circuit says, so that nothing stays nothing. How far a valve may be off its type
is a further uncertainty of all readings that it moves together: along what a weak one of its kind would do.
"""

from dataclasses import replace

import numpy as np

from checks.diagnosis.amplification import WEAKER
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.solving import METER_OHMS

# Logarithm of a centre over the circuit's figure: near cut-off a model is off by two or more, a wrong figure by three.
FURTHEST = 1.0
LEAST = 1e-3  # V, Ω or A: smaller readings are not brought anywhere
VALVE = 0.1  # standard deviation of a valve's strength beyond its type's own limits (common practice)
MOST_CACHED = 8  # centrings remembered with a dictionary


def centre_on(prepared: Prepared, centres: dict[str, float], corrected: dict[str, float] | None = None) -> Prepared:
    """`prepared` with its good kits at `centres` (place name -> SI), and valves free to differ; its readings corrected
    for the meter's load on the sources `corrected` (place name -> Ω) only, where that is given. Remembered."""
    memo = prepared.__dict__.setdefault("_centred", {})
    key = frozenset(centres.items()), frozenset((corrected or {}).items())
    if key not in memo:
        while len(memo) >= MOST_CACHED:
            memo.pop(next(iter(memo)))
        shown = prepared if corrected is None else _corrected(prepared, corrected)
        memo[key] = _centred(shown, centres) if centres else shown
    return memo[key]


def correct_for_load(prepared: Prepared, corrected: dict[str, float]) -> Prepared:
    """`prepared` with its readings corrected for the meter's load on these sources only. Remembered."""
    return centre_on(prepared, {}, corrected)


def _corrected(prepared: Prepared, ohms: dict[str, float]) -> Prepared:
    """Readings as a bench has them that corrects for these sources, and not for what the circuit knows of them."""
    own = prepared.source[0]
    known = np.array([ohms.get(place.name, own[n]) for n, place in enumerate(prepared.places)])
    share = (1 + known / METER_OHMS) / (1 + own / METER_OHMS)
    return replace(_scaled(prepared, share), corrected=known)


def _scaled(prepared: Prepared, share) -> Prepared:
    """Every reading of a place times its share."""

    def moved(mean):
        return np.arcsinh(np.sinh(mean) * share)

    return replace(
        prepared,
        mean=moved(prepared.mean),
        nominal=prepared.nominal * share,
        size_mean=moved(prepared.size_mean),
    )


def _centred(prepared: Prepared, centres) -> Prepared:
    share = np.array([_share(prepared, n, centres.get(place.name)) for n, place in enumerate(prepared.places)])
    return replace(_scaled(prepared, share), scatter=prepared.scatter + _of_valves(prepared))


def _share(prepared: Prepared, n: int, centre: float | None) -> float:
    nominal = prepared.nominal[n]
    if centre is None or abs(nominal) < LEAST or centre * nominal <= 0:
        return 1.0
    share = centre / nominal
    return float(share) if abs(np.log(share)) < FURTHEST else 1.0


def _of_valves(prepared: Prepared):
    """(n, n): covariance of readings that valves of other strength move together."""
    whole = np.zeros(prepared.scatter.shape[1:])
    for row, fault in enumerate(prepared.faults, start=1):
        sizes = prepared.size_mean[prepared.size_row == row]
        if fault.code is FaultCode.VALVE_WEAK and len(sizes):
            nearest = np.nan_to_num(sizes - prepared.mean[0])
            least = nearest[np.argmin((nearest**2).sum(axis=1))]  # of the sizes the one nearest to a good valve
            whole += (VALVE / WEAKER) ** 2 * np.outer(least, least)
    return whole
