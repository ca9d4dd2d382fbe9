"""Moving a build to a later revision of its guide: the offer, the move, and what came along.

A moved build is a new row: the old one keeps its readings, which stay evidence for the revision they were taken under.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from builds.bench.models.build import Build
from builds.bench.models.readings import Reading
from builds.guides.models import Check, Revision, Step
from builds.ui.messages import moves as texts


class MoveOffer(models.Model):
    """The designer's offer to a builder; the builder takes it or declines."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="move_offers")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    taken_at = models.DateTimeField(null=True, blank=True)
    declined_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at"]
        constraints = [
            models.UniqueConstraint(
                "build", condition=Q(taken_at=None, declined_at=None), name="one_open_offer_a_build"
            )
        ]


class Move(models.Model):
    """`build` goes on where `source` left off."""

    build = models.OneToOneField(Build, on_delete=models.CASCADE, related_name="moved_from")
    source = models.OneToOneField(Build, on_delete=models.PROTECT, related_name="moved_to")
    at = models.DateTimeField(default=timezone.now)


class Carried(models.Model):
    """A step ticked, or a check passed, under the revision before, that need not be done again. `reading` is the one
    that passed, and that lies within the new band."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="carried")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.PROTECT, related_name="+", db_column="check_id"
    )
    reading = models.ForeignKey(Reading, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint("build", "step", name="a_step_is_carried_once"),
            models.UniqueConstraint("build", "check_row", name="a_check_is_carried_once"),
            models.CheckConstraint(
                name="a_step_or_a_check",
                condition=Q(step=None, check_row__isnull=False) | Q(step__isnull=False, check_row=None),
            ),
        ]

    @property
    def sentence(self) -> str:
        """What the reading comes to: "300 V under revision A, within the new band"."""
        return texts.within_new_band(self.reading.typed, self.reading.build.revision.letter) if self.reading else ""


class PartSwap(models.Model):
    """A part that the new revision has otherwise: to be changed by hand, and ticked when done."""

    class Action(models.TextChoices):
        FIT = "fit"
        REMOVE = "remove"
        CHANGE = "change"
        REWIRE = "rewire"

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="part_swaps")
    ref = models.CharField(max_length=20)
    action = models.CharField(max_length=10, choices=Action)
    params = models.JSONField(default=dict)  # old and new: kind, type, value and tolerance of the part
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint("build", "ref", name="one_swap_a_part")]

    @property
    def sentence(self) -> str:
        """What to do: "Change R1 from 10k to 12k."."""
        return texts.swap_sentence(self.action, self.ref, self.params)
