"""What the designer makes of the deviations and snags."""

from builds.review.models.batches import PartBatch
from builds.review.models.decisions import Decision
from builds.review.models.findings_cache import CachedCorrelations, CachedFinding
from builds.review.models.issued import IssuedChanges
from builds.review.models.reference import ReferenceBuild
from builds.review.models.release import ReleaseCriteria
from builds.review.models.triage import Cause, Triage

__all__ = [
    "CachedCorrelations",
    "CachedFinding",
    "Cause",
    "Decision",
    "IssuedChanges",
    "PartBatch",
    "ReferenceBuild",
    "ReleaseCriteria",
    "Triage",
]
