"""Kits, their lettered revisions and the revisions' pictures."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import pgettext

from builds.guides.models.figures import CircuitFigures


class KitQuerySet(models.QuerySet):
    def designed_by(self, person):
        return self.filter(designers=person)


class Kit(models.Model):
    key = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    designers = models.ManyToManyField(settings.AUTH_USER_MODEL, related_name="kits")
    contact = models.CharField(max_length=200, blank=True)  # how builders reach the designers beside snags

    objects = KitQuerySet.as_manager()

    def __str__(self):
        return self.name


class RevisionQuerySet(models.QuerySet):
    def designed_by(self, person):
        return self.filter(kit__designers=person)

    def drafts(self):
        return self.filter(state=Revision.State.DRAFT)


class Revision(models.Model):
    """One lettered version of a kit's guide: draft, then issued (frozen for ever), then perhaps withdrawn."""

    class State(models.TextChoices):
        DRAFT = "draft"
        ISSUED = "issued"
        WITHDRAWN = "withdrawn"

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="revisions")
    letter = models.CharField(max_length=8)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    name = models.CharField(max_length=120)
    summary = models.TextField(blank=True)
    mains_volts = models.PositiveSmallIntegerField(default=230)
    mains_hertz = models.PositiveSmallIntegerField(default=50)
    taps = models.JSONField(default=list, blank=True)
    figures = models.ForeignKey(
        CircuitFigures, null=True, blank=True, on_delete=models.PROTECT, related_name="revisions"
    )
    own_faults = models.JSONField(
        null=True, blank=True
    )  # faults of this kit that the designer knows of: [[fault]] of the guide file
    translations = models.JSONField(null=True, blank=True, editable=False)  # {"de": [[path, text, source's digest]]}
    issued_over = models.JSONField(null=True, blank=True, editable=False)  # {"reason", "objections": [code, params...]}
    cloned_from = models.ForeignKey("self", null=True, blank=True, on_delete=models.SET_NULL, related_name="clones")
    made_at = models.DateTimeField(default=timezone.now)
    issued_at = models.DateTimeField(null=True, blank=True)
    corrected_at = models.DateTimeField(null=True, blank=True, editable=False)  # figures were corrected, or that undone

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering = ["kit", "letter"]
        constraints = [models.UniqueConstraint("kit", "letter", name="one_revision_a_letter")]

    def __str__(self):
        return f"{self.kit.name}, revision {self.letter}"

    @property
    def state_label(self) -> str:
        return {
            self.State.DRAFT: pgettext("revision", "draft"),
            self.State.ISSUED: pgettext("revision", "issued"),
            self.State.WITHDRAWN: pgettext("revision", "withdrawn"),
        }[self.State(self.state)]

    @property
    def is_draft(self):
        return self.state == self.State.DRAFT


def picture_path(picture, filename):
    return f"guides/{picture.revision_id}/{picture.name}"


def shown_path(picture, filename):
    return f"guides/{picture.revision_id}/shown/{filename}"


class Picture(models.Model):
    """A picture of the guide, by the file name the guide calls it."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="pictures")
    name = models.CharField(max_length=100)
    file = models.FileField(upload_to=picture_path, max_length=200)
    width = models.PositiveIntegerField(default=0)  # as shown
    height = models.PositiveIntegerField(default=0)
    changes = models.JSONField(null=True, blank=True, editable=False)  # {"turn", "crop", "mark"} of the guide file
    shown = models.FileField(upload_to=shown_path, max_length=200, null=True, editable=False)  # turned, cropped, marked

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint("revision", "name", name="one_picture_a_name")]

    @property
    def image(self):
        """The file that people see: with its marks where it has any, else as it was uploaded."""
        return self.shown or self.file

    def __str__(self):
        return self.name
