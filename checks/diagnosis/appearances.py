"""In which ways one fault may appear: at each of its sizes, from the start or only with the first power, and with one
size at an ohmmeter's few tenths of a volt and another under the kit's own volts."""

from dataclasses import dataclass

import numpy as np

from checks.diagnosis.dictionary import Prepared
from checks.diagnosis.model_doubt import disturbs, floating_variances, model_variances

COLD_FROM = 0.4  # of the sizes from the fewest ohms, below which nothing leaks at an ohmmeter's volts: some 3 kΩ
SHOWS = (
    1.0  # standard deviations by which a fault has to move an early reading for its coming late to make a difference
)


@dataclass(frozen=True)
class Appearances:
    """Of faults that come in all sizes, sorted by fault: whose each is (K,), the logarithm of its share among its
    fault's (K,), what it reads (K, n) and how far that spreads along a direction (K, n). `each` and `together` (K, n)
    are the model's doubt of it, `disturbing` (K,) whether grids may drift beside it (model_doubt.py)."""

    row: np.ndarray
    share: np.ndarray
    mean: np.ndarray
    span: np.ndarray
    each: np.ndarray
    together: np.ndarray
    disturbing: np.ndarray


def appearances(prepared: Prepared) -> Appearances:
    """All appearances of the faults that come in sizes. Remembered."""
    if "_appearances" not in prepared.__dict__:
        object.__setattr__(prepared, "_appearances", _all(prepared))
    return prepared.__dict__["_appearances"]


def _all(prepared: Prepared) -> Appearances:
    parts = [_of_fault(prepared, int(row)) for row in np.unique(prepared.size_row)]
    if not parts:
        nothing = np.zeros((0, len(prepared.places)))
        return Appearances(np.zeros(0, dtype=int), np.zeros(0), nothing, nothing, nothing, nothing, np.zeros(0, bool))
    row, share, mean, span = (np.concatenate(part) for part in zip(*parts, strict=True))
    healthy, source = prepared.mean[0], prepared.source
    variances, together = model_variances(mean, healthy, prepared.places, prepared.drift)
    variances = variances + floating_variances(mean, healthy, source[row], source[0], prepared.places)
    return Appearances(row, share, mean, span, variances, together, disturbs(mean, healthy, prepared.places))


def _of_fault(prepared: Prepared, row: int):
    at = prepared.size_row == row
    mean, span = prepared.size_mean[at], prepared.size_span[at]
    if prepared.split[row]:
        mean, span = _split(prepared, mean, span)
    share = np.full(len(mean), -np.log(len(mean)))
    if changes_when_late(prepared, row):
        late = np.log(prepared.late[row])
        mean, span = (np.concatenate((x, as_if_late(prepared, x, base))) for x, base in ((mean, True), (span, False)))
        share = np.concatenate((share + np.log1p(-prepared.late[row]), share + late))
    return np.full(len(mean), row), share, mean, span


def _split(prepared: Prepared, mean, span):
    """Sizes with the power off beside every size with it on: a capacitor that is the wrong way round hardly leaks at an
    ohmmeter's volts, and shorts the supply at its own."""
    off = np.array([place.power == "off" for place in prepared.places])
    one, other = (n.ravel() for n in np.indices((len(mean), len(mean))))
    hardly = one >= COLD_FROM * (len(mean) - 1)  # sizes go from the fewest ohms to the most
    one, other = one[hardly], other[hardly]
    return np.where(off, mean[one], mean[other]), np.where(off, span[one], span[other])


def as_if_late(prepared: Prepared, values, is_mean: bool):
    """`values` (…, n) of a fault, with the early readings those of a good kit."""
    return np.where(prepared.early, prepared.mean[0] if is_mean else 0.0, values)


def find_late_rows(prepared: Prepared) -> np.ndarray:
    """(F + 1,): whose coming late makes a difference. Remembered."""
    if "_late_rows" not in prepared.__dict__:
        late = np.array([changes_when_late(prepared, row) for row in range(len(prepared.mean))], dtype=bool)
        object.__setattr__(prepared, "_late_rows", late)
    return prepared.__dict__["_late_rows"]


def changes_when_late(prepared: Prepared, row: int) -> bool:
    """May a fault come late, and would early readings show it if it did not?"""
    if not prepared.late[row] or not prepared.early.any():
        return False
    at = np.flatnonzero(prepared.size_row == row)
    mean = prepared.size_mean[at] if len(at) else prepared.mean[[row]]
    deviation = np.sqrt(np.einsum("ii->i", prepared.scatter[0])[prepared.early])
    away = np.abs(mean - prepared.mean[0])[:, prepared.early] / deviation
    return bool((away > SHOWS).any())
