"""Files of a kit for tests: written, taken apart, changed and put together again."""

import hashlib
import io
import json
import zipfile

from builds.accounts.models import Person
from builds.guides.models import Kit
from builds.operations.transfer.archive import SUMS, Reader
from builds.operations.transfer.exporting import Export
from builds.operations.transfer.importing import Import
from builds.operations.transfer.people import People


def export(kit: Kit, path, **options):
    with path.open("wb") as out:
        Export(kit, **options).write(out)
    return path


def read_in(path, owner: Person, people: People | None = None, **options) -> Kit:
    options.setdefault("as_it_is", True)  # the guides of the factories have no circuit
    with Reader(path) as archive:
        return Import(archive, owner, people or People(), **options).run()


def entries(path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != SUMS}


def rows(content: dict[str, bytes], label: str) -> list[dict]:
    return [json.loads(line) for line in content[f"rows/{label}.jsonl"].splitlines()]


def put_rows(content: dict[str, bytes], label: str, found: list[dict]) -> None:
    content[f"rows/{label}.jsonl"] = "".join(json.dumps(row) + "\n" for row in found).encode()


def pack(content: dict[str, bytes], path, *, sums: str | None = None):
    """With the right checksums, as somebody would who means harm."""
    right = "".join(f"{hashlib.sha256(raw).hexdigest()}  {name}\n" for name, raw in content.items())
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, raw in content.items():
            archive.writestr(name, raw)
        archive.writestr(SUMS, right if sums is None else sums)
    path.write_bytes(out.getvalue())
    return path


def essence(content: dict[str, bytes]) -> dict[str, list]:
    """What a file says, whatever the numbers of its rows and files: a number is replaced by its place, a person by the
    name, a file by its sum."""
    people = {row["id"]: row["name"] for row in map(json.loads, content["people.jsonl"].splitlines())}
    labels = [name[5:-6] for name in content if name.startswith("rows/")]
    places = {label: {row["id"]: n for n, row in enumerate(rows(content, label))} for label in labels}
    return {label: [_essence(label, row, content, people, places) for row in rows(content, label)] for label in labels}


def _essence(label, row, content, people, places) -> dict:
    from django.apps import apps

    said = {}
    for field in apps.get_model(label)._meta.get_fields():
        if field.name not in row or field.name == "id":
            continue
        value = row[field.name]
        other = field.related_model._meta.label if field.is_relation else ""
        if other == "accounts.Person":
            value = people.get(value)
        elif other and isinstance(value, list):
            value = [places[other][number] for number in value]
        elif other and value is not None:
            value = places[other][value]
        elif isinstance(value, str) and value.startswith("files/"):
            value = hashlib.sha256(content[value]).hexdigest()
        said[field.name] = value
    return said
