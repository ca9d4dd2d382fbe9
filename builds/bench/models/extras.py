"""Readings beside the guide: what a builder measured, with the power off, because it tells one cause from another."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.ui.messages.places import extra_label


class ExtraReading(models.Model):
    """A resistance between two points of the circuit, with the kit made safe. Only ever added; the latest of a place
    counts."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="extra_readings")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    place = models.CharField(max_length=120)  # as the fault dictionary names it: power, red, black
    part = models.CharField(max_length=20, blank=True)  # read end to end; empty for a pin to chassis
    typed = models.CharField(max_length=40)
    value = models.FloatField(null=True)  # Ω; empty when over range
    u = models.FloatField(default=0.0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"{self.place}: {self.typed}"

    @property
    def label(self) -> str:
        """Where it was taken: "V2 pin 7 to chassis"."""
        return extra_label(self.place.split(" ")[1], self.part)
