"""What the readings of a check mean, kept until they change."""

from django.db import models

from builds.guides.models import Check


class CachedFinding(models.Model):
    """A check's finding, proposal and summary, worked out from the state of things that `token` names. Never the truth
    itself: whoever reads it compares the token (builds/review/findings_cache.py)."""

    check_row = models.OneToOneField(
        Check, on_delete=models.CASCADE, related_name="cached_finding", db_column="check_id"
    )
    token = models.CharField(max_length=64)
    finding = models.JSONField()
    proposal = models.JSONField(null=True)
    summary = models.JSONField()
    misses = models.JSONField(default=list)  # [build, first outcome, last outcome, deviation at first], by build

    class Meta:
        db_table = "review_keptfinding"


class CachedCorrelations(models.Model):
    """What a check's readings correlate with, before the guide's other checks have their say, of the state of things
    that `token` names (builds/review/correlations_cache.py)."""

    check_row = models.OneToOneField(Check, on_delete=models.CASCADE, related_name="cached_correlations")
    token = models.CharField(max_length=64)
    examined = models.JSONField()
