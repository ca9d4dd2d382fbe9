"""The browsers a person is signed in with."""

from importlib import import_module

from django.conf import settings

from builds.accounts.models import Device, Person


def _store():
    return import_module(settings.SESSION_ENGINE).SessionStore


def sign_out(devices) -> int:
    """End the sessions of these devices."""
    found = list(devices)
    for device in found:
        _store()(device.session_key).delete()
    return Device.objects.filter(pk__in=[device.pk for device in found]).delete()[0]


def sign_out_all(person: Person, but: str | None = None) -> int:
    """End every session of a person, except the one with the key `but`."""
    return sign_out(Device.objects.filter(person=person).exclude(session_key=but or ""))


def living(person: Person) -> list[Device]:
    """Those whose session lasts still; the others are forgotten."""
    store, found = _store(), []
    for device in person.devices.all():
        if store().exists(device.session_key):
            found.append(device)
        else:
            device.delete()
    return found
