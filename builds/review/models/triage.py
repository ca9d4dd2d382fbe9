"""What the designer makes of the deviations and snags."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from builds.bench.models import Build, Snag
from builds.guides.models import Check


class Cause(models.TextChoices):
    FIGURE = "figure", "guide figure"
    WORDING = "wording", "guide wording"
    PART = "part", "part"
    WORKMANSHIP = "workmanship", "workmanship"
    DESIGN = "design", "design"
    METER = "meter", "meter"
    UNKNOWN = "unknown", "unknown"


class Triage(models.Model):
    """What a build's deviation on a check, or a snag, turned out to be, and what will be changed."""

    class State(models.TextChoices):
        NEW = "new", "to look at"
        DECIDED = "decided", "decided"
        DONE = "done", "change made"
        NO_CHANGE = "no-change", "no change needed"

    build = models.ForeignKey(Build, null=True, blank=True, on_delete=models.CASCADE, related_name="triages")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.CASCADE, related_name="triages", db_column="check_id"
    )
    snag = models.OneToOneField(Snag, null=True, blank=True, on_delete=models.CASCADE, related_name="triage")
    cause = models.CharField(max_length=12, choices=Cause.choices, default=Cause.UNKNOWN)
    state = models.CharField(max_length=10, choices=State.choices, default=State.NEW)
    planned_change = models.TextField(blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [
            models.UniqueConstraint("build", "check_row", name="one_triage_a_deviation"),
            models.CheckConstraint(
                name="triage_of_one_thing",
                condition=Q(snag__isnull=False, build=None, check_row=None)
                | Q(snag=None, build__isnull=False, check_row__isnull=False),
            ),
        ]
