"""The change list of an issued revision, as it was on the day."""

from django.db import models
from django.utils import timezone

from builds.bench.models import Snag
from builds.guides.models import Revision


class IssuedChanges(models.Model):
    """What a revision changed, why, on what evidence, and the snags that answered. Written once, when it is issued: the
    database refuses to change it (migration 0007). `listed` is as builds/review/changes/record.py has it."""

    revision = models.OneToOneField(Revision, on_delete=models.CASCADE, related_name="change_record")
    listed = models.JSONField()
    snags = models.ManyToManyField(Snag, related_name="change_records")  # those it answers
    at = models.DateTimeField(default=timezone.now)

    def __str__(self):
        return f"changes of {self.revision}"
