"""The last edits of a draft, each with the guide as it was before, so that it can be taken back."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.guides.models.kits import Revision


class DraftEdit(models.Model):
    """One edit. `what` is a code (see editor/edits.py) and `about` names the row; `before` is the guide as tables,
    `after_key` the hash of what it was after."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="edits")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    what = models.CharField(max_length=30)
    about = models.CharField(max_length=200, blank=True)
    before = models.JSONField()
    after_key = models.CharField(max_length=64)

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return f"{self.what} {self.about}".strip()
