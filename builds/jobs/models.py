"""Background jobs, as the pages show them."""

from datetime import timedelta

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.ui.messages.circuit import remark_sentence
from builds.ui.messages.progress import progress_sentence

SILENT = timedelta(seconds=40)  # a running job without a sign of life (queue.HEARTBEAT) has lost its worker
OVERLOOKED = timedelta(minutes=1)  # a waiting job that no worker has taken for so long: is there a worker?
MOST_RESUMED = 1  # times a job is taken up again: one that loses its worker twice is at fault itself
REFUSED = "refused"  # by a rule of `checks`, kept as its code and parameters in `step`
BROKE = "broke"  # the error of a job that ended by an exception; the log has it

OUT_OF_TIME = "out of time"


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
    step = models.JSONField(default=dict, blank=True)  # what it is doing: a code of ui/messages/progress.py, parameters
    result = models.JSONField(null=True)
    error = models.CharField(max_length=500, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True)
    seen_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True)
    resumed = models.PositiveSmallIntegerField(default=0)  # times it was taken up again after its worker was lost
    attempts = models.PositiveSmallIntegerField(default=0)  # that met a server that was not there
    not_before = models.DateTimeField(null=True)  # it waits for its next attempt

    class Meta:
        constraints = [models.UniqueConstraint("kind", "key", name="one_job_a_key")]

    def __str__(self):
        return f"{self.kind} {self.key}: {self.state}"

    @property
    def is_finished(self) -> bool:
        return self.state in (self.State.DONE, self.State.FAILED) or self.is_lost

    @property
    def is_lost(self) -> bool:
        """Running, as far as is known, and without a report for too long."""
        return self.state == self.State.RUNNING and timezone.now() - self.seen_at > SILENT

    @property
    def is_overlooked(self) -> bool:
        """Waiting for so long that no worker seems to be running: none reports another job as under way either."""
        is_due = self.state == self.State.WAITING and not self.not_before
        if not is_due or timezone.now() - self.seen_at <= OVERLOOKED:
            return False
        under_way = Job.objects.filter(state=self.State.RUNNING, seen_at__gt=timezone.now() - SILENT)
        return not under_way.exists()

    @property
    def error_message(self) -> str:
        """What a person reads of a failed job."""
        if self.error == REFUSED:
            return remark_sentence(self.step)
        known = {
            BROKE: _("The job stopped with an error. The log of the site has the details."),
            OUT_OF_TIME: _("The job took too long and was stopped. Its last step was: %(words)s")
            % {"words": progress_sentence(self.step) or "–"},
        }
        return known.get(self.error, self.error)

    @property
    def activity(self) -> str:
        """What the job is doing now."""
        if self.state == self.State.WAITING:
            return _("Waiting for a background worker")
        return progress_sentence(self.step) or _("Working")

    @property
    def share(self) -> int | None:
        """Per cent done; None before it is known how much there is to do."""
        return round(100 * self.done / self.total) if self.total else None
