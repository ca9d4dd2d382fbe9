"""What a builder's meter made of the kit's own resistor and battery."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.accounts.models import Meter
from builds.bench.models.build import Build
from builds.guides.models import Part

LABELS = {"in trim": _("reads right"), "can't tell": _("cannot tell"), "out of trim": _("reads wrong")}
MARKS = {"in trim": ("o-in", "✓"), "can't tell": ("o-close", "≈"), "out of trim": ("o-out", "✗")}
TRIMS = [("in trim", "in trim"), ("can't tell", "can't tell"), ("out of trim", "out of trim")]


class MeterCheck(models.Model):
    """One self-check of a meter on a piece of known value. Only ever added; the latest of a piece counts."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="meter_checks")
    meter = models.ForeignKey(Meter, on_delete=models.PROTECT, related_name="self_checks")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="+")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    typed = models.CharField(max_length=40)
    error = models.FloatField(null=True)  # share of the piece's value; empty when over range
    trim = models.CharField(max_length=12, choices=TRIMS)
    words = models.TextField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    @property
    def label(self) -> str:
        """The finding as a builder reads it."""
        return LABELS[self.trim]

    @property
    def css(self) -> str:
        return MARKS[self.trim][0]

    @property
    def symbol(self) -> str:
        return MARKS[self.trim][1]

    @property
    def is_wrong(self) -> bool:
        return self.trim == "out of trim"

    def __str__(self):
        return f"{self.part}: {self.trim}"
