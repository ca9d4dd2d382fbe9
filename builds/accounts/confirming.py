"""Is mail to an address read by whoever has the account? A link is sent there, and counts for whoever is signed in.

A link for a new password goes to confirmed addresses only. The link that confirms opens nothing by itself: whoever
reads the mail of an address that was mistyped has not signed in.
"""

from datetime import timedelta

from django.core import signing
from django.urls import reverse

from builds.accounts.events import record
from builds.accounts.links import site
from builds.accounts.models import Person

SALT = "confirm-address"
LIFE = timedelta(days=7)


def token_for(person: Person) -> str:
    return signing.dumps([person.pk, person.email], salt=SALT)


def link_for(person: Person) -> str:
    return site(reverse("accounts:confirm-address", args=[token_for(person)]))


def is_for(person: Person, token: str) -> bool:
    """Was this link sent to the address that this person has now, in the last seven days?"""
    try:
        return signing.loads(token, salt=SALT, max_age=LIFE) == [person.pk, person.email] and bool(person.email)
    except signing.BadSignature:
        return False


def confirm(person: Person) -> None:
    person.confirmed_email = person.email
    person.save(update_fields=["confirmed_email"])
    record(person, "address-confirmed")
