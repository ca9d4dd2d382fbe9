"""Recordings of the finished amplifier through a sound card."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.guides.models import Stage


def recording_path(recording, filename):
    return f"recordings/{recording.build_id}/{recording.entry_key}.{recording.suffix}"


class Recording(models.Model):
    """One file of a test signal as the amplifier gave it, with what was measured in it.

    `plan` is the signal (checks.tone.sources.SignalPlan) as a table; without a stage it is a loop-back of the card
    itself. `results` hold what pages draw and say; the figures that checks ask for are readings like any other.
    """

    class State(models.TextChoices):
        WAITING = "waiting"
        ANALYSED = "analysed"
        REFUSED = "refused"

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="recordings")
    stage = models.ForeignKey(Stage, null=True, blank=True, on_delete=models.PROTECT, related_name="recordings")
    plan = models.JSONField(default=dict)
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    file = models.FileField(upload_to=recording_path, max_length=200)
    name = models.CharField(max_length=120)
    meter_volts = models.CharField(max_length=40, blank=True)  # AC volts a meter showed meanwhile, as typed
    scale = models.FloatField(null=True)  # volts of full scale, with its standard uncertainty
    scale_u = models.FloatField(null=True)
    rate = models.PositiveIntegerField(default=0)
    channels = models.PositiveSmallIntegerField(default=0)
    seconds = models.FloatField(default=0)
    bits = models.CharField(max_length=10, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    error = models.JSONField(default=dict, blank=True)  # code and params of why it was refused
    results = models.JSONField(default=list, blank=True)  # one table a channel
    marks = models.JSONField(default=list, blank=True)  # by which its samples are known again (checks.tone.marks)
    valves = models.JSONField(default=list, blank=True)  # which valve was in which socket
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["build", "stage", "state"], name="recordings_of_stage")]

    def __str__(self):
        return self.name

    @property
    def suffix(self) -> str:
        return "flac" if self.name.lower().endswith("flac") else "wav"

    @property
    def is_loopback(self) -> bool:
        return self.stage_id is None
