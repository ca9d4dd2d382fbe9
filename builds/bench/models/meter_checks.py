"""What a builder's meter made of the kit's own resistor and battery."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.accounts.models import Meter
from builds.bench.models.build import Build
from builds.guides.models import Part
from builds.ui.messages.meter import trim_label, trim_style, trim_text
from checks.selfcheck import KINDS, Trim

PIECE_FUNCTIONS = {"test resistor": "resistance", "test battery": "dc volts"}
TRIMS = [(trim.value, trim.value) for trim in Trim]


class MeterCheck(models.Model):
    """One self-check of a meter on a piece of known value. Only ever added; the latest of a piece counts."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="meter_checks")
    meter = models.ForeignKey(Meter, on_delete=models.PROTECT, related_name="self_checks")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="+")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    typed = models.CharField(max_length=40)
    error = models.FloatField(null=True)  # share of the piece's value; empty when over range
    trim = models.CharField(max_length=12, choices=TRIMS)
    params = models.JSONField(default=dict, blank=True)  # what its sentence is made from: value, true, off, allowed
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    @property
    def label(self) -> str:
        """The finding in two words."""
        return trim_label(self.trim)

    @property
    def explanation(self) -> str:
        """What was found and what to do, in the reader's language."""
        return trim_text(self.trim, self.params, KINDS[PIECE_FUNCTIONS[self.part.kind]])

    @property
    def css(self) -> str:
        return trim_style(self.trim).css

    @property
    def symbol(self) -> str:
        return trim_style(self.trim).symbol

    @property
    def is_wrong(self) -> bool:
        return self.trim == Trim.OUT_OF_TRIM

    def __str__(self):
        return f"{self.part}: {self.trim}"
