"""Writing a kit: every row as of one moment, then the files that the rows name. Nobody has to stop work meanwhile."""

from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import PurePosixPath

from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.models import FileField, ForeignKey
from django.utils import timezone

from builds.accounts.models import Person
from builds.guides.co_designers import list_roles
from builds.guides.models import Kit
from builds.operations.transfer import cells, tables
from builds.operations.transfer.archive import FORMAT, HEAD, PEOPLE, ROWS, Writer

APPS = ("accounts", "guides", "bench", "review")
BATCH = 500


class Export:
    """One kit on its way into a file. `addresses`: people's e-mail addresses go along, so that the other site can tell
    who is who."""

    def __init__(self, kit: Kit, *, addresses: bool = False):
        self.kit, self.addresses = kit, addresses
        self.people: set[int] = set()
        self.files: dict[str, str] = {}  # name here -> entry
        self.numbers = count(1)
        self.missing: list[str] = []
        self.counts: dict[str, int] = {}

    def write(self, out) -> None:
        archive = Writer(out)
        with reading_one_moment():
            for label, model in tables.models():
                self.counts[label] = archive.lines(ROWS % label, self._rows(label, model))
            archive.lines(PEOPLE, self._people())
            archive.lines(HEAD, [self._head()])
        for name, entry in self.files.items():
            with default_storage.open(name) as file:
                archive.copied(entry, file)
        archive.close()

    def _head(self) -> dict:
        return {
            "format": FORMAT,
            "kit": self.kit.key,
            "made_at": timezone.now().isoformat(),
            "schema": schema(),
            "counts": self.counts,
            "designers": [[person.pk, role] for person, role in list_roles(self.kit)],
        }

    def _rows(self, label: str, model) -> Iterator[dict]:
        fields, many = tables.list_fields(label), tables.MANY.get(label, ())
        names = ["pk", *(f.attname for f in fields)]
        for values in tables.list_rows(label, self.kit).values_list(*names).iterator(chunk_size=BATCH):
            row = {"id": values[0]}
            for field, value in zip(fields, values[1:], strict=True):
                row[field.name] = self._cell(field, value)
            for name in many:
                through = getattr(model, name).through._default_manager
                own, other = model._meta.get_field(name).m2m_field_name(), model._meta.get_field(name)
                links = through.filter(**{own: values[0]}).order_by("pk")
                row[name] = list(links.values_list(f"{other.m2m_reverse_field_name()}_id", flat=True))
            yield row

    def _cell(self, field, value):
        if isinstance(field, ForeignKey) and field.related_model is Person and value is not None:
            self.people.add(value)
        if isinstance(field, FileField):
            return self._entry(value)
        return cells.write_cell(value)

    def _entry(self, name: str) -> str | None:
        """The entry that a file goes to; None for one that is missing, "" where the row has none."""
        if not name:
            return ""
        if name not in self.files and not default_storage.exists(name):
            self.missing.append(name)
            return None
        suffix = PurePosixPath(name).suffix.lower()
        return self.files.setdefault(name, f"files/{next(self.numbers)}{suffix}")

    def _people(self) -> Iterator[dict]:
        numbers = self.people | set(self.kit.designers.values_list("pk", flat=True))
        for person in Person.objects.filter(pk__in=numbers).order_by("pk"):
            yield {
                "id": person.pk,
                "name": person.display_name,
                "email": person.email if self.addresses else "",
                "language": person.language,
            }


def schema() -> dict[str, str]:
    """The last migration of each app whose rows travel."""
    graph = MigrationLoader(None, ignore_no_migrations=True).graph
    return {app: name for app, name in sorted(graph.leaf_nodes()) if app in APPS}


@contextmanager
def reading_one_moment() -> Iterator[None]:
    """All that is read inside is of one moment, and no writer waits for it."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":  # a plain BEGIN: the site's own transactions would take the writers' lock
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            with connection.cursor() as cursor:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
