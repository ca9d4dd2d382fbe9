"""From a check's rows to the evidence that its finding rests on, and to what its proposed band rests on."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import lru_cache
from statistics import median
from typing import NamedTuple

from builds.bench.models import CheckStatus
from builds.guides.circuit.specs import specs_or_none
from builds.guides.circuit.stored import find_figure
from builds.guides.guide_cache import load_guide
from builds.guides.models import Revision
from checks.circuit.ratings.bounds import rated_volts
from checks.outcomes import Outcome
from checks.statistics.evidence import FEWEST, Evidence, Label, Reference
from checks.statistics.normality import GuideShape, Shape, shape_of_guide
from checks.statistics.shared_scatter import learn_ratio
from checks.statistics.tolerance import Limits, Proposal, Reason, Scatter, Withheld, compute_scatter, propose

NORMAL_95 = 3.92  # width of a 95 % band in standard deviations
BAND_SPREADS = 6.0  # width of a guide's band in the spreads of good builds, where no circuit says more


class Row(NamedTuple):
    """Where one build is on one check, and what it read last. Plain, since a review looks at a hundred thousand of
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


def list_rows(checks, *order) -> Iterable[Row]:
    """The rows of some checks, one query, read a few at a time."""
    statuses = CheckStatus.objects.filter(check_row__in=[c.pk for c in checks]).order_by(*order)
    return (Row(*row) for row in statuses.values_list(*FIELDS).iterator(chunk_size=5000))


def gather_evidence(
    rows: list[Row], band, snags: int, labels: dict[str, dict[int, str]] | None = None, quantity: str = ""
) -> Evidence:
    """What the builds say on one check. `labels`: name -> build id -> its group."""
    half = band.half_width if band and band.half_width else None
    right = sum(r.attempts > 1 and r.first_outcome != Outcome.IN_BAND and r.outcome == Outcome.IN_BAND for r in rows)
    one_sided = bool(band) and (band.low is None) != (band.high is None)
    read = [r for r in rows if r.at_reference is not None or r.outcome == Outcome.IN_BAND]
    deviations = tuple(r.deviation for r in read)
    is_band_alone = bool(band) and band.expected is None
    if is_band_alone and not one_sided:
        deviations = _about_their_middle(deviations)
    return Evidence(
        deviations,
        median_uncertainty(rows) / half if half else 0.0,
        right,
        snags,
        one_sided,
        Reference.MIDDLE if is_band_alone else Reference.FIGURE,
        _over(rows),
        tuple(Label(name, tuple(of.get(r.build, "") for r in read)) for name, of in (labels or {}).items()),
        tuple(r.build for r in read),
        quantity,
        _reach(band, half),
    )


def _reach(band, half: float | None) -> float:
    """The middle of the band in half-bands: what a build reads too high by a ratio is that much more of them."""
    if not half or band.low is None or band.high is None:
        return 0.0
    return (band.low + band.high) / 2 / half


def _about_their_middle(deviations: tuple[float, ...]) -> tuple[float, ...]:
    """Where a guide gives a band and no figure, no place in the band is better than another: the builds' own middle
    takes the place of the figure, and 1 stays the limit to either side. Where that middle is past a limit, the band is
    off, and all stays as it is."""
    middle = median(deviations or (0.0,))
    if abs(middle) >= 1:
        return deviations
    return tuple((d - middle) / (1 - middle if d > middle else 1 + middle) for d in deviations)


def median_uncertainty(rows: list[Row]) -> float:
    """Uncertainty of a reading, in the middle of the builds': that of a build far off is no measure of the others'."""
    return median([r.u for r in rows if r.at_reference is not None] or [0.0])


def _over(rows: list[Row]) -> int:
    """Builds over range where that is wrong: a reading past the meter is no number."""
    return sum(r.at_reference is None and r.outcome != Outcome.IN_BAND for r in rows)


@dataclass(frozen=True)
class ProposalBasis:
    """What one check's proposal rests on, before the guide's other checks have their say: small, so that it can be
    kept. `unit`: the spread that circuit or band expects (SI)."""

    scatter: Scatter | None
    unit: float
    from_circuit: bool
    limits: Limits
    over: int
    n: int

    def as_dict(self) -> dict:
        return asdict(self)

    @classmethod
    def from_dict(cls, table: dict) -> "ProposalBasis":
        scatter, limits = table["scatter"], table["limits"]
        if scatter and scatter["shape"]:
            scatter = {**scatter, "shape": Shape(**scatter["shape"])}
        rated = limits["rated"] and tuple(limits["rated"])
        return cls(
            **{**table, "scatter": scatter and Scatter(**scatter), "limits": Limits(**{**limits, "rated": rated})}
        )


def find_basis(check, rows: list[Row], band) -> ProposalBasis | None:
    """None for checks without a band, and for those with a limit on one side only."""
    if band is None or band.low is None or band.high is None:
        return None
    circuit = find_figure(check)
    unit = (circuit["high"] - circuit["low"]) / NORMAL_95 if circuit else 0.0
    scatter = compute_scatter([r.at_reference for r in rows if r.at_reference is not None], median_uncertainty(rows))
    limits = Limits(band.stop_below, band.stop_above, rated_at(check), band.low <= 0 <= band.high)
    spread = unit or (band.high - band.low) / BAND_SPREADS
    return ProposalBasis(scatter, spread, unit > 0, limits, _over(rows), len(rows))


def propose_bands(bases: dict[int, ProposalBasis | None]) -> dict[int, Proposal | Withheld | None]:
    """Check id -> what the builds would have the guide say, or why they propose nothing, for all checks of a guide."""
    with_band = {pk: basis for pk, basis in bases.items() if basis is not None}
    ratios = {
        kind: learn_ratio([(b.scatter, b.unit) for b in with_band.values() if b.scatter and b.from_circuit is kind])
        for kind in (True, False)
    }
    shape = shape_of_guide(b.scatter.shape for b in with_band.values() if b.scatter)
    return {
        pk: _proposal(basis, ratios[basis.from_circuit], len(with_band), shape) if basis else None
        for pk, basis in bases.items()
    }


def _proposal(basis: ProposalBasis, ratio, checks: int, guide: GuideShape) -> Proposal | Withheld | None:
    if basis.n >= FEWEST and 2 * basis.over >= basis.n:
        return Withheld(Reason.OVER_RANGE, over=basis.over, n=basis.n)
    shared = ratio.at(basis.unit) if ratio else None
    return propose(basis.scatter, basis.limits, checks=checks, shared=shared, guide=guide)


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
