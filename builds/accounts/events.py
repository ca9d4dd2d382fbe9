"""The record of who did what."""

from builds.accounts.models import Event


def record(person, action: str, kit: str = "", /, **params) -> Event:
    """Add a line. `action` is a code with a sentence in builds/ui/messages/events.py."""
    name = person.display_name if person else ""
    return Event.objects.create(person=person, name=name, kit=kit, action=action, params=params)
