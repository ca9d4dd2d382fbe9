"""The rows of a guide. They keep what the guide file says, as it was typed."""

import math
from functools import cached_property
from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import Q

from builds.guides.models.kits import Revision
from builds.guides.video import Video, read_video
from builds.ui.messages.quantities import measure_label
from builds.ui.part_values import written_value
from checks.measures import UNITS

MEASURES = tuple(UNITS)


class Point(models.Model):
    """Words (and a place on a picture) for a node of the circuit."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="points")
    position = models.PositiveIntegerField()
    node = models.CharField(max_length=60)
    words = models.CharField(max_length=200)
    picture = models.CharField(max_length=100, blank=True)
    marker = models.JSONField(default=list, blank=True)
    places = models.JSONField(null=True, blank=True)  # [[picture, x, y]]: where it is on further pictures

    class Meta:
        ordering = ["position", "pk"]
        constraints = [models.UniqueConstraint("revision", "node", name="one_point_a_node")]

    def __str__(self):
        return self.node


class Part(models.Model):
    """One line of the parts list. `detail` holds the guide file's other keys (joins, pins, winding, limits...)."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="parts")
    position = models.PositiveIntegerField()
    ref = models.CharField(max_length=20)
    kind = models.CharField(max_length=30)
    value = models.CharField(max_length=30, blank=True)
    tolerance = models.CharField(max_length=20, blank=True)
    bag = models.CharField(max_length=20, blank=True)
    quantity = models.PositiveSmallIntegerField(default=1)
    note = models.CharField(max_length=300, blank=True)
    detail = models.JSONField(default=dict, blank=True)

    @property
    def film(self) -> Video | None:
        return read_video(self.detail.get("video"))

    @property
    def written_value(self) -> str:
        return written_value(self.kind, self.value)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [models.UniqueConstraint("revision", "ref", name="one_part_a_ref")]

    def __str__(self):
        return self.ref


class Stage(models.Model):
    class Power(models.TextChoices):
        OFF = "off"
        ON = "on"

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="stages")
    position = models.PositiveIntegerField()
    key = models.SlugField(max_length=60)
    title = models.CharField(max_length=120)
    intro = models.TextField(blank=True)
    power = models.CharField(max_length=3, choices=Power.choices, default=Power.OFF)
    not_fitted = models.JSONField(default=list, blank=True)
    supply = models.JSONField(default=dict, blank=True)
    settings = models.JSONField(null=True, blank=True)  # {"RV1": 1.0}: controls that are not as the parts list has them
    cautions = models.JSONField(default=list, blank=True)
    gate = models.BooleanField(default=False)
    minutes = models.PositiveSmallIntegerField(default=0)
    video = models.JSONField(null=True, blank=True)  # {"address", "at"}, see guides/video.py

    class Meta:
        ordering = ["position", "pk"]
        constraints = [models.UniqueConstraint("revision", "key", name="one_stage_a_key")]

    def __str__(self):
        return self.title

    @property
    def film(self) -> Video | None:
        return read_video(self.video)

    @cached_property
    def is_powered(self) -> bool:
        return self.power == self.Power.ON

    @cached_property
    def items(self) -> "list[Step | Check]":
        """Steps and checks in the order they are done; without places, steps and then checks."""
        rows: list[Step | Check] = [*self.steps.all(), *self.checks.all()]
        return sorted(rows, key=lambda row: math.inf if row.place is None else row.place)


class Step(models.Model):
    class Photo(models.TextChoices):
        NONE = "none"
        OPTIONAL = "optional"
        REQUIRED = "required"

    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="steps")
    position = models.PositiveIntegerField()
    place = models.PositiveIntegerField(
        null=True, editable=False
    )  # among the stage's steps and checks, see Stage.items
    key = models.SlugField(max_length=60)
    text = models.TextField()
    parts = models.JSONField(default=list, blank=True)
    picture = models.CharField(max_length=100, blank=True)
    photo = models.CharField(max_length=8, choices=Photo.choices, default=Photo.NONE)
    hands_in = models.BooleanField(default=False)  # hands go inside the kit: shut while power is on record
    video = models.JSONField(null=True, blank=True)  # {"address", "at"}, see guides/video.py

    is_check = False

    class Meta:
        ordering = ["position", "pk"]
        constraints = [models.UniqueConstraint("stage", "key", name="one_step_a_key")]

    def __str__(self):
        return self.key

    @property
    def film(self) -> Video | None:
        return read_video(self.video)

    @property
    def photo_wanted(self):
        return self.photo == self.Photo.REQUIRED


class Check(models.Model):
    """One reading to take. Figures are kept as typed; `figures.py` turns them into checks.band.Band."""

    class Figure(models.TextChoices):
        DESIGNER = "designer"
        PROTOTYPE = "prototype"
        MODEL = "model"

    if TYPE_CHECKING:  # set on a check that was loaded with its guide, or copied for the valves of a build
        guide: Any
        model_figure: Any
        of_valves: str

    stage = models.ForeignKey(Stage, on_delete=models.CASCADE, related_name="checks")
    position = models.PositiveIntegerField()
    place = models.PositiveIntegerField(
        null=True, editable=False
    )  # among the stage's steps and checks, see Stage.items
    key = models.SlugField(max_length=60)
    title = models.CharField(max_length=120)
    measure = models.CharField(max_length=20, choices=[(m, m) for m in MEASURES])
    red = models.CharField(max_length=120)
    black = models.CharField(max_length=120, default="chassis")
    note = models.TextField(blank=True)
    expected = models.CharField(max_length=30, blank=True)
    figure_from = models.CharField(max_length=10, choices=Figure.choices, default=Figure.DESIGNER)
    prototype = models.CharField(max_length=30, blank=True)
    band = models.CharField(max_length=30, blank=True)
    low = models.CharField(max_length=30, blank=True)
    high = models.CharField(max_length=30, blank=True)
    at_least = models.CharField(max_length=30, blank=True)
    at_most = models.CharField(max_length=30, blank=True)
    stop_above = models.CharField(max_length=30, blank=True)
    stop_below = models.CharField(max_length=30, blank=True)
    mains_exponent = models.FloatField(null=True, blank=True)  # empty: the model's where it has one, else 0
    source_resistance = models.CharField(max_length=30, blank=True)
    read_with = models.CharField(max_length=30, null=True, blank=True)  # noqa: DJ001  input of the designer's own meter
    through = models.CharField(max_length=20, blank=True)
    signal = models.JSONField(null=True, blank=True)  # what it is read under, see checks.circuit.netlist.signal
    picture = models.CharField(max_length=100, blank=True)
    marker = models.JSONField(default=list, blank=True)
    formula = models.JSONField(default=dict, blank=True)  # of a figure worked out from other checks' readings
    recording = models.JSONField(default=dict, blank=True)  # what to record for a figure, and which figure
    optional = models.BooleanField(default=False)
    hints = models.JSONField(default=list, blank=True)

    is_check = True

    # Where an erratum corrected its figures (guide_cache): those as issued, and the correction that holds, or that was
    # withdrawn last
    as_issued: "dict[str, str] | None" = None
    correction: Any = None
    undone: Any = None

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint("stage", "key", name="one_check_a_key"),
            models.CheckConstraint(condition=Q(measure__in=MEASURES), name="known_measure"),
        ]

    def __str__(self):
        return self.title

    @cached_property
    def unit(self) -> str:
        return UNITS[self.measure]

    @property
    def is_left_to_model(self) -> bool:
        """Is the expected value left to the circuit model?"""
        return self.expected.strip().lower() == "model"

    @property
    def is_read(self) -> bool:
        """Whether a meter's reading is typed: neither worked out from other checks nor measured in a recording."""
        return not (self.formula or self.recording)

    @property
    def measure_label(self):
        return measure_label(self.measure)
