"""People, invitations and meters."""

import hashlib
import json
import secrets
from datetime import timedelta
from functools import lru_cache

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.core.signing import Signer
from django.db import models
from django.utils import timezone
from django.utils.functional import cached_property

from builds.accounts.agents import device_words
from builds.accounts.names import clean_name, name_key
from builds.ui.messages.bench import meter_description
from checks.meter import MeterSpec


class PersonManager(BaseUserManager):
    def get_by_natural_key(self, username):
        return self.get(name_key=name_key(username))

    def with_confirmed_address(self, address: str):
        """Who has proved that mail to this address reaches them, and has an open account."""
        return self.filter(email__iexact=address, confirmed_email=models.F("email"), is_active=True).exclude(email="")

    def create_person(self, display_name, password, **fields):
        person = self.model(display_name=clean_name(display_name), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person


class Person(AbstractBaseUser):
    """A designer, a builder, or both. The display name is also what one signs in with."""

    display_name = models.CharField("name", max_length=60)
    name_key = models.CharField(max_length=180, unique=True, editable=False)  # accounts.names: what reads alike
    email = models.EmailField(blank=True)
    confirmed_email = models.EmailField(blank=True, default="", db_default="", editable=False)  # accounts.confirming
    asked_to_confirm_at = models.DateTimeField(null=True, editable=False)
    runs_site = models.BooleanField(default=False, help_text="Sees the status of the whole site.")
    may_design = models.BooleanField(default=False, help_text="May make kits of their own.")
    language = models.CharField(max_length=10, blank=True)  # blank: what the browser asks for
    time_zone = models.CharField(max_length=50, blank=True)  # blank: what the browser says
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=timezone.now)

    objects = PersonManager()
    USERNAME_FIELD = "display_name"
    REQUIRED_FIELDS: list[str] = []

    class Meta:
        constraints = [
            models.UniqueConstraint(
                models.functions.Lower("display_name"),
                name="one_person_a_name",
                violation_error_message="Someone here already has that name.",
            )
        ]

    def __str__(self):
        return self.display_name

    @property
    def has_confirmed_address(self) -> bool:
        return bool(self.email) and self.email == self.confirmed_email

    @cached_property
    def sees_kits(self) -> bool:
        """A designer, or a co-designer of some kit who may make none of their own."""
        return self.may_design or self.kits.exists()

    def save(self, *args, **options):
        self.name_key = self.name_key or name_key(self.display_name)
        super().save(*args, **options)


@lru_cache(maxsize=256)
def _read_spec(text: str) -> MeterSpec:
    return MeterSpec.from_dict(json.loads(text))


class Meter(models.Model):
    """A meter somebody measures with; `spec` is checks.meter.MeterSpec as a dictionary."""

    owner = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="meters")
    name = models.CharField(max_length=60)
    spec = models.JSONField()
    retired = models.BooleanField(default=False)

    def __str__(self):
        return self.name

    def as_spec(self) -> MeterSpec:
        return _read_spec(json.dumps(self.spec, sort_keys=True))

    @property
    def description(self) -> str:
        """What it can tell: "digital; DC volts ±0.5 %; input 10 MΩ"."""
        return meter_description(self.as_spec())


class InvitationQuerySet(models.QuerySet):
    def usable(self):
        return self.filter(used_at=None, revoked_at=None, expires_at__gt=timezone.now())

    def revoke_password_links(self) -> int:
        """Links under way may be read by whoever the password or address was changed against."""
        return self.usable().filter(purpose=Invitation.Purpose.PASSWORD).update(revoked_at=timezone.now())

    def with_token(self, token: str):
        return self.filter(token_hash=hash_token(token))


def hash_token(token: str) -> str:
    """Only the hash is kept: somebody who reads the database cannot use the links."""
    return hashlib.sha256(token.encode()).hexdigest()


class Invitation(models.Model):
    """A one-use link that expires. `purpose` says what it opens."""

    LIFE = timedelta(days=30)

    class Purpose(models.TextChoices):
        BUILD = "build", "take on a build"
        PASSWORD = "password", "choose a new password"

    token_hash = models.CharField(max_length=64, unique=True)
    purpose = models.CharField(max_length=10, choices=Purpose.choices)
    made_by = models.ForeignKey(Person, null=True, on_delete=models.SET_NULL, related_name="invitations_made")
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.CASCADE, related_name="invitations")
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    objects = InvitationQuerySet.as_manager()

    def __str__(self):
        return f"invitation to {self.get_purpose_display()}"

    @classmethod
    def make(cls, purpose, made_by=None, person=None, life=None):
        """Make one and return (invitation, token); the token is shown once and never kept."""
        token = secrets.token_urlsafe(24)
        made = cls.objects.create(
            token_hash=hash_token(token),
            purpose=purpose,
            made_by=made_by,
            person=person,
            expires_at=timezone.now() + (life or cls.LIFE),
        )
        return made, token

    def use(self) -> bool:
        """Mark as used; False when somebody was quicker."""
        return bool(type(self).objects.usable().filter(pk=self.pk).update(used_at=timezone.now()))


DEVICE_MARK = Signer(salt="devices")


class Device(models.Model):
    """A browser somebody signed in with, while its session lasts."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="devices")
    session_key = models.CharField(max_length=40, unique=True)
    agent = models.CharField(max_length=200, blank=True)  # what the browser calls itself
    signed_in_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-signed_in_at"]

    @property
    def shown(self) -> str:
        """The mark of a page that showed this device to its person."""
        return DEVICE_MARK.sign(f"{self.person_id}:{self.pk}")

    @property
    def words(self) -> str:
        return device_words(self.agent)


class Event(models.Model):
    """Who did what, and when. Rows are only added: the database refuses to change one (migration 0004)."""

    person = models.ForeignKey(Person, null=True, on_delete=models.DO_NOTHING, db_constraint=False, related_name="+")
    name = models.CharField(max_length=60)  # the person's, as it was then
    kit = models.CharField(max_length=60, blank=True, db_index=True)
    action = models.CharField(max_length=60)
    params = models.JSONField(default=dict, blank=True)
    at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        ordering = ["-at", "-pk"]


class CallCount(models.Model):
    """How often something was asked for in a span of time, by one address, name or person (accounts.limits)."""

    kind = models.CharField(max_length=20)
    key = models.CharField(max_length=64)
    span = models.DateTimeField(db_index=True)
    count = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint("kind", "key", "span", name="one_count_a_span")]
