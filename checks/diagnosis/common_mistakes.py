"""One mistake that spoils many readings of a healthy kit: which there are, and what the readings would have been
without it."""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from checks.diagnosis.reading_scale import to_scale
from checks.errors import CallerError
from checks.finite import finite_arguments

OFF = 4.0  # standard deviations from the healthy reading, from which a reading counts as spoiled
FEWEST = 2  # one spoiled reading is a slip


class MistakeKind(StrEnum):
    LEADS_SWAPPED = "leads swapped"
    NOTED_TOO_SMALL = "noted a thousand times too small"
    NOTED_TOO_LARGE = "noted a thousand times too large"


@dataclass(frozen=True)
class Mistake:
    """Readings of the kinds in `measures` were multiplied by `factor`; `prior` before any reading."""

    kind: MistakeKind
    factor: float
    measures: tuple[str, ...]
    prior: float
    probability: float = 0.0

    def __post_init__(self):
        if not self.factor or not 0 <= self.prior < 1:
            raise CallerError(
                "A mistake multiplies readings by something, and has a prior below one.", argument="factor"
            )

    def undone(self, prepared, rows, residual, cov, z):
        """The readings less those of a healthy kit (n,), with the mistake undone where a reading is off; None where
        fewer than two are. `rows` are (column of `prepared`, Observation); `residual`, `z` (n,) and `cov` (n, n) on the
        scale."""
        away = np.abs(residual) > OFF * np.sqrt(np.diag(cov))
        spoiled = [
            k
            for k, (n, o) in enumerate(rows)
            if away[k] and o.value is not None and prepared.places[n].probe.measure in self.measures
        ]
        if len(spoiled) < FEWEST:
            return None
        whole = residual.copy()
        for k in spoiled:
            n, o = rows[k]
            whole[k] += to_scale(o.value / self.factor, prepared.units[n]) - z[k]
        return whole


COMMON = (
    Mistake(MistakeKind.LEADS_SWAPPED, -1.0, ("dc volts", "current"), 0.01),
    Mistake(MistakeKind.NOTED_TOO_SMALL, 1e-3, ("dc volts", "resistance"), 0.005),
    Mistake(MistakeKind.NOTED_TOO_LARGE, 1e3, ("dc volts", "resistance"), 0.005),
)


@finite_arguments
def likeliest_mistake(probabilities, least: float = 0.05) -> Mistake | None:
    """The likeliest of COMMON with its probability, if it is worth a word."""
    best = int(np.argmax(probabilities))
    if probabilities[best] < least:
        return None
    return replace(COMMON[best], probability=float(probabilities[best]))
