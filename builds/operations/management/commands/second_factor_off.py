"""manage.py second_factor_off: for somebody who lost both the phone and the recovery codes."""

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from builds.accounts import devices, letters, second_factor
from builds.accounts.events import record
from builds.accounts.models import Person
from builds.accounts.names import name_key


class Command(BaseCommand):
    help = (
        "Switch off the second factor of a person who has lost their phone and recovery codes. First make sure that "
        "they asked for it themselves. All their devices are signed out; their password stays, and they get an "
        "e-mail."
    )

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name they sign in with")

    @transaction.atomic
    def handle(self, *, name, **options):
        person = Person.objects.filter(name_key=name_key(name), is_active=True).first()
        if person is None:
            raise CommandError(f"There is no active account called {name!r}.")
        if not second_factor.is_on(person):
            raise CommandError(f"{person.display_name} has no second factor.")
        second_factor.switch_off(person)
        devices.sign_out_all(person)
        person.invitations.revoke_password_links()  # with one, the second factor was all that kept a stranger out
        record(person, "second-factor-lifted")
        letters.write_to(person, "second-factor-off")
        self.stdout.write(f"{person.display_name} now signs in with only a password.")
