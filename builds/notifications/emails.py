"""Writing e-mails: plain text, a line and a link for each notification, and the link to unsubscribe."""

from django.conf import settings
from django.core import signing
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.accounts.links import site
from builds.notifications.models import Email, Notification

SALT = "builds.post.stop"  # as links in mail sent before have it
MOST_LISTED = 60  # notifications in one e-mail; the rest is counted
SUBJECT = 90


def write_in_language_of(person):
    """The language in which to write to a person, as a context."""
    return translation.override(person.language or settings.LANGUAGE_CODE)


def write_email(person, key: str, subject: str, notifications: list[Notification]) -> Email:
    """The e-mail of this key for this person, written if it is new."""
    lines = [f"{n.words}\n{site(n.path)}" for n in notifications[:MOST_LISTED]]
    body = "\n\n".join([*lines, *_more(notifications), _foot(person)])
    short = subject if len(subject) <= SUBJECT else subject[: SUBJECT - 2] + " …"
    return Email.objects.get_or_create(person=person, key=key, defaults={"subject": short, "body": body})[0]


def words_for_unconfirmed(person) -> tuple[str, str]:
    """(subject, body) of what somebody may read who has nothing to do with it: who reads the mail of an address that
    was mistyped or is somebody else's."""
    body = _(
        "There is an urgent message for you about a kit build. Sign in to read it: %(address)s\n\n"
        "Your e-mail address is not confirmed yet, so this e-mail does not say what it is about. "
        "Once you have signed in, a page asks you to confirm it.\n\n"
        "If you have no account there, somebody gave your address by mistake. Use the last link to unsubscribe."
    )
    foot = _("Unsubscribe: %(address)s") % {"address": unsubscribe_address(person)}
    return _("Urgent message about a kit build"), f"{body % {'address': site('/')}}\n\n-- \n{foot}\n"


def _more(notifications) -> list[str]:
    left = len(notifications) - MOST_LISTED
    return [ngettext("And %(count)d more.", "And %(count)d more.", left) % {"count": left}] if left > 0 else []


def _foot(person) -> str:
    settings_line = _("E-mail settings: %(address)s") % {"address": site(reverse("notifications:mail"))}
    unsubscribe = _("Unsubscribe: %(address)s") % {"address": unsubscribe_address(person)}
    return f"-- \n{settings_line}\n{unsubscribe}\n"


def unsubscribe_address(person) -> str:
    """Where this person unsubscribes without signing in."""
    return site(reverse("notifications:stop", args=[signing.dumps([person.pk, person.email], salt=SALT)]))


def read_token(token: str) -> tuple[int | None, str | None]:
    """Which person a token unsubscribes at which address; nobody for one that this site did not sign. Letters of
    before carry no address."""
    try:
        content = signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None, None
    return tuple(content) if isinstance(content, list) else (content, None)
