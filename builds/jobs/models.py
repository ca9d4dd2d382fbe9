"""Work done in the background, as its pages see it."""

from datetime import timedelta

from django.db import models
from django.utils import timezone

SILENT = timedelta(minutes=3)  # a running job that has said nothing for so long has lost its worker
OVERLOOKED = timedelta(minutes=1)  # a waiting job that nobody has taken for so long: is there a worker?


class Job(models.Model):
    """One piece of work, known by its kind and key: asked for twice, it is done once."""

    class State(models.TextChoices):
        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    kind = models.CharField(max_length=30)
    key = models.CharField(max_length=100)
    args = models.JSONField(default=list)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    words = models.CharField(max_length=200, blank=True)
    result = models.JSONField(null=True)
    error = models.CharField(max_length=500, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True)
    seen_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint("kind", "key", name="one_job_a_key")]

    def __str__(self):
        return f"{self.kind} {self.key}: {self.state}"

    @property
    def is_finished(self) -> bool:
        return self.state in (self.State.DONE, self.State.FAILED) or self.is_lost

    @property
    def is_lost(self) -> bool:
        """Running, as far as anybody knows, and silent for too long."""
        return self.state == self.State.RUNNING and timezone.now() - self.seen_at > SILENT

    @property
    def is_overlooked(self) -> bool:
        """Waiting for so long that it seems no worker is there."""
        return self.state == self.State.WAITING and timezone.now() - self.seen_at > OVERLOOKED

    @property
    def share(self) -> int | None:
        """Per cent done; None before it is known how much there is to do."""
        return round(100 * self.done / self.total) if self.total else None
