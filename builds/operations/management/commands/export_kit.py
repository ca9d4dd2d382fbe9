"""manage.py export_kit: a whole kit in one file, for another installation; while the site serves."""

import os
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from builds.guides.models import Kit
from builds.operations.transfer.errors import TransferError
from builds.operations.transfer.exporting import Export


class Command(BaseCommand):
    help = (
        "Write a kit to one file: its revisions, pictures, builds, readings, photos, snags and decisions. People are "
        "included by name, and with --addresses by e-mail address; passwords and links never are."
    )

    def add_arguments(self, parser):
        parser.add_argument("kit", help="the kit's key, as in its addresses")
        parser.add_argument("file", type=Path, help="the file to write, such as five-watt.zip")
        parser.add_argument("--addresses", action="store_true", help="include people's e-mail addresses")

    def handle(self, *, kit, file, addresses, **options):
        exported = Kit.objects.filter(key=kit).first()
        if exported is None:
            raise CommandError(f"There is no kit {kit}. Kits: {', '.join(Kit.objects.values_list('key', flat=True))}.")
        if file.exists():
            raise CommandError(f"{file} already exists.")
        export = Export(exported, addresses=addresses)
        try:
            _write(export, file)
        except (OSError, TransferError, ValueError) as error:
            raise CommandError(f"The kit could not be written: {error}") from error
        for name in export.missing:
            self.stdout.write(f"the file {name} is missing and was left out")
        builds, readings = export.counts["bench.Build"], export.counts["bench.Reading"]
        self.stdout.write(f"Wrote {file}: {builds} builds, {readings} readings, {len(export.files)} files.")


def _write(export: Export, file: Path) -> None:
    """Beside its place first, for nobody else to read: half a kit is never taken for one."""
    unfinished = file.with_name(f".{file.name}.unfinished")
    try:
        with os.fdopen(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
            export.write(out)
            out.flush()
            os.fsync(out.fileno())
        unfinished.rename(file)
    finally:
        unfinished.unlink(missing_ok=True)
