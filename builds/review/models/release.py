"""What must be so before a kit goes on sale."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.guides.models import Kit


def _percent(**more):
    return models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(99)], **more)


class ReleaseCriteria(models.Model):
    """A designer's criteria for one kit. Rows are only added: the latest counts, the others are the history."""

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="release_criteria")
    builds_done = models.PositiveSmallIntegerField(
        _("Builds signed off"), default=8, validators=[MaxValueValidator(500)]
    )
    first_pass = _percent(verbose_name=_("Lower bound of every stage's first-pass yield, in %"), default=60)
    confidence = models.PositiveSmallIntegerField(
        _("Confidence of that bound, in %"), default=90, validators=[MinValueValidator(50), MaxValueValidator(99)]
    )
    readings_each = models.PositiveSmallIntegerField(
        _("Builds that have read each check"), default=6, validators=[MaxValueValidator(500)]
    )
    coverage = _percent(verbose_name=_("Share of the possible faults that the checks show, in %"), default=70)
    no_danger = models.BooleanField(_("No danger snag may be open"), default=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return f"release of {self.kit}, as of {self.at:%d %b %Y}"
