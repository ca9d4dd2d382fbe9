"""Priors that learn from confirmed causes: a Dirichlet over faults, so that every confirmation can be taken back.

The faults' own weights are worth STRENGTH confirmations in all. A confirmed cause counts once for its fault and, in a
small share, for the other faults of its kind: a batch with one cold joint is likely to have more.
"""

from collections import Counter

from checks.errors import CallerError

STRENGTH = 30.0  # confirmations that the starting weights are worth
KIN = 0.25  # of a confirmation, shared out over the faults of the same kind


def updated_priors(faults, confirmed) -> dict[str, float]:
    """Weights by fault key after `confirmed` fault keys (repeats count); they sum to 1. Raises ChecksError for unknown
    keys."""
    faults = list(faults)
    known = {f.key: f for f in faults}
    counts = Counter(confirmed)
    unknown = [key for key in counts if key not in known]
    if unknown:
        raise CallerError(f"No fault is called {unknown[0]}.", argument="confirmed")
    whole = sum(f.weight for f in faults)
    kinds = Counter(f.kind for f in faults)
    by_kind: Counter[str] = Counter()
    for key, n in counts.items():
        by_kind[known[key].kind] += n
    alpha = {
        f.key: STRENGTH * f.weight / whole + (1 - KIN) * counts[f.key] + KIN * by_kind[f.kind] / kinds[f.kind]
        for f in faults
    }
    total = sum(alpha.values())
    return {key: value / total for key, value in alpha.items()}
