"""manage.py import_kit: a kit that another installation wrote."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from builds.accounts.models import Person
from builds.accounts.names import name_key
from builds.operations.transfer.archive import Reader
from builds.operations.transfer.errors import TransferError
from builds.operations.transfer.importing import Import
from builds.operations.transfer.people import People


class Command(BaseCommand):
    help = (
        "Import a kit from a file that export_kit wrote. The whole file is checked first; the kit is added "
        "completely or not at all, and never replaces one. People become placeholders unless you say who they are."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--owner", required=True, help="name of the designer on this site who will own the kit")
        parser.add_argument("--key", default="", help="another key for the kit, if its own is taken")
        parser.add_argument("--person", action="append", default=[], metavar="THERE=HERE", help="name on this site")
        parser.add_argument("--match-addresses", action="store_true", help="match people by e-mail address")
        parser.add_argument("--as-it-is", action="store_true", help="accept guides that break current rules")
        parser.add_argument("--check", action="store_true", help="show what would be imported, and change nothing")

    def handle(self, *, file, owner, key, match_addresses, as_it_is, check, **options):
        people = People(dict(_pair(text) for text in options["person"]), match_addresses)
        try:
            with Reader(file) as archive:
                going = Import(archive, _person(owner), people, key=key, as_it_is=as_it_is)
                kit = going.run(check=check)
        except (TransferError, OSError) as error:
            raise CommandError(str(error)) from error
        for number, person in people.ids.items():
            kind = "account on this site" if people.is_known(number) else "placeholder"
            self.stdout.write(f"{person.display_name}: {kind}")
        counts = {label: len(rows) for label, rows in going.ids.items() if rows}
        self.stdout.write(", ".join(f"{count} {label.partition('.')[2]}" for label, count in counts.items()))
        self.stdout.write("Checked; nothing was added." if check else f"Added the kit {kit.key}.")


def _pair(text: str) -> tuple[str, Person]:
    there, equals, own_name = text.partition("=")
    if not equals:
        raise CommandError(f"--person must be THERE=HERE, not {text!r}.")
    return there, _person(own_name)


def _person(name: str) -> Person:
    person = Person.objects.filter(name_key=name_key(name), is_active=True).first()
    if person is None:
        raise CommandError(f"There is no active account called {name!r}.")
    return person
