"""Readings, where a build stands on each check, and what lets it pass. Readings are only ever added."""

import uuid
from functools import cached_property

from django.conf import settings
from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Value, When
from django.utils import timezone

from builds.bench.models.build import Build
from builds.guides.corrected import standing
from builds.guides.models import Check
from builds.ui.formatting import format_entry
from builds.ui.messages.outcomes import OUTDATED
from builds.ui.messages.verdicts import finding_text, verdict_text
from checks.outcomes import Outcome

OUTCOMES = [(outcome.value, outcome.value) for outcome in Outcome]


class Reading(models.Model):
    """What a meter showed, and how it was judged then. Never changed, never removed."""

    build = models.ForeignKey(Build, on_delete=models.PROTECT, related_name="readings")
    check_row = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="readings", db_column="check_id")
    attempt = models.PositiveSmallIntegerField()
    is_slip = models.BooleanField(default=False)  # corrects a typing slip of the attempt before
    entry_key = models.UUIDField(unique=True, default=uuid.uuid4)
    typed = models.CharField(max_length=40)
    value = models.FloatField(null=True)  # SI, as the meter showed it; empty when over range
    over_range = models.BooleanField(default=False)  # at the positive end
    below_range = models.BooleanField(default=False)  # at the negative end ("-OL")
    true_value = models.FloatField(null=True)  # corrected for the meter's loading
    u = models.FloatField(default=0)
    at_reference = models.FloatField(null=True)  # true value brought to the guide's mains voltage
    low = models.FloatField(null=True)  # the band at this builder's mains
    high = models.FloatField(null=True)
    expected = models.FloatField(null=True)
    outcome = models.CharField(max_length=20, choices=OUTCOMES)
    probability = models.FloatField(null=True)
    deviation = models.FloatField(default=0)  # from the band's centre, in half-widths
    confirms = models.BooleanField(default=False)  # in band as it reads: another reading like it may confirm it
    reason = models.CharField(max_length=20, blank=True)  # checks.outcomes.Reason
    params = models.JSONField(default=dict, blank=True)  # what its sentence is made from: value, limit, u
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

    @cached_property
    def is_stop(self) -> bool:
        return self.outcome == Outcome.SWITCH_OFF

    @cached_property
    def is_out(self) -> bool:
        return self.outcome == Outcome.OUT_OF_BAND

    @cached_property
    def is_close(self) -> bool:
        return self.outcome == Outcome.TOO_CLOSE

    @property
    def is_off(self) -> bool:
        """Does it ask for a cause?"""
        return self.is_stop or self.is_out

    @property
    def unit(self) -> str:
        """Of what the meter showed: volts where a current is read across a resistor."""
        return "V" if self.check_row.through else self.check_row.unit

    @property
    def shown(self) -> str:
        """What the meter showed, with its unit."""
        return format_entry(self.typed, self.unit)

    @cached_property
    def explanation(self) -> str:
        """What the verdict means and what to do, in the reader's language."""
        return verdict_text(self.reason, self._told, self.check_row.unit, self.confirms)

    @property
    def finding(self) -> str:
        """What was found, without the order to switch off: for pages shown once that order has been followed."""
        return finding_text(self.reason, self._told, self.check_row.unit)

    @property
    def _told(self) -> dict:
        """What its sentence is made from, and whether figures that it was judged again by have been withdrawn."""
        if not self.params.get("judged_again"):
            return self.params
        return {**self.params, "withdrawn": standing(self.check_row).correction is None}


class CheckStatus(models.Model):
    """Where a build stands on a check: kept beside the readings so that a thousand builds are read at once.
    `deviation`, `at_reference` (at the guide's mains; empty for over range) and `u` are the latest reading's, as
    `latest` has them. `stop` is the reading past its stop limit that this check has not read well since, if any: a
    later reading that is out, yet short of the limit, does not end it."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="statuses")
    check_row = models.ForeignKey(Check, on_delete=models.PROTECT, related_name="statuses", db_column="check_id")
    attempts = models.PositiveSmallIntegerField(default=1)
    first_outcome = models.CharField(max_length=20, choices=OUTCOMES)
    outcome = models.CharField(max_length=20, choices=OUTCOMES)
    deviation = models.FloatField(default=0)
    at_reference = models.FloatField(null=True)
    u = models.FloatField(default=0)
    latest = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="+")
    stop = models.ForeignKey(Reading, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    passed = models.BooleanField(default=False)  # in band, or twice too close to call, or conceded; and the same valve

    class Meta:
        db_table = "bench_standing"
        constraints = [models.UniqueConstraint("build", "check_row", name="one_standing_a_check")]
        indexes = [
            models.Index(fields=["check_row", "first_outcome", "latest", "attempts", "passed"], name="statuses_counted")
        ]

    @property
    def is_outdated(self) -> bool:
        """Was it in band, until a valve, the mains or the guide was changed?"""
        return not self.passed and self.outcome == Outcome.IN_BAND.value

    @property
    def shown_outcome(self) -> str:
        """What pages and papers say of where the check stands: its latest reading's outcome, or that it is outdated."""
        return OUTDATED if self.is_outdated else self.outcome


# The same in a query.
SHOWN_OUTCOME = Case(When(passed=False, outcome=Outcome.IN_BAND.value, then=Value(OUTDATED)), default=F("outcome"))


def mark_outdated(readings):
    """A queryset of readings with `is_outdated`: is it what a check stood on until a valve, the mains or the guide was
    changed?"""
    stood = CheckStatus.objects.filter(latest=OuterRef("pk"), passed=False, outcome=Outcome.IN_BAND.value)
    return readings.annotate(is_outdated=Exists(stood))


def mark_stopped(builds):
    """A queryset of builds with `is_stopped`: does a reading past its stop limit stand on it?"""
    stopped = CheckStatus.objects.filter(build=OuterRef("pk"), stop__isnull=False)
    return builds.annotate(is_stopped=Exists(stopped))


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
