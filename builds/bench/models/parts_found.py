"""What a builder found in the bags: a part is ticked once it lies on the bench."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.guides.models import Part


class PartFound(models.Model):
    """That a part of the list was there at unpacking."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="parts_found")
    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint("build", "part", name="one_find_a_part")]

    def __str__(self):
        return self.part.ref
