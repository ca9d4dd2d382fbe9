"""What the site does for itself, and when it last did."""

from datetime import timedelta

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class Run(models.Model):
    """The latest run of a kind of upkeep: the daily work, a backup."""

    kind = models.CharField(max_length=20, unique=True)
    at = models.DateTimeField()
    result = models.JSONField(default=dict)

    def __str__(self):
        return f"{self.kind}, {self.at:%Y-%m-%d %H:%M}"

    @classmethod
    def is_due(cls, kind: str, every: timedelta = timedelta(days=1)) -> bool:
        """A run that is noted far ahead is of a clock that was set back since."""
        now = timezone.now()
        return not cls.objects.filter(kind=kind, at__range=(now - every, now + every)).exists()

    @classmethod
    def note(cls, kind: str, result: dict, at) -> None:
        cls.objects.update_or_create(kind=kind, defaults={"result": result, "at": at})

    @classmethod
    def last(cls, kind: str) -> "Run | None":
        return cls.objects.filter(kind=kind).first()


class AccessToken(models.Model):
    """A person's key for programs of their own. Only its hash is kept; what it may do stands in `scopes`."""

    READ, WRITE = "read", "write-readings"
    SCOPES = ((READ, _("read kits, builds, readings and findings")), (WRITE, _("save readings of your own builds")))

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="access_tokens")
    name = models.CharField(max_length=60)
    token_hash = models.CharField(max_length=64, unique=True)
    scopes = models.JSONField(default=list)
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self):
        return self.name


def withdraw_tokens(person) -> None:
    person.access_tokens.filter(withdrawn_at=None).update(withdrawn_at=timezone.now())
