"""The browsers a person is signed in with."""

from collections.abc import Callable
from importlib import import_module

from django.conf import settings
from django.core.signing import BadSignature

from builds.accounts.ended import note_signed_out
from builds.accounts.models import DEVICE_MARK, Device, Person

# Functions person -> None that withdraw what other apps let somebody in with; they add theirs when they are loaded.
OTHER_WAYS: list[Callable[[Person], None]] = []


def _store():
    return import_module(settings.SESSION_ENGINE).SessionStore


def sign_out(devices) -> int:
    """End the sessions of these devices."""
    ended = list(devices)
    for device in ended:
        _store()(device.session_key).delete()
        note_signed_out(device.session_key)
    return Device.objects.filter(pk__in=[device.pk for device in ended]).delete()[0]


def sign_out_all(person: Person, but: str | None = None) -> int:
    """End every session of a person, except the one with the key `but`."""
    return sign_out(Device.objects.filter(person=person).exclude(session_key=but or ""))


def follow_new_key(before: str, after: str) -> None:
    """A session has another key: its browser is the same, and still to be signed out with the others."""
    Device.objects.filter(session_key=before).update(session_key=after)


def withdraw_other_ways(person: Person) -> None:
    """What else lets somebody in as this person, such as a program's token."""
    for withdraw in OTHER_WAYS:
        withdraw(person)


def forget_ended() -> int:
    """Delete those whose session has ended. A session is prolonged by use, so that no age tells."""
    store = _store()
    ended = [row.pk for row in Device.objects.only("session_key").iterator() if not store().exists(row.session_key)]
    return Device.objects.filter(pk__in=ended).delete()[0]


def live_devices(person: Person) -> list[Device]:
    """Those whose session lasts still; the others are forgotten."""
    store, alive = _store(), []
    for device in person.devices.all():
        if store().exists(device.session_key):
            alive.append(device)
        else:
            device.delete()
    return alive


def was_own(person: Person, pk: int, shown: str) -> bool:
    """Does the mark come from a page that showed this person this device of theirs?"""
    try:
        return DEVICE_MARK.unsign(shown) == f"{person.pk}:{pk}"
    except BadSignature:
        return False
