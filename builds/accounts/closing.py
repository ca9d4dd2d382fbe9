"""Closing an account: what is personal goes; what was measured stays as evidence, under a name that says nothing."""

from collections.abc import Callable

from django.db import transaction
from django.utils.translation import gettext as _

from builds.accounts import devices, second_factor
from builds.accounts.events import record
from builds.accounts.models import Person

# Functions person -> reasons why the account cannot be closed yet; other apps add theirs when they are loaded.
OBSTACLES: list[Callable[[Person], list[str]]] = []
# Functions person -> None that delete what other apps keep of a person.
FORGET: list[Callable[[Person], None]] = []


def why_not_closed(person: Person) -> list[str]:
    return [reason for ask in OBSTACLES for reason in ask(person)]


def former_name(person: Person) -> str:
    return _("Former member %(number)s") % {"number": person.pk}


@transaction.atomic
def close(person: Person) -> None:
    devices.sign_out_all(person)
    second_factor.switch_off(person)
    person.invitations.all().delete()
    for forget in FORGET:
        forget(person)
    person.display_name = former_name(person)
    person.name_key = ""  # made anew from the name
    person.email, person.is_active, person.may_design, person.runs_site = "", False, False, False
    person.language = person.time_zone = ""
    person.set_unusable_password()
    person.save()
    record(person, "account-closed")
