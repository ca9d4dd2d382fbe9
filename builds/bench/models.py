"""The builder's side: builds and everything done to them. Readings are only ever added."""
import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from builds.accounts.models import Invitation, Meter
from builds.guides.models import Check, Part, Revision, Stage, Step

OUTCOMES = [("in band", "in band"), ("too close to call", "too close to call"), ("out of band", "out of band"),
            ("switch off", "switch off")]


class BuildQuerySet(models.QuerySet):
    def built_by(self, person):
        return self.filter(builder=person)

    def designed_by(self, person):
        return self.filter(revision__kit__designers=person)

    def visible_to(self, person):
        """A builder's own builds and a designer's kits' builds."""
        mine = Q(builder=person) | Q(revision__kit__in=person.kits.all())
        return self.filter(mine)

    def with_guide(self):
        return self.select_related("revision__kit", "builder", "meter")


class Build(models.Model):
    """One serial-numbered unit being test-built by one builder from one issued revision."""

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="builds")
    serial = models.CharField(max_length=30)
    builder = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL,
                                related_name="builds")
    invitation = models.OneToOneField(Invitation, null=True, blank=True, on_delete=models.SET_NULL,
                                      related_name="build")
    meter = models.ForeignKey(Meter, null=True, blank=True, on_delete=models.SET_NULL, related_name="builds")
    mains_volts = models.PositiveSmallIntegerField(default=230)
    mains_hertz = models.PositiveSmallIntegerField(default=50)
    made_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)

    objects = BuildQuerySet.as_manager()

    class Meta:
        ordering = ["serial", "pk"]
        constraints = [models.UniqueConstraint("revision", "serial", name="one_build_a_serial")]

    def __str__(self):
        return self.serial


class Sitting(models.Model):
    """One spell at the bench. Cautions and the mains voltage are asked once a sitting."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="sittings")
    begun_at = models.DateTimeField(default=timezone.now)
    seen_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    mains_asked_at = models.DateTimeField(null=True, blank=True)
    mains_volts = models.FloatField(null=True, blank=True)  # left blank: the band widens
    power_began_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["begun_at"]


class Acknowledgement(models.Model):
    """That a builder read a stage's cautions, in this sitting."""

    sitting = models.ForeignKey(Sitting, on_delete=models.CASCADE, related_name="acknowledgements")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint("sitting", "stage", name="one_acknowledgement_a_sitting")]


class Tick(models.Model):
    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="ticks")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="ticks")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint("build", "step", name="one_tick_a_step")]


class StageVisit(models.Model):
    """When a build first opened a stage and when everything in it was done."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="visits")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="visits")
    opened_at = models.DateTimeField(default=timezone.now)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint("build", "stage", name="one_visit_a_stage")]


class Reading(models.Model):
    """What a meter showed, and what the builder was told about it then. Never changed, never removed."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="readings")
    check_row = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="readings", db_column="check_id")
    attempt = models.PositiveSmallIntegerField()
    is_slip = models.BooleanField(default=False)  # corrects a typing slip of the attempt before
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    typed = models.CharField(max_length=40)
    value = models.FloatField(null=True)  # SI, as the meter showed it; empty when over range
    over_range = models.BooleanField(default=False)
    true_value = models.FloatField(null=True)  # corrected for the meter's loading
    u = models.FloatField(default=0)
    at_reference = models.FloatField(null=True)  # true value brought to the guide's mains voltage
    low = models.FloatField(null=True)  # the band at this builder's mains
    high = models.FloatField(null=True)
    expected = models.FloatField(null=True)
    outcome = models.CharField(max_length=20, choices=OUTCOMES)
    probability = models.FloatField(null=True)
    deviation = models.FloatField(default=0)  # from the band's centre, in half-widths
    words = models.TextField(blank=True)
    meter_spec = models.JSONField(default=dict)
    mains_volts = models.FloatField(null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint("build", "check_row", "attempt", name="one_reading_an_attempt")]
        indexes = [models.Index(fields=["outcome", "at"], name="reading_by_outcome")]  # the dashboard's latest stops

    def __str__(self):
        return f"{self.typed} ({self.outcome})"


class Standing(models.Model):
    """Where a build stands on a check: kept beside the readings so that a thousand builds are read at once."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="standings")
    check_row = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="standings", db_column="check_id")
    attempts = models.PositiveSmallIntegerField(default=1)
    first_outcome = models.CharField(max_length=20, choices=OUTCOMES)
    outcome = models.CharField(max_length=20, choices=OUTCOMES)
    deviation = models.FloatField(default=0)
    latest = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="+")
    passed = models.BooleanField(default=False)  # in band, or twice too close to call, or conceded

    class Meta:
        constraints = [models.UniqueConstraint("build", "check_row", name="one_standing_a_check")]
        indexes = [models.Index(fields=["check_row", "first_outcome"], name="standing_by_check")]


class Concession(models.Model):
    """The designer's written leave to pass a gate with a reading that is not in band."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="concessions")
    check_row = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="concessions", db_column="check_id")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    reason = models.TextField()
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.UniqueConstraint("build", "check_row", name="one_concession_a_check")]


class MadeSafe(models.Model):
    """A logged reading that the supply is discharged, before hands go in."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="made_safes")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    typed = models.CharField(max_length=40)
    volts = models.FloatField()
    is_safe = models.BooleanField()
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at"]


class Snag(models.Model):
    """A trouble a builder reports."""

    class Kind(models.TextChoices):
        WORDS = "words", "the guide's words are unclear"
        FIGURE = "figure", "a figure in the guide looks wrong"
        PART = "part", "a part is missing, wrong or damaged"
        FIT = "fit", "something does not fit"
        READING = "reading", "a reading is off"
        TOOL = "tool", "a tool or skill I do not have"
        DANGER = "danger", "dangerous: smoke, shock, heat or a bang"
        OTHER = "other", "something else"

    class State(models.TextChoices):
        OPEN = "open"
        ANSWERED = "answered"
        CLOSED = "closed"

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="snags")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="snags")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.PROTECT, related_name="snags")
    check_row = models.ForeignKey(Check, null=True, blank=True, on_delete=models.PROTECT, related_name="snags",
                                  db_column="check_id")
    part = models.ForeignKey(Part, null=True, blank=True, on_delete=models.PROTECT, related_name="snags")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    words = models.TextField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="snags")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return f"snag {self.pk}: {self.get_kind_display()}"


class Message(models.Model):
    """One entry in a snag's thread."""

    snag = models.ForeignKey(Snag, on_delete=models.CASCADE, related_name="messages")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    words = models.TextField()
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]


def photo_path(photo, filename):
    return f"photos/{photo.build_id}/{filename}"


class Photo(models.Model):
    """A photo, decoded and written anew at three sizes; what the phone said of place and time is gone."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="photos")
    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="+")
    step = models.ForeignKey(Step, null=True, blank=True, on_delete=models.PROTECT, related_name="photos")
    check_row = models.ForeignKey(Check, null=True, blank=True, on_delete=models.PROTECT, related_name="photos",
                                  db_column="check_id")
    snag = models.ForeignKey(Snag, null=True, blank=True, on_delete=models.CASCADE, related_name="photos")
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    full = models.FileField(upload_to=photo_path, max_length=200)
    print_copy = models.FileField(upload_to=photo_path, max_length=200)
    thumb = models.FileField(upload_to=photo_path, max_length=200)
    width = models.PositiveIntegerField(default=0)
    height = models.PositiveIntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
