"""What the designer makes of the deviations and snags."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.bench.models import Build, Snag
from builds.guides.models import Check


class Cause(models.TextChoices):
    FIGURE = "figure", _("guide figure")
    WORDING = "wording", _("guide wording")
    PART = "part", _("part")
    WORKMANSHIP = "workmanship", _("workmanship")
    DESIGN = "design", _("design")
    METER = "meter", _("meter")
    UNKNOWN = "unknown", _("unknown")


class Triage(models.Model):
    """The root cause of a build's deviation on a check, or of a snag, and what will be changed. `state` only says
    whether it was closed: how far a problem has come is derived (builds/review/problems/state.py)."""

    class State(models.TextChoices):
        NEW = "new", _("Leave open")
        DONE = "done", _("Close: the change is made")
        NO_CHANGE = "no-change", _("Close: no change needed")

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

    @property
    def closes(self) -> bool:
        return self.state != self.State.NEW
