"""manage.py password_link: for somebody who forgot the password and has no confirmed address."""

from datetime import timedelta

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from builds.accounts import letters
from builds.accounts.events import record
from builds.accounts.links import invitation_link
from builds.accounts.models import Invitation, Person
from builds.accounts.names import name_key

LIFE = timedelta(days=2)


class Command(BaseCommand):
    help = (
        "Print a link for a person who forgot their password and has no confirmed e-mail address. First make sure that "
        "they asked for it themselves. It works once, within two days; earlier links stop working, their second factor "
        "stays on, and they get an e-mail."
    )

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name they sign in with")

    @transaction.atomic
    def handle(self, *, name, **options):
        person = Person.objects.filter(name_key=name_key(name), is_active=True).first()
        if person is None:
            raise CommandError(f"There is no active account called {name!r}.")
        person.invitations.revoke_password_links()
        _made, token = Invitation.make(Invitation.Purpose.PASSWORD, person=person, life=LIFE)
        record(person, "password-link-by-command")
        letters.write_to(person, "password-link-by-command")
        self.stdout.write(invitation_link(token))
