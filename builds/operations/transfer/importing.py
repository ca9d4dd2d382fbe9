"""Reading a kit in: the whole file is checked first, then all rows are added in one transaction, or none."""

from collections.abc import Iterator
from itertools import islice

from django.db import Error as DatabaseError
from django.db import transaction
from django.db.models import FileField, ForeignKey

from builds.accounts.events import record
from builds.accounts.models import Person
from builds.guides.models import Kit, KitRole
from builds.guides.offers import offer
from builds.operations.transfer import cells, tables
from builds.operations.transfer.archive import FORMAT, HEAD, PEOPLE, ROWS, Reader
from builds.operations.transfer.errors import TransferError
from builds.operations.transfer.exporting import BATCH, schema
from builds.operations.transfer.files import Files
from builds.operations.transfer.people import People
from builds.operations.transfer.special import SPECIAL, PutOff, refuse_strange_guides, refuse_strange_places
from builds.operations.transfer.standings import refuse_strange_standings


class Import:
    """One kit on its way in. `key`: what it is called in addresses here, where not as it was."""

    def __init__(self, archive: Reader, owner: Person, people: People, *, key: str = "", as_it_is: bool = False):
        self.archive, self.owner, self.people, self.as_it_is = archive, owner, people, as_it_is
        self.files = Files(archive)
        self.ids: dict[str, dict[int, int]] = {label: {} for label in tables.PATHS}
        self.put_off = PutOff()
        self.head = _head(archive)
        self.key = key or self.head["kit"]
        people.take_in(archive.lines(PEOPLE))

    def run(self, *, check: bool = False) -> Kit:
        """Raises TransferError; nothing is left behind then, nor where it is only a check."""
        try:
            with transaction.atomic():
                kit = self._rows_of_all_tables()
                transaction.set_rollback(check)
            if not check:
                self.files.names.clear()
        except DatabaseError as error:
            raise TransferError(f"The rows of this file do not fit this site: {str(error)[:300]}") from error
        finally:
            self.files.take_back()
        return kit

    def _rows_of_all_tables(self) -> Kit:
        if Kit.objects.filter(key=self.key).exists():
            raise TransferError(
                f"This site already has a kit {self.key}. Nothing is ever overwritten: choose another --key."
            )
        self.people.save()
        for label, model in tables.models():
            rows = self._made(label, model)
            while chunk := list(islice(rows, BATCH)):
                self._add(label, model, chunk)
        kit = self._only_kit()
        refuse_strange_places(kit)
        self._give_designers(kit)
        self.put_off.carry_out(self.ids)
        refuse_strange_standings(kit)
        if not self.as_it_is:
            refuse_strange_guides(kit)
        record(self.owner, "kit-imported", kit.key, builds=self.head["counts"].get("bench.Build", 0))
        return kit

    def _made(self, label: str, model) -> Iterator[tuple[dict, object]]:
        """(row, unsaved) of every row of a table."""
        fields, many = tables.list_fields(label), tables.MANY.get(label, ())
        columns = {"id", *(f.name for f in fields), *many}
        seen: set[int] = set()
        for number, row in enumerate(self.archive.lines(ROWS % label), 1):
            where = f"{label}, line {number}"
            if set(row) != columns:
                raise TransferError(f"{where} does not have the same columns as this site.")
            if type(row["id"]) is not int or row["id"] in seen:
                raise TransferError(f"{where} has no unique number.")
            seen.add(row["id"])
            if made := self._one(label, model, row, fields, where):
                yield row, made

    def _one(self, label: str, model, row: dict, fields, where: str):
        later = tables.LATER.get(label, ())
        values = {f.attname: self._value(label, f, row, where) for f in fields if f.name not in later}
        made = model(**values)
        if label in SPECIAL:
            made = SPECIAL[label](self, row, made)
        for name in later:
            if row[name] is not None:
                self.put_off.later(label, row["id"], name, row[name])
        return made

    def _value(self, label: str, field, row: dict, where: str):
        value = row[field.name]
        if isinstance(field, FileField):
            return self.files.put(label, value)
        if not isinstance(field, ForeignKey):
            return cells.read_cell(field, value, where)
        if value is None and field.null:
            return None
        if field.related_model is Person:
            person = self.people.ids.get(value) if type(value) is int else None
            number = person and person.pk
        else:
            number = self.number(field.related_model._meta.label, value)
        if number is None:
            raise TransferError(f"{where}: {field.name} refers to a row that is not in the file.")
        return number

    def number(self, label: str, old) -> int | None:
        """The number here of a row of the file."""
        return self.ids.get(label, {}).get(old) if type(old) is int else None

    def _add(self, label: str, model, chunk) -> None:
        saved = model._base_manager.bulk_create([made for _row, made in chunk], batch_size=BATCH)
        for (row, _made), saved_row in zip(chunk, saved, strict=True):
            self.ids[label][row["id"]] = saved_row.pk
            for name in tables.MANY.get(label, ()):
                self._link(saved_row, name, row[name], label)

    def _link(self, saved_row, name: str, old_numbers, label: str) -> None:
        other = type(saved_row)._meta.get_field(name).related_model._meta.label
        numbers = [self.number(other, old) for old in old_numbers] if isinstance(old_numbers, list) else [None]
        if None in numbers:
            raise TransferError(f"{label}: {name} refers to a row that is not in the file.")
        getattr(saved_row, name).add(*numbers)

    def _only_kit(self) -> Kit:
        if len(self.ids["guides.Kit"]) != 1:
            raise TransferError("The file must contain exactly one kit.")
        return Kit.objects.get(pk=next(iter(self.ids["guides.Kit"].values())))

    def _give_designers(self, kit: Kit) -> None:
        """The owner; the others who have an account here are offered their role. A placeholder designs nothing."""
        kit.designers.add(self.owner)
        offered: dict[Person, str] = {}
        for number, role in self.head["designers"]:
            person = self.people.ids.get(number)
            if person is None or role not in KitRole.Role.values:
                raise TransferError("The designers of the kit are not among its people.")
            if self.people.is_known(number) and person != self.owner:
                offered[person] = role
        for person, role in offered.items():
            offer(kit, self.owner, person, role)


def _head(archive: Reader) -> dict:
    head = next(archive.lines(HEAD), {})
    if head.get("format") != FORMAT:
        raise TransferError(f"The format of this file is not {FORMAT}.")
    if head.get("schema") != schema():
        raise TransferError(
            "The file was written by another version of the site. Bring both sites to one version first."
        )
    kinds = {"kit": str, "counts": dict, "designers": list}
    if any(not isinstance(head.get(name), kind) for name, kind in kinds.items()):
        raise TransferError("The header of the file cannot be read.")
    if any(not isinstance(pair, list) or len(pair) != 2 or type(pair[0]) is not int for pair in head["designers"]):
        raise TransferError("The header of the file cannot be read.")
    return head
