"""The build that a revision's recordings are compared with: the prototype, usually."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models import Build
from builds.guides.models import Revision


class ReferenceBuild(models.Model):
    """One for each revision; naming another replaces it."""

    revision = models.OneToOneField(Revision, on_delete=models.CASCADE, related_name="reference")
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    def __str__(self):
        return f"{self.build.serial} of {self.revision}"
