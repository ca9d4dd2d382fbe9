"""Who somebody of the file is on this site: a person named by hand, one with the same address, or a placeholder with
whose name nobody can sign in until its owner is given a link."""

from dataclasses import dataclass, field

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from builds.accounts.models import Person
from builds.accounts.names import LONGEST, clean_name, name_key
from builds.operations.transfer.errors import TransferError

MOST = 20_000


@dataclass
class People:
    """`chosen`: name in the file -> person here. `by_address`: people are matched by their e-mail address."""

    chosen: dict[str, Person] = field(default_factory=dict)
    by_address: bool = False
    ids: dict[int, Person] = field(default_factory=dict)
    made: list[Person] = field(default_factory=list)

    def take_in(self, rows) -> None:
        """Find or make everybody. Placeholders are saved by whoever calls `save`."""
        unused = set(self.chosen)
        taken: set[str] = set()
        for number, row in enumerate(rows, 1):
            if number > MOST or not isinstance(row.get("id"), int) or row["id"] in self.ids:
                raise TransferError(f"people, line {number} is not accepted.")
            name = _name(row, number)
            unused.discard(name)
            self.ids[row["id"]] = self.chosen.get(name) or self._matched(row) or self._placeholder(row, name, taken)
        if unused:
            raise TransferError(f"Nobody in the file is called {', '.join(sorted(unused))}.")

    def save(self) -> None:
        for person in self.made:
            person.save()

    def is_known(self, number: int) -> bool:
        """Is it somebody who had an account here already?"""
        return self.ids[number] not in self.made

    def _matched(self, row: dict) -> Person | None:
        address = row.get("email")
        if not self.by_address or not address or not isinstance(address, str):
            return None
        known = Person.objects.with_confirmed_address(address)  # anybody may give another's address
        people = list(known[:2])
        return people[0] if len(people) == 1 else None

    def _placeholder(self, row: dict, name: str, taken: set[str]) -> Person:
        person = Person(display_name=_free(name, taken), email=_address(row))
        person.set_unusable_password()
        taken.add(name_key(person.display_name))
        self.made.append(person)
        return person


def _name(row: dict, number: int) -> str:
    name = clean_name(row["name"]) if isinstance(row.get("name"), str) and len(row["name"]) < 500 else ""
    if not name or not name.isprintable():
        raise TransferError(f"people, line {number} has no name.")
    return name


def _free(name: str, taken: set[str]) -> str:
    """The name, with a number where somebody here has it or one that looks like it."""
    for number in range(1, MOST):
        tail = f" {number}" if number > 1 else ""
        tried = name[: LONGEST - len(tail)].rstrip() + tail
        if name_key(tried) not in taken and not Person.objects.filter(name_key=name_key(tried)).exists():
            return tried
    raise TransferError(f"All names like {name} are taken.")


def _address(row: dict) -> str:
    address = row.get("email") or ""
    try:
        if address:
            validate_email(address)
    except ValidationError as error:
        raise TransferError("An e-mail address in the file is not valid.") from error
    is_taken = Person.objects.filter(email__iexact=address).exists() if address else False
    return "" if is_taken else address  # a reset link goes to one account
