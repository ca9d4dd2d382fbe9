"""Which valve sits in which socket: its make and date code, and every swap."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.bench.models.build import Build


class FittedValve(models.Model):
    """From `at` on, this valve sat in a build's socket. Only ever added: a swap is the next row, and so is the
    correction of a slip."""

    class Why(models.TextChoices):
        FIRST = "first", _("first fitted")
        DOUBT = "doubt", _("swapped: the old one may be faulty")
        FAULTY = "faulty", _("swapped: the old one was faulty")
        PLACES = "places", _("two valves changed places")
        SLIP = "slip", _("no swap: this corrects my note")

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="valves")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    ref = models.CharField(max_length=20)  # the guide's name of the socket's valve, e.g. V2
    type = models.CharField(max_length=40, blank=True)  # one the socket may hold; empty: the guide's own
    make = models.CharField(max_length=60)
    code = models.CharField(max_length=40, blank=True)
    why = models.CharField(max_length=6, choices=Why.choices, default=Why.FIRST)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["build", "ref"])]

    def __str__(self):
        return f"{self.ref}: {self.make} {self.code}".strip()


class ValveTest(models.Model):
    """What a tester showed of one section of a valve before it was sent, by its designer. The last row of a socket's
    section holds; with no current it takes the one before it back."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="valve_tests")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    ref = models.CharField(max_length=20)
    section = models.CharField(max_length=1, blank=True)  # of a twin: "a" or "b"
    type = models.CharField(max_length=40)
    make = models.CharField(max_length=60, blank=True)
    code = models.CharField(max_length=40, blank=True)
    anode_volts = models.FloatField(null=True)
    screen_volts = models.FloatField(null=True)
    grid_volts = models.FloatField(null=True)
    anode_amps = models.FloatField(null=True)
    transconductance = models.FloatField(null=True)  # A/V
    accuracy = models.FloatField(default=0.05)  # half-range of the tester's current, as a share
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"{self.ref}{self.section}"
