"""The designer's note of which batch of a part went into which builds."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models import Build
from builds.guides.models import Revision


class PartBatch(models.Model):
    """Parts of one delivery, one bag or one date code, and the builds they went into. A build has one batch of a
    part."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="part_batches")
    refs = models.JSONField()  # ["R8", "R11"]
    name = models.CharField(max_length=60)
    note = models.CharField(max_length=300, blank=True)
    builds = models.ManyToManyField(Build, related_name="part_batches")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"{', '.join(self.refs)}: {self.name}"
