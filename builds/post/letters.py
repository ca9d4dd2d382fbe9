"""Writing letters: plain text, one line a piece of news, the way to see it and the way to stop them."""

from django.conf import settings
from django.core import signing
from django.urls import reverse

from builds.post.models import Letter, News

SALT = "builds.post.stop"
MOST_NEWS = 60  # lines in one digest; the rest is counted
SUBJECT = 90


def letter_of(person, key: str, subject: str, news: list[News]) -> Letter:
    """The letter of this key for this person, written if it is new."""
    body = "\n\n".join([*(f"{n.words}\n{site(n.path)}" for n in news[:MOST_NEWS]), *_more(news), _foot(person)])
    short = subject if len(subject) <= SUBJECT else subject[: SUBJECT - 2] + " …"
    return Letter.objects.get_or_create(person=person, key=key, defaults={"subject": short, "body": body})[0]


def _more(news) -> list[str]:
    return [f"And {len(news) - MOST_NEWS} more."] if len(news) > MOST_NEWS else []


def _foot(person) -> str:
    return f"-- \nHow you are told: {site(reverse('post:mail'))}\nNo more of these letters: {stop_address(person)}\n"


def site(path: str) -> str:
    return settings.SITE_URL + path


def stop_address(person) -> str:
    """Where this person's letters are stopped, without signing in."""
    return site(reverse("post:stop", args=[signing.dumps(person.pk, salt=SALT)]))


def person_of(token: str) -> int | None:
    """Whose letters a token stops; None for one that this site did not sign."""
    try:
        return signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None
