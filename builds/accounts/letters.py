"""Mail about an account, sent by a worker: links for a new password, and word of every change that opens a door."""

from datetime import timedelta
from uuid import uuid4

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from builds.accounts.links import invitation_link, site
from builds.accounts.models import Invitation, Person
from builds.jobs import queue
from builds.jobs.registry import MAIL, job

LINK_LIFE = timedelta(hours=2)
MOST_PEOPLE = 500  # with one address
MOST_LINKS = 3  # under way for one person; a fourth would only be a nuisance


def ask_for_reset(email: str) -> None:
    """Whether anybody has this address is looked up by the worker: the page takes the same time for all."""
    queue.start("reset", uuid4().hex, email)


def write_to(person: Person, code: str, /, *, to: str = "", **params) -> None:
    """Write to a person (or to `to`, an address they had) of something done to their account."""
    address = to or person.email
    if address:
        queue.start("account-letter", uuid4().hex, person.pk, address, code, params)


@job("reset", queue=MAIL)
def send_links(_report, email: str) -> int:
    # All of them: with a smaller number, accounts that give somebody else's address would stand before its owner's.
    people = list(Person.objects.filter(email__iexact=email, is_active=True).order_by("pk")[:MOST_PEOPLE])
    return sum(_send_link(person) for person in people)


def _send_link(person: Person) -> bool:
    if person.invitations.usable().filter(purpose=Invitation.Purpose.PASSWORD).count() >= MOST_LINKS:
        return False
    _made, token = Invitation.make(Invitation.Purpose.PASSWORD, person=person, life=LINK_LIFE)
    with _language_of(person):
        text = render_to_string("accounts/forgotten.txt", {"person": person, "link": invitation_link(token)})
        send_mail(_("A new password for your kit builds"), text, None, [person.email])
    return True


@job("account-letter", queue=MAIL)
def send_letter(_report, pk: int, address: str, code: str, params: dict) -> None:
    person = Person.objects.get(pk=pk)
    with _language_of(person):
        text = render_to_string(
            "accounts/letter.txt", {"person": person, "text": TEXTS[code](params), "site": site("/account/")}
        )
        send_mail(_("Your kit builds account"), text, None, [address])


def _language_of(person: Person):
    return translation.override(person.language or settings.LANGUAGE_CODE)


TEXTS = {
    "password-link": lambda p: _("%(by)s made a link for you to set a new password.") % p,
    "password-changed": lambda p: _("Your password was changed."),
    "address-changed": lambda p: _("The e-mail address of your account was changed from %(before)s to %(after)s.") % p,
    "second-factor-on": lambda p: _("Signing in to your account now asks for a code as well."),
    "second-factor-off": lambda p: _("Signing in to your account no longer asks for a code."),
    "recovery-code-used": lambda p: _("Somebody signed in to your account with a recovery code."),
    "account-closed": lambda p: _("Your account was closed. What you measured stays, without your name."),
    "builder-removed": lambda p: _("%(by)s removed you from build %(serial)s.") % p,
}
