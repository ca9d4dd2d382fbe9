"""Telling people: called where the thing happens, in its transaction, so that no news is of what was rolled back and
none is lost."""

from django.db import transaction

from builds.accounts.models import Person
from builds.notifications.emails import write_email
from builds.notifications.models import Notification, Preference
from builds.notifications.sending import send_soon

When = Preference.When
MOST_WORDS = 300


@transaction.atomic
def notify(people, key: str, words: str, path: str, *, urgent: bool = False) -> int:
    """Notify everybody of `people` who wants mail and has an address; gives for how many it was new. The same key
    tells once."""
    told = 0
    for person in people:
        told += _notify_one(person, key, words, path, urgent) if person and wants(person) != When.NEVER else 0
    return told


def wants(person: Person) -> str:
    """How this person wants to be told; never, where there is no address."""
    if not (person.email and person.is_active):
        return When.NEVER
    wish = Preference.objects.filter(person=person).first()
    return wish.when if wish else When.AT_ONCE


def _notify_one(person, key, words, path, urgent) -> bool:
    line = " ".join(words.split())
    line = line if len(line) <= MOST_WORDS else line[: MOST_WORDS - 2] + " …"
    news, new = Notification.objects.get_or_create(person=person, key=key, defaults={"words": line, "path": path})
    if new and urgent and wants(person) == When.AT_ONCE:
        news.letter = write_email(person, f"news {key}", line, [news])
        news.save(update_fields=["letter"])
        send_soon(news.letter)
    return new
