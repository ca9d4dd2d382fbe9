"""A build, its sittings and what was done in them."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from builds.accounts.models import Invitation, Meter
from builds.bench.readings.mains import refuse_unserved
from builds.guides.models import CircuitFigures, Revision, Stage, Step


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
    builder = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="builds"
    )
    invitation = models.OneToOneField(
        Invitation, null=True, blank=True, on_delete=models.SET_NULL, related_name="build"
    )
    meter = models.ForeignKey(Meter, null=True, blank=True, on_delete=models.SET_NULL, related_name="builds")
    mains_volts = models.PositiveSmallIntegerField(default=230)
    mains_hertz = models.PositiveSmallIntegerField(default=50)
    made_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    given_up_at = models.DateTimeField(null=True, blank=True)
    fast_track = models.BooleanField(default=False)  # its builder ticks the steps of a stage together
    # {"V1": {"type", "tested"}} of sockets whose valve is not just any of the guide’s type (valves/own_valves.py),
    # and what the circuit makes of those valves; none while that is being worked out
    own_valves = models.JSONField(default=dict, blank=True, editable=False)
    valve_figures = models.ForeignKey(
        CircuitFigures, null=True, blank=True, editable=False, on_delete=models.PROTECT, related_name="builds"
    )

    objects = BuildQuerySet.as_manager()

    class Meta:
        ordering = ["serial", "pk"]
        constraints = [models.UniqueConstraint("revision", "serial", name="one_build_a_serial")]

    def __str__(self):
        return self.serial

    def refuse_mains(self, nominal_volts: int) -> None:
        """Raises ChecksError for mains that this kit's transformer is not made for."""
        refuse_unserved(self.revision, nominal_volts)


class PastBench(models.Model):
    """The meter and mains that a build was measured with until its builder chose others: what a phone has kept since
    before then is judged by these."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="past_benches")
    until = models.DateTimeField(default=timezone.now)
    meter = models.ForeignKey(Meter, null=True, blank=True, on_delete=models.SET_NULL, related_name="past_benches")
    mains_volts = models.PositiveSmallIntegerField()
    mains_hertz = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["until", "pk"]


class Sitting(models.Model):
    """One spell at the bench. Cautions and the mains voltage are asked once a sitting."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="sittings")
    begun_at = models.DateTimeField(default=timezone.now)
    seen_at = models.DateTimeField(default=timezone.now)
    ended_at = models.DateTimeField(null=True, blank=True)
    mains_asked_at = models.DateTimeField(null=True, blank=True)
    mains_volts = models.FloatField(null=True, blank=True)  # left blank: the band widens

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
