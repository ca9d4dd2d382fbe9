"""Closing an account: what is personal goes; what was measured stays as evidence, under a name that says nothing."""

from collections.abc import Callable
from itertools import chain, count

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from builds.accounts import devices, letters, second_factor
from builds.accounts.events import record
from builds.accounts.models import Person
from builds.accounts.names import name_key
from builds.accounts.throttling import KNOWN

# Functions person -> reasons why the account cannot be closed yet; other apps add theirs when they are loaded.
OBSTACLES: list[Callable[[Person], list[str]]] = []
# Functions person -> None that delete what other apps keep of a person.
FORGET: list[Callable[[Person], None]] = []


def why_not_closed(person: Person) -> list[str]:
    return [reason for ask in OBSTACLES for reason in ask(person)]


def former_name(person: Person) -> str:
    """A name nobody has: somebody may have signed up with the plain one."""
    plain = _("Former member %(number)s") % {"number": person.pk}
    return next(name for name in chain([plain], (f"{plain} ({n})" for n in count(2))) if not _is_taken(name))


def _is_taken(name: str) -> bool:
    return Person.objects.filter(Q(name_key=name_key(name)) | Q(display_name__iexact=name)).exists()


@transaction.atomic
def close(person: Person) -> bool:
    """False where something stands against it, asked again once nobody else can close theirs: two owners of a kit who
    left at the same moment would leave it to nobody."""
    Person.objects.select_for_update().get(pk=person.pk)
    list(person.kits.select_for_update(of=("self",)).order_by("pk"))
    if why_not_closed(person):
        return False
    address, names = person.email, (person.display_name, person.name_key, KNOWN + person.name_key)
    devices.sign_out_all(person)
    second_factor.switch_off(person)
    person.invitations.all().delete()
    for forget in FORGET:
        forget(person)
    person.display_name = former_name(person)
    person.name_key = ""  # made anew from the name
    person.email, person.is_active, person.may_design, person.runs_site = "", False, False, False
    person.confirmed_email = ""
    person.language = person.time_zone = ""
    person.set_unusable_password()
    person.save()
    for rows in (AccessAttempt, AccessLog, AccessFailureLog):
        rows.objects.filter(username__in=names).delete()
    record(person, "account-closed")
    if address:
        letters.write_to(person, "account-closed", to=address)
    return True
