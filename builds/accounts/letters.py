"""Mail about an account, sent by a worker: links for a new password, and word of every change that opens a door."""

from datetime import timedelta
from uuid import uuid4

from django.conf import settings
from django.core.mail import send_mail
from django.db.models import F
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import pgettext

from builds.accounts import confirming
from builds.accounts.links import invitation_link, site
from builds.accounts.models import Invitation, Person
from builds.jobs import queue
from builds.jobs.registry import MAIL, MAIL_WAITS, job

LINK_LIFE = timedelta(hours=2)
MOST_PEOPLE = 500  # with one address
MOST_LINKS = 3  # under way for one person; a fourth would only be a nuisance


def ask_for_reset(email: str) -> None:
    """Whether anybody has this address is looked up by the worker: the page takes the same time for all."""
    queue.start("reset", uuid4().hex, email)


def ask_to_confirm(person: Person) -> None:
    """Send the link that confirms the address of this account."""
    person.asked_to_confirm_at = timezone.now()
    person.save(update_fields=["asked_to_confirm_at"])
    queue.start("confirm-letter", uuid4().hex, person.pk)


def ask_everybody() -> int:
    """Once each: whoever gave an address before addresses were confirmed, or by way of the command line."""
    unasked = Person.objects.filter(is_active=True, asked_to_confirm_at=None).exclude(email="")
    people = unasked.exclude(confirmed_email=F("email")).exclude(password__startswith="!")  # nobody signs in as those
    for person in people:
        ask_to_confirm(person)
    return len(people)


def write_to(person: Person, code: str, /, *, to: str = "", **params) -> None:
    """Write to a person (or to `to`, an address they had) of something done to their account."""
    address = to or person.email
    if address:
        queue.start("account-letter", uuid4().hex, person.pk, address, code, params)


@job("reset", queue=MAIL)
def send_links(_report, email: str) -> int:
    # All of them: with a smaller number, accounts that give somebody else's address would stand before its owner's.
    people = list(Person.objects.with_confirmed_address(email).order_by("pk")[:MOST_PEOPLE])
    for person in people:  # a job each: where one is tried again, nobody else gets a second link
        queue.start("reset-letter", uuid4().hex, person.pk, email)
    return len(people)


@job("reset-letter", queue=MAIL, waits=MAIL_WAITS)
def send_link(_report, pk: int, email: str) -> bool:
    person = Person.objects.with_confirmed_address(email).filter(pk=pk).first()  # as it is by now
    if not person:
        return False
    if person.invitations.usable().filter(purpose=Invitation.Purpose.PASSWORD).count() >= MOST_LINKS:
        return False
    made, token = Invitation.make(Invitation.Purpose.PASSWORD, person=person, life=LINK_LIFE)
    with _set_language(person):
        text = render_to_string("accounts/forgotten.txt", {"person": person, "link": invitation_link(token)})
        try:
            send_mail(_("A new password for your kit builds"), text, None, [person.email])
        except OSError:
            made.delete()  # the next attempt makes its own
            raise
    return True


@job("account-letter", queue=MAIL, waits=MAIL_WAITS)
def send_letter(_report, pk: int, address: str, code: str, params: dict) -> None:
    person = Person.objects.get(pk=pk)
    with _set_language(person):
        text = render_to_string(
            "accounts/letter.txt", {"person": person, "text": TEXTS[code](params), "site": site("/account/")}
        )
        send_mail(_("Your kit builds account"), text, None, [address])


@job("confirm-letter", queue=MAIL, waits=MAIL_WAITS)
def send_confirmation(_report, pk: int) -> bool:
    person = Person.objects.get(pk=pk)
    if not person.email or person.has_confirmed_address:
        return False
    with _set_language(person):
        link = confirming.link_for(person)
        text = render_to_string("accounts/confirm-address.txt", {"person": person, "link": link})
        send_mail(_("Confirm your e-mail address"), text, None, [person.email])
    return True


def _set_language(person: Person):
    return translation.override(person.language or settings.LANGUAGE_CODE)


def _with_role(params: dict) -> dict:
    return params | {"role": pgettext("of a kit", params["role"])}  # guides.models.roles has the words


TEXTS = {
    "password-link": lambda p: _("%(by)s made a link for you to set a new password.") % p,
    "password-link-by-command": lambda p: _("The site administrator made a link for you to set a new password."),
    "password-changed": lambda p: _("Your password was changed."),
    "address-changed": lambda p: _("The e-mail address of your account was changed from %(before)s to %(after)s.") % p,
    "second-factor-on": lambda p: _("Signing in to your account now asks for a code as well."),
    "second-factor-off": lambda p: _("Signing in to your account no longer asks for a code."),
    "recovery-code-used": lambda p: _("Somebody signed in to your account with a recovery code."),
    "account-closed": lambda p: _("Your account was closed. What you measured stays, without your name."),
    "role-offered": lambda p: (
        _(
            "%(by)s offers you a role in the kit %(kit)s: %(role)s. Nothing changes unless you accept. "
            "Accept or decline it within 14 days: %(link)s"
        )
        % _with_role(p)
    ),
    "kit-offered": lambda p: (
        _(
            "%(by)s wants to hand the kit %(kit)s over to you. You would be its owner. "
            "Nothing changes unless you accept. Accept or decline it within 14 days: %(link)s"
        )
        % p
    ),
    "offer-accepted": lambda p: (
        _("%(person)s accepted the role you offered in the kit %(kit)s: %(role)s.") % _with_role(p)
    ),
    "offer-declined": lambda p: (
        _("%(person)s declined the role you offered in the kit %(kit)s: %(role)s.") % _with_role(p)
    ),
    "offer-lapsed": lambda p: (
        _("%(person)s did not answer in time. Your offer in the kit %(kit)s has lapsed: %(role)s.") % _with_role(p)
    ),
    "offer-withdrawn": lambda p: _("%(by)s withdrew the role offered to you in the kit %(kit)s.") % p,
    "role-changed": lambda p: _("%(by)s changed your role in the kit %(kit)s: %(role)s.") % _with_role(p),
    "kit-left": lambda p: _("%(by)s removed you from the designers of the kit %(kit)s.") % p,
    "builder-removed": lambda p: _("%(by)s removed you from build %(serial)s.") % p,
}
