"""Figures that an erratum gives a check of an issued revision, whose own row stays frozen."""

from django.db import models
from django.utils import timezone

from builds.guides.models.rows import Check


class FigureCorrection(models.Model):
    """All figures of one check as they hold from `at` until `withdrawn_at`, as typed. The latest that was not withdrawn
    holds. Only ever added, and withdrawn once: readings were judged by them."""

    check_row = models.ForeignKey(Check, on_delete=models.CASCADE, related_name="corrections", db_column="check_id")
    figures = models.JSONField()  # {field of the check: text}
    reason = models.TextField(blank=True)  # why they are wider, or hold against objections
    objections = models.JSONField(default=list, blank=True)  # those it was published over: [{code, level, params}]
    at = models.DateTimeField(default=timezone.now)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"{self.check_row}: {self.figures}"
