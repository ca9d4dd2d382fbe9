"""Snags and their threads."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.bench.models.build import Build
from builds.guides.models import Check, Part, Stage, Step


class SnagQuerySet(models.QuerySet):
    def own(self):
        """Troubles, each once: without those that were merged into another."""
        return self.filter(merged_into=None)


class Snag(models.Model):
    """A trouble a builder reports. `merged_into`: the snag that says the same and is answered for both."""

    class Kind(models.TextChoices):
        WORDS = "words", _("a step is unclear")
        PART = "part", _("a part is wrong or missing")
        FIT = "fit", _("something does not fit")
        DAMAGED = "damaged", _("something is damaged")
        READING = "reading", _("a reading is wrong")
        OTHER = "other", _("something else")

    class Severity(models.TextChoices):
        DANGER = "danger", _("danger: smoke, shock, heat or a bang")
        STOPPED = "stopped", _("it stopped my work")
        SLOWED = "slowed", _("it slowed me down")
        COSMETIC = "cosmetic", _("cosmetic only")

    class State(models.TextChoices):
        OPEN = "open", _("open")
        ANSWERED = "answered", _("answered")
        CLOSED = "closed", _("closed")

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="snags")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="snags")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.PROTECT, related_name="snags")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.PROTECT, related_name="snags", db_column="check_id"
    )
    part = models.ForeignKey(Part, null=True, blank=True, on_delete=models.PROTECT, related_name="snags")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    severity = models.CharField(max_length=10, choices=Severity.choices, default=Severity.SLOWED)
    words = models.TextField()
    spot = models.JSONField(null=True, blank=True)  # {"on": "photo" or "picture", "x", "y"}; from 0 to 1
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    merged_into = models.ForeignKey("self", null=True, blank=True, on_delete=models.SET_NULL, related_name="merged")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="snags")
    at = models.DateTimeField(default=timezone.now)

    objects = SnagQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(name="not_merged_into_itself", condition=~models.Q(merged_into=models.F("pk")))
        ]

    @property
    def css(self) -> str:
        """The class of its severity's label."""
        return "o-out" if self.severity == self.Severity.DANGER else ""

    def __str__(self):
        return f"snag {self.pk}: {self.get_kind_display()}"


class Message(models.Model):
    """One entry in a snag's thread."""

    snag = models.ForeignKey(Snag, on_delete=models.CASCADE, related_name="messages")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    words = models.TextField()
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
