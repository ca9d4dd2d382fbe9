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
    that passed and `words` what it comes to against the new band."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="carried")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.PROTECT, related_name="+", db_column="check_id"
    )
    reading = models.ForeignKey(Reading, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint("build", "step", name="a_step_is_carried_once"),
            models.UniqueConstraint("build", "check_row", name="a_check_is_carried_once"),
            models.CheckConstraint(
                name="a_step_or_a_check",
                condition=Q(step=None, check_row__isnull=False) | Q(step__isnull=False, check_row=None),
            ),
        ]


class PartSwap(models.Model):
    """A part that the new revision has otherwise: to be changed by hand, and said when done."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="part_swaps")
    ref = models.CharField(max_length=20)
    words = models.CharField(max_length=200)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint("build", "ref", name="one_swap_a_part")]
