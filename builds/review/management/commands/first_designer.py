"""Make the first designer of a real installation, with no demo data."""

import getpass
import os

from django.contrib.auth import password_validation
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from builds.accounts.models import Person
from builds.accounts.names import name_key


class Command(BaseCommand):
    help = (
        "Migrate the database and create the first designer. Asks for the password, or takes it from DESIGNER_PASSWORD."
    )

    def add_arguments(self, parser):
        parser.add_argument("name", help="the name to sign in with")
        parser.add_argument("--email", default="")

    def handle(self, *, name, email, **options):
        call_command("migrate", interactive=False, verbosity=0)
        if Person.objects.filter(name_key=name_key(name)).exists():
            raise CommandError(f"There is already an account called {name}.")
        password = os.environ.get("DESIGNER_PASSWORD") or _asked()
        try:
            password_validation.validate_password(password, Person(display_name=name, email=email))
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        Person.objects.create_person(name, password, email=email, may_design=True, runs_site=True)
        self.stdout.write(f"{name} can now sign in and import or write the first guide.")


def _asked() -> str:
    try:
        return getpass.getpass("Password: ")
    except EOFError as error:
        raise CommandError("There is nobody to ask for a password. Give it in DESIGNER_PASSWORD.") from error
