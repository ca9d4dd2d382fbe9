"""manage.py digest: write the day's digests and send everything that waits. To be run by a timer, as often as you
like."""

from django.core.management.base import BaseCommand
from django.utils import timezone

from builds.notifications.digest import write_digests
from builds.notifications.sending import ask_for_waiting


class Command(BaseCommand):
    help = "Write the daily digests (one per person and day) and send e-mails that are waiting or failed before."

    def handle(self, **options):
        written = write_digests(timezone.localdate())
        self.stdout.write(f"{len(written)} digests written; {ask_for_waiting()} e-mails to send.")
