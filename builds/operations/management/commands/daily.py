"""manage.py daily: once a day, from a timer (`manage.py work` does it by itself)."""

from django.core.management.base import BaseCommand

from builds.operations import daily


class Command(BaseCommand):
    help = "Write the daily digests, send waiting e-mails, and delete old sessions, task rows and counts."

    def handle(self, **options):
        for what, count in daily.run().items():
            self.stdout.write(f"{what}: {count}")
