"""manage.py doctor: is everything there that belongs together?"""

from django.core.management.base import BaseCommand, CommandError

from builds.operations import doctor


class Command(BaseCommand):
    help = "Examine the database, the files and the space left. --mend deletes files that no row knows."

    def add_arguments(self, parser):
        parser.add_argument("--mend", action="store_true")

    def handle(self, *, mend, **options):
        findings = doctor.examine()
        for code in findings.troubles:
            self.stdout.write(f"trouble: {code}")
        for name in findings.orphans:
            self.stdout.write(f"no row knows the file {name}")
        for name in findings.missing:
            self.stdout.write(f"the file {name} is missing: take it from a backup")
        if mend:
            self.stdout.write(f"{doctor.mend(findings)} files deleted")
        elif findings.orphans:
            self.stdout.write("`manage.py doctor --mend` deletes files that no row knows.")
        if findings.troubles or findings.missing:
            raise CommandError("Not everything is well.")
        self.stdout.write("Everything is well." if findings.is_well else "Everything else is well.")
