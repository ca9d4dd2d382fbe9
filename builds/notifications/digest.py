"""The daily letter: everything that no letter has carried yet, once a day for each person."""

from datetime import date

from django.db import transaction

from builds.accounts.models import Person
from builds.notifications.emails import write_email
from builds.notifications.models import Email, Notification
from builds.notifications.notify import When, wants


def write_digests(today: date) -> list[Email]:
    """Write the day's digests; a second call on the same day writes none for those who had theirs."""
    # By the news and not by the people: a filter on news__letter=None would go through everybody who has none at all.
    people = Person.objects.filter(pk__in=Notification.objects.filter(letter=None).values("person"))
    return [letter for person in people if (letter := _write(person, today))]


@transaction.atomic
def _write(person: Person, today: date) -> Email | None:
    Person.objects.select_for_update().get(pk=person.pk)  # two digests at once take their turns
    news = list(Notification.objects.filter(person=person, letter=None))
    key = f"digest {today:%Y-%m-%d}"
    if not news or Email.objects.filter(person=person, key=key).exists():
        return None
    if wants(person) == When.NEVER:
        Notification.objects.filter(pk__in=[n.pk for n in news]).delete()
        return None
    letter = write_email(
        person, key, f"{len(news)} piece{'' if len(news) == 1 else 's'} of news of your kit builds", news
    )
    Notification.objects.filter(pk__in=[n.pk for n in news]).update(letter=letter)
    return letter
