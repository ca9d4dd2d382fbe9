"""Entries that came from a phone's outbox."""

from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build


class Receipt(models.Model):
    """An entry that arrived, by its key: a tick has no row of its own to carry one, and what was kept on a phone is
    recorded as such, with when it was made and when it came."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="receipts")
    entry_key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=10)  # tick, reading, made-safe, snag, photo
    unticked = models.CharField(max_length=170, blank=True, default="")  # stage/step whose tick it took back
    made_at = models.DateTimeField()
    arrived_at = models.DateTimeField(default=timezone.now)
