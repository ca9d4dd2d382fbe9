"""Photos of a build."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.bench.models.snags import Snag
from builds.guides.models import Check, Stage, Step


def photo_path(photo, filename):
    return f"photos/{photo.build_id}/{filename}"


class VisiblePhotos(models.Manager):
    """Photos that were not withdrawn: what pages, papers and gates see."""

    def get_queryset(self):
        return super().get_queryset().filter(withdrawn_at=None)


class Photo(models.Model):
    """A photo, decoded and written anew at three sizes; what the phone said of place and time is gone.

    A photo that its builder withdraws loses its files for good; its row stays, so that the record says that there was
    one and when it was withdrawn.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="photos")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="+")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.PROTECT, related_name="photos")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.PROTECT, related_name="photos", db_column="check_id"
    )
    snag = models.ForeignKey(Snag, null=True, blank=True, on_delete=models.CASCADE, related_name="photos")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    full = models.FileField(upload_to=photo_path, max_length=200)
    print_copy = models.FileField(upload_to=photo_path, max_length=200)
    thumb = models.FileField(upload_to=photo_path, max_length=200)
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = VisiblePhotos()
    with_withdrawn = models.Manager()

    class Meta:
        ordering = ["at", "pk"]
