"""manage.py doctor: do the database and the files match?"""

from django.core.management.base import BaseCommand, CommandError

from builds.operations import doctor


class Command(BaseCommand):
    help = "Check the database, the files and the free space. --mend deletes files that no row refers to."

    def add_arguments(self, parser):
        parser.add_argument("--mend", action="store_true")

    def handle(self, *, mend, **options):
        findings = doctor.examine()
        for code in findings.troubles:
            self.stdout.write(f"problem: {code}")
        for name in findings.orphans:
            self.stdout.write(f"no row refers to the file {name}")
        for name in findings.missing:
            self.stdout.write(f"the file {name} is missing: restore it from a backup")
        if mend:
            self.stdout.write(f"{doctor.mend(findings)} files deleted")
        elif findings.orphans:
            self.stdout.write("`manage.py doctor --mend` deletes files that no row refers to.")
        if findings.troubles or findings.missing:
            raise CommandError("Problems found.")
        self.stdout.write("No problems found." if findings.is_well else "No other problems found.")
