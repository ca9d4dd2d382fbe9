"""What the deviations on the checks of a guide mean: a Bayesian comparison of explanations, with the probability of
each.

Deviations are in half-bands from the guide's centre (the band is -1 to 1), at the guide's mains:

    fits              centre near 0, spread a part of the band
    figure off        centre somewhere else, however far; spread a part of the band, or of the distance
    band too tight    centre near 0, spread about the band or more, as the builders' meters show it
    part batch        two groups, each close together, with the guide's figure at one of them or between them
    single builds     as fits, but for a build or a few that may be anywhere
    several builds    half of the builds or more went wrong by themselves: a hypothesis, never reported as a finding
    step unclear      as fits, but builders miss at first and come right, or report snags

The checks of a guide are weighed together (guide_model.py). A finding is reported where its probability is REPORTED_AT
or more, and where of all findings reported in the guide no more than FALSE_DISCOVERY_RATE are expected to be of checks
that fit: the probabilities of `fits` are averaged over what is reported, surest first (Newton and others, Biostatistics
5:155, 2004). Sure findings are no excuse for a doubtful one: none is reported that itself fits with more than
MOST_DOUBT (the limit of B. Efron, Ann. Statist. 35:1351, 2007).
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from checks.finite import finite_figures
from checks.statistics import guide_model
from checks.statistics.build_effects import without_build_effects
from checks.statistics.evidence import FEWEST, Evidence, Reference, WeighedEvidence, weigh_evidence
from checks.statistics.guide_model import Posterior

EDITION = 27
REPORTED_AT = 0.5  # probability from which a finding is reported
FALSE_DISCOVERY_RATE = 0.05
MOST_DOUBT = 0.2


class Kind(StrEnum):
    FITS = "fits"
    FIGURE_OFF = "figure off"
    TOO_TIGHT = "band too tight"
    BATCH = "part batch"
    SINGLES = "single builds"
    SEVERAL = "several builds"
    UNCLEAR = "step unclear"
    NOT_ENOUGH = "not enough"


__all__ = ["FEWEST", "CheckFinding", "Evidence", "Kind", "find", "find_many", "compute_findings"]
KINDS = tuple(kind for kind in Kind if kind is not Kind.NOT_ENOUGH)


@finite_figures
@dataclass(frozen=True)
class CheckFinding:
    """The likeliest explanation, its probability and everybody else's; `kind` is NOT_ENOUGH where nothing can be
    reported. `label`: the recorded label that parts the builds of a batch, where one does. `explained`: misses of
    builds that read all such checks too high or too low."""

    kind: str
    probability: float
    each: dict[str, float]
    shift: float  # median deviation in half-bands
    spread: float  # robust spread in half-bands
    n: int
    misses: int = 0
    over: int = 0
    came_right: int = 0
    snags: int = 0
    one_sided: bool = False
    reference: str = Reference.FIGURE
    label: str = ""
    explained: int = 0

    @property
    def others(self) -> list[tuple[str, float]]:
        """The explanations that are still possible (1 % and more), likeliest first."""
        return sorted(((k, p) for k, p in self.each.items() if k != self.kind and p >= 0.01), key=lambda row: -row[1])

    @property
    def ahead(self) -> list[tuple[str, float]]:
        """The two likeliest explanations."""
        return sorted(self.each.items(), key=lambda row: -row[1])[:2]


def find(evidence: Evidence) -> CheckFinding:
    """A finding on one check by itself."""
    return find_many([evidence])[0]


def find_many(evidence) -> list[CheckFinding]:
    """A finding on every check of a guide, in the light of the others."""
    return compute_findings([weigh_evidence(e) for e in without_build_effects(list(evidence))])


def compute_findings(checks: list[WeighedEvidence]) -> list[CheckFinding]:
    """Findings from the weighed evidence of every check of a guide."""
    weighed = iter(guide_model.posteriors([e.likelihoods for e in checks if e.likelihoods is not None]))
    posteriors = [next(weighed) if e.likelihoods is not None else None for e in checks]
    likeliest = [_likeliest(e, p) for e, p in zip(checks, posteriors, strict=True)]
    reported = _reported(likeliest, posteriors)
    return [
        _finding(e, p, kind if i in reported else Kind.NOT_ENOUGH)
        for i, (e, p, kind) in enumerate(zip(checks, posteriors, likeliest, strict=True))
    ]


def _probabilities(p: Posterior) -> dict[str, float]:
    """By kind: a batch with a label and one without are one."""
    rows = {kind.value: p.rows[kind] for kind in KINDS}
    rows[Kind.FITS.value] = p.fits
    rows[Kind.BATCH.value] += p.rows["label"]
    return rows


def _likeliest(e: WeighedEvidence, p: Posterior | None) -> Kind:
    """The kind that would be reported, were this check the only one; NOT_ENOUGH where none is likely enough."""
    if p is None:
        return Kind.NOT_ENOUGH
    probabilities = _probabilities(p)
    kind = Kind(max(probabilities, key=lambda name: probabilities[name]))
    if probabilities[kind] < REPORTED_AT or kind is Kind.SEVERAL or (kind is Kind.TOO_TIGHT and not e.shows_scatter):
        return Kind.NOT_ENOUGH
    return kind


def _reported(likeliest, posteriors) -> set[int]:
    """Positions of what is reported: every `fits`, and findings as long as the rate is held."""
    fitting = {i for i, kind in enumerate(likeliest) if kind is Kind.FITS}
    claims = [i for i, kind in enumerate(likeliest) if kind not in (Kind.FITS, Kind.NOT_ENOUGH)]
    claims.sort(key=lambda i: posteriors[i].fits)
    chances = np.array([posteriors[i].fits for i in claims])
    held = (np.cumsum(chances) / np.arange(1, len(claims) + 1) <= FALSE_DISCOVERY_RATE) & (chances <= MOST_DOUBT)
    return fitting | {i for i, yes in zip(claims, held, strict=True) if yes}


def _finding(e: WeighedEvidence, p: Posterior | None, kind: Kind) -> CheckFinding:
    probabilities = _probabilities(p) if p else {}
    likely = probabilities.get(kind.value, max(probabilities.values(), default=1.0))
    counts = (e.n, e.misses, e.over, e.came_right, e.snags, e.one_sided, e.reference)
    return CheckFinding(kind.value, likely, probabilities, e.shift, e.spread, *counts, _label(p, kind), e.explained)


def _label(p: Posterior | None, kind: Kind) -> str:
    """The label that most likely parts the builds, where the batch is rather a labelled one."""
    if p is None or kind is not Kind.BATCH or not p.labels or p.rows["label"] < p.rows[Kind.BATCH]:
        return ""
    return max(p.labels, key=lambda name: p.labels[name])
