"""Writing letters: plain text, one line a piece of news, the way to see it and the way to stop them."""

from django.conf import settings
from django.core import signing
from django.urls import reverse

from builds.notifications.models import Email, Notification

SALT = "builds.post.stop"  # as links in mail sent before have it
MOST_NEWS = 60  # lines in one digest; the rest is counted
SUBJECT = 90


def write_email(person, key: str, subject: str, news: list[Notification]) -> Email:
    """The letter of this key for this person, written if it is new."""
    body = "\n\n".join([*(f"{n.words}\n{site(n.path)}" for n in news[:MOST_NEWS]), *_more(news), _foot(person)])
    short = subject if len(subject) <= SUBJECT else subject[: SUBJECT - 2] + " …"
    return Email.objects.get_or_create(person=person, key=key, defaults={"subject": short, "body": body})[0]


def _more(news) -> list[str]:
    return [f"And {len(news) - MOST_NEWS} more."] if len(news) > MOST_NEWS else []


def _foot(person) -> str:
    settings_page, unsubscribe = site(reverse("notifications:mail")), unsubscribe_address(person)
    return f"-- \nHow you are told: {settings_page}\nNo more of these letters: {unsubscribe}\n"


def site(path: str) -> str:
    return settings.SITE_URL + path


def unsubscribe_address(person) -> str:
    """Where this person's letters are stopped, without signing in."""
    return site(reverse("notifications:stop", args=[signing.dumps(person.pk, salt=SALT)]))


def person_of(token: str) -> int | None:
    """Whose letters a token stops; None for one that this site did not sign."""
    try:
        return signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None
