"""The daily letter: everything that no letter has carried yet, once a day for each person."""

from datetime import date

from django.db import transaction

from builds.accounts.models import Person
from builds.post.letters import letter_of
from builds.post.models import Letter, News
from builds.post.tell import When, wants


def write_digests(today: date) -> list[Letter]:
    """Write the day's digests; a second call on the same day writes none for those who had theirs."""
    # By the news and not by the people: a filter on news__letter=None would go through everybody who has none at all.
    people = Person.objects.filter(pk__in=News.objects.filter(letter=None).values("person"))
    return [letter for person in people if (letter := _write(person, today))]


@transaction.atomic
def _write(person: Person, today: date) -> Letter | None:
    Person.objects.select_for_update().get(pk=person.pk)  # two digests at once take their turns
    news = list(News.objects.filter(person=person, letter=None))
    key = f"digest {today:%Y-%m-%d}"
    if not news or Letter.objects.filter(person=person, key=key).exists():
        return None
    if wants(person) == When.NEVER:
        News.objects.filter(pk__in=[n.pk for n in news]).delete()  # not wanted any more: nothing is kept for later
        return None
    letter = letter_of(
        person, key, f"{len(news)} piece{'' if len(news) == 1 else 's'} of news of your kit builds", news
    )
    News.objects.filter(pk__in=[n.pk for n in news]).update(letter=letter)
    return letter
