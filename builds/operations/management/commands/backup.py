"""manage.py backup: while the site serves; from a timer, into a folder on another disk."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from builds.operations import backup, off_site


class Command(BaseCommand):
    help = "Back up the database, the photos and pictures, and the settings without secrets; with checksums."

    def add_arguments(self, parser):
        parser.add_argument("folder", type=Path, help="folder for the backups, best on another disk")
        parser.add_argument("--keep", type=int, default=14, help="how many backups to keep (default 14)")

    def handle(self, *, folder, keep, **options):
        if keep < 1:
            raise CommandError("--keep must be 1 or more.")
        try:
            made = backup.make(folder, keep)
            self.stdout.write(f"Backed up to {made}")
            if off_site.is_wanted():
                off_site.copy(made, keep)
                self.stdout.write("Copied to the store in BACKUP_STORE_URL")
        except backup.BackupError as error:
            raise CommandError(str(error)) from error
