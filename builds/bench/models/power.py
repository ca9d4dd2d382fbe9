"""When a kit was given power: with made-safe readings and readings of powered checks, the record of its power."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.bench.models.build import Build
from builds.guides.models import Stage


class PowerOn(models.Model):
    """From `at` on the kit counts as live, until a made-safe reading is logged. Only ever added."""

    class Why(models.TextChoices):
        CAUTIONS = "cautions", _("cautions read, live work begins")
        AGAIN = "again", _("switched on again")

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="power_ons")
    stage = models.ForeignKey(Stage, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    why = models.CharField(max_length=10, choices=Why.choices, default=Why.CAUTIONS)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return self.get_why_display()
