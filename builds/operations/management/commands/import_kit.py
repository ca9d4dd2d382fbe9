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
        "Read a kit from a file of export_kit. All of it is checked first; it is added whole or not at all, and never "
        "over a kit that is here. People become placeholders unless you say who they are."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--owner", required=True, help="name of the designer here who owns the kit from now on")
        parser.add_argument("--key", default="", help="another key for the kit, where its own is taken here")
        parser.add_argument("--person", action="append", default=[], metavar="THERE=HERE", help="who somebody is here")
        parser.add_argument("--match-addresses", action="store_true", help="people with the same e-mail address")
        parser.add_argument("--as-it-is", action="store_true", help="guides that break today's rules as well")
        parser.add_argument("--check", action="store_true", help="say what would be done, and do nothing")

    def handle(self, *, file, owner, key, match_addresses, as_it_is, check, **options):
        people = People(dict(_pair(text) for text in options["person"]), match_addresses)
        try:
            with Reader(file) as archive:
                going = Import(archive, _person(owner), people, key=key, as_it_is=as_it_is)
                kit = going.run(check=check)
        except (TransferError, OSError) as error:
            raise CommandError(str(error)) from error
        for number, person in people.ids.items():
            kind = "known here" if people.is_known(number) else "placeholder"
            self.stdout.write(f"{person.display_name}: {kind}")
        counts = {label: len(rows) for label, rows in going.ids.items() if rows}
        self.stdout.write(", ".join(f"{count} {label.partition('.')[2]}" for label, count in counts.items()))
        self.stdout.write("Checked; nothing was added." if check else f"Added the kit {kit.key}.")


def _pair(text: str) -> tuple[str, Person]:
    there, equals, own_name = text.partition("=")
    if not equals:
        raise CommandError(f"--person takes THERE=HERE, not {text!r}.")
    return there, _person(own_name)


def _person(name: str) -> Person:
    person = Person.objects.filter(name_key=name_key(name), is_active=True).first()
    if person is None:
        raise CommandError(f"Nobody here is called {name!r}.")
    return person
