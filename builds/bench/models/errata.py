"""News for builds under way: errata pinned to an issued guide, and stages shut for every build at once."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.bench.models.build import Build
from builds.guides.models import Check, FigureCorrection, Part, Revision, Stage, Step
from builds.guides.row_labels import corrected_to
from builds.ui.messages.places import pin_label


class Erratum(models.Model):
    """A correction of an issued revision, which itself stays frozen. Builders confirm it before they go on."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="errata")
    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="errata")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.CASCADE, related_name="errata")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.CASCADE, related_name="errata", db_column="check_id"
    )
    part = models.ForeignKey(Part, null=True, blank=True, on_delete=models.CASCADE, related_name="errata")
    correction = models.ForeignKey(
        FigureCorrection, null=True, blank=True, on_delete=models.RESTRICT, related_name="errata"
    )  # the figures that hold of the check from then on; None where the words alone correct it
    words = models.TextField()
    again = models.TextField(blank=True)  # what those who are past this point are to check again
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    entry_key = models.UUIDField(null=True, unique=True)  # of the post that published it; older ones have none

    class Meta:
        ordering = ["stage__position", "at", "pk"]

    def __str__(self):
        return self.words[:60]

    @property
    def pin(self) -> tuple[str, str | int]:
        """What it is pinned to within its stage: the kind of row, and its name."""
        if self.part:
            return "part", self.part.ref
        if self.check_row:
            return "check", self.check_row.title
        return ("step", self.step.position) if self.step else ("stage", "")

    @property
    def figures_text(self) -> str:
        """The corrected figures in words; empty where the words alone correct."""
        return corrected_to(self.correction.figures) if self.correction else ""

    @property
    def told(self) -> str:
        """Its figures and its words, as papers and messages say them: a long message loses its end."""
        return " ".join(filter(None, (self.figures_text, self.words)))

    @property
    def about(self) -> str:
        """What it is pinned to, in words."""
        return pin_label(self.pin)


class ErratumSeen(models.Model):
    """That a build has confirmed an erratum."""

    erratum = models.ForeignKey(Erratum, on_delete=models.CASCADE, related_name="seen")
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="errata_seen")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint("erratum", "build", name="one_confirmation_an_erratum")]


class Halt(models.Model):
    """A stage shut for every build of a revision, with the reason, until lifted."""

    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="halts")
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)
    lifted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at"]
        constraints = [models.UniqueConstraint("stage", condition=models.Q(lifted_at=None), name="one_halt_a_stage")]

    def __str__(self):
        return f"{self.stage}: {self.reason}"
