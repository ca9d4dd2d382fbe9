"""Notifying people, in the transaction of the event: nothing rolled back is reported, and nothing is lost."""

from django.db import transaction

from builds.accounts.models import Person
from builds.notifications.emails import in_language_of, write_email
from builds.notifications.models import Notification, Preference
from builds.notifications.sending import send_soon

When = Preference.When
MOST_WORDS = 300


@transaction.atomic
def notify(people, key: str, text, path: str, *, urgent: bool = False) -> int:
    """Notify everybody of `people` who wants e-mail and has an address; return for how many it was new.

    The same key notifies once. `text` may be a lazy translation: each person gets it in their own language.
    """
    return sum(_notify_one(person, key, text, path, urgent) for person in people if person and wants_mail(person))


def preference_of(person: Person) -> str:
    """Which e-mails this person gets: never any, where there is no address."""
    if not (person.email and person.is_active):
        return When.NEVER
    preference = Preference.objects.filter(person=person).first()
    return preference.when if preference else When.AT_ONCE


def wants_mail(person: Person) -> bool:
    return preference_of(person) != When.NEVER


def _notify_one(person, key, text, path, urgent) -> bool:
    with in_language_of(person):
        line = " ".join(str(text).split())
        line = line if len(line) <= MOST_WORDS else line[: MOST_WORDS - 2] + " …"
        notification, new = Notification.objects.get_or_create(
            person=person, key=key, defaults={"words": line, "path": path}
        )
        if new and urgent and preference_of(person) == When.AT_ONCE:
            notification.letter = write_email(person, f"news {key}", line, [notification])
            notification.save(update_fields=["letter"])
            send_soon(notification.letter)
    return new
