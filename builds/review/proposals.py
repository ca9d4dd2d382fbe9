"""From a check's rows to what they mean, and to the figure and band to propose."""

from functools import lru_cache
from statistics import median
from typing import NamedTuple

from builds.bench.models import CheckStatus
from builds.guides.circuit.specs import specs_or_none
from builds.guides.circuit.stored import figure_of
from builds.guides.guide_cache import load_guide
from builds.guides.models import Revision
from checks.circuit.ratings.bounds import rated_volts
from checks.outcomes import Outcome
from checks.statistics.findings import FEWEST, Evidence, Found, find
from checks.statistics.tolerance import Proposal, Withheld, propose

NORMAL_95 = 3.92  # width of a 95 % band in standard deviations


class Row(NamedTuple):
    """Where one build stands on one check, and what it read last. Plain, since a review looks at a hundred thousand of
    them."""

    check: int
    build: int
    attempts: int
    first_outcome: str
    outcome: str
    deviation: float
    u: float
    at_reference: float | None  # of the latest reading; None for over range


FIELDS = ("check_row_id", "build_id", "attempts", "first_outcome", "outcome", "deviation", "u", "at_reference")


def rows_of(checks, *order):
    """The rows of some checks, one query, read a few at a time."""
    found = CheckStatus.objects.filter(check_row__in=[c.pk for c in checks]).order_by(*order)
    return (Row(*row) for row in found.values_list(*FIELDS).iterator(chunk_size=5000))


def found_of(rows: list[Row], band, snags: int) -> Found:
    """The finding on one check from its builds' rows."""
    half = band.half_width if band and band.half_width else None
    u = _u(rows) / half if half else 0.0
    right = sum(r.attempts > 1 and r.first_outcome != Outcome.IN_BAND and r.outcome == Outcome.IN_BAND for r in rows)
    one_sided = bool(band) and (band.low is None) != (band.high is None)
    figure = "the guide's figure" if band is None or band.expected is not None else "the middle of the guide's band"
    over = _over(rows)
    told = tuple(r.deviation for r in rows if r.at_reference is not None or r.outcome == Outcome.IN_BAND)
    if band and band.expected is None and not one_sided:
        told = _about_their_middle(told)
    return find(Evidence(told, u, right, snags, one_sided, figure, over))


def _about_their_middle(deviations: tuple[float, ...]) -> tuple[float, ...]:
    """Where a guide gives a band and no figure, no place in the band is better than another: the builds' own middle
    stands for the figure, and 1 stays the limit to either side. Where that middle is past a limit, the band is off, and
    all stays as it is."""
    middle = median(deviations or (0.0,))
    if abs(middle) >= 1:
        return deviations
    return tuple((d - middle) / (1 - middle if d > middle else 1 + middle) for d in deviations)


def _u(rows: list[Row]) -> float:
    """Uncertainty of a reading, in the middle of the builds': that of a build far off is no measure of the others'."""
    return median([r.u for r in rows if r.at_reference is not None] or [0.0])


def _over(rows: list[Row]) -> int:
    """Builds over range where that is wrong: a reading past the meter is no number."""
    return sum(r.at_reference is None and r.outcome != Outcome.IN_BAND for r in rows)


def proposal_of(check, rows: list[Row], band) -> Proposal | Withheld | None:
    """What the builds would have the guide say, or why they can't; None for fewer than five, and for checks with a
    limit on one side only."""
    if band is None or band.low is None or band.high is None:
        return None
    if len(rows) >= FEWEST and 2 * _over(rows) >= len(rows):
        return Withheld(
            f"{_over(rows)} of {len(rows)} builds are over range: nothing is proposed. Find out why before "
            f"the guide is "
            "touched."
        )
    model = figure_of(check)
    model_sd = (model["high"] - model["low"]) / NORMAL_95 if model else None
    return propose(
        [r.at_reference for r in rows if r.at_reference is not None],
        u=_u(rows),
        model_sd=model_sd or None,
        stop_below=band.stop_below,
        stop_above=band.stop_above,
        rated=rated_at(check),
        across_zero=band.low <= 0 <= band.high,
    )


def rated_at(check) -> tuple[float, str] | None:
    """What the parts fitted between a check's points are rated for, in volts, and the part."""
    if check.measure != "dc volts" or not check.stage.is_powered:
        return None
    revision = check.stage.revision
    fitted = [part for part in _parts(revision.pk, revision.issued_at) if part.ref not in check.stage.not_fitted]
    return rated_volts(fitted, check.red, check.black)


@lru_cache(maxsize=16)
def _parts(revision_pk, _issued_at) -> tuple:
    """Of an issued revision, whose parts stay; only such have builds."""
    return tuple(specs_or_none(load_guide(Revision.objects.get(pk=revision_pk))))
