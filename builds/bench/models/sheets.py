"""Worksheets that were filled on paper and entered later."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.bench.models.readings import Reading
from builds.guides.models import Stage


class Sheet(models.Model):
    """One entry of a filled worksheet. Its readings carry the times written on the paper; this says when, and by whom,
    they were typed in."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="sheets")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="+")
    readings = models.ManyToManyField(Reading, related_name="sheets")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    entered_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["entered_at"]
