"""What the site does for itself, and when it last did."""

from datetime import timedelta

from django.db import models
from django.utils import timezone


class Run(models.Model):
    """The latest run of a kind of upkeep: the daily work, a backup."""

    kind = models.CharField(max_length=20, unique=True)
    at = models.DateTimeField()
    result = models.JSONField(default=dict)

    def __str__(self):
        return f"{self.kind}, {self.at:%Y-%m-%d %H:%M}"

    @classmethod
    def is_due(cls, kind: str, every: timedelta = timedelta(days=1)) -> bool:
        return not cls.objects.filter(kind=kind, at__gt=timezone.now() - every).exists()

    @classmethod
    def note(cls, kind: str, result: dict, at) -> None:
        cls.objects.update_or_create(kind=kind, defaults={"result": result, "at": at})

    @classmethod
    def last(cls, kind: str) -> "Run | None":
        return cls.objects.filter(kind=kind).first()
