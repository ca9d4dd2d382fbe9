"""Causes that the designer has confirmed: what the kit's fault weights learn from."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build


class ConfirmedFault(models.Model):
    """That a build had this fault. Taken back, it stops counting and stays on record."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="confirmed_faults")
    fault = models.CharField(max_length=80)  # key in the kit's fault list
    words = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    taken_back_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                "build", "fault", condition=models.Q(taken_back_at=None), name="one_confirmation_a_fault"
            )
        ]

    def __str__(self):
        return self.words
