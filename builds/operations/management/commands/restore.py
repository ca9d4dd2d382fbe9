"""manage.py restore: a backup into an empty data folder; with --check, only whether it is complete."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from builds.operations import backup, off_site


class Command(BaseCommand):
    help = "Check a backup and put it into an empty data folder."

    def add_arguments(self, parser):
        parser.add_argument("backup", type=Path)
        parser.add_argument("--into", type=Path, help="the empty data folder")
        parser.add_argument(
            "--fetch-to", type=Path, help="first fetch the backup by name from BACKUP_STORE_URL into this folder"
        )
        parser.add_argument("--check", action="store_true", help="only check that the backup is complete")

    def handle(self, *, into, check, fetch_to, **options):
        path = options["backup"]
        if not check and into is None:
            raise CommandError("Give --into with an empty data folder, or --check.")
        try:
            path = off_site.fetch(str(path), fetch_to) if fetch_to else path
            backup.verify(path) if check else backup.restore(path, into)
        except (backup.BackupError, OSError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            "The backup is complete." if check else f"Restored into {into}. Start the site with DATA_DIR={into}."
        )
