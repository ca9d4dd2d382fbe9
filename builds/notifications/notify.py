"""Notifying people, in the transaction of the event: nothing rolled back is reported, and nothing is lost."""

from django.db import transaction

from builds.accounts.models import Person
from builds.notifications.emails import write_email, write_in_language_of
from builds.notifications.models import URGENT, Notification, Preference
from builds.notifications.sending import send_soon

When = Preference.When
MOST_WORDS = 300


@transaction.atomic
def notify(people, key: str, text, path: str, *, urgent: bool = False) -> int:
    """Notify everybody of `people` who wants e-mail and has an address; return for how many it was new.

    The same key notifies once. `text` may be a lazy translation: each person gets it in their own language.
    """
    return sum(_notify_one(person, key, text, path, urgent) for person in people if person and wants_mail(person))


def find_preference(person: Person) -> str:
    """Which e-mails this person gets: never any, where there is no address, or nobody who can sign in."""
    if not (person.email and person.is_active and person.has_usable_password()):
        return When.NEVER
    preference = Preference.objects.filter(person=person).first() or Preference(person=person)
    if preference.refused_address == person.email and not person.has_confirmed_address:
        return When.NEVER
    return preference.when


def refuse(person: Person, address: str | None) -> None:
    """By the link of a letter, whoever reads the mail of `address` wants no more. They may be a stranger, until it is
    confirmed: then that address is left alone, and what the person wishes stays as it is."""
    if address not in (None, person.email):
        return  # nothing is sent there any more
    is_theirs = person.has_confirmed_address or not person.email
    change = {"when": When.NEVER} if is_theirs else {"refused_address": person.email}
    Preference.objects.update_or_create(person=person, defaults=change)


def wants_mail(person: Person) -> bool:
    return find_preference(person) != When.NEVER


def _notify_one(person, key, text, path, urgent) -> bool:
    with write_in_language_of(person):
        line = " ".join(str(text).split())
        line = line if len(line) <= MOST_WORDS else line[: MOST_WORDS - 2] + " …"
        notification, new = Notification.objects.get_or_create(
            person=person, key=key, defaults={"words": line, "path": path}
        )
        if new and urgent and find_preference(person) == When.AT_ONCE:
            notification.letter = write_email(person, f"{URGENT}{key}", line, [notification])
            notification.save(update_fields=["letter"])
            send_soon(notification.letter)
    return new
