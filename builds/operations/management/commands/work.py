"""manage.py work: everything behind the scenes in one command."""

from django.core.management.base import BaseCommand

from builds.operations.workers import Workers


class Command(BaseCommand):
    help = (
        "Run the background workers: one for mail, others for figures, faults and archives. Resumes what a killed "
        "worker left unfinished, sends mail that is due, and does the daily maintenance. Stops on SIGTERM."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--computing", type=int, default=1, help="number of workers for figures, faults and archives"
        )

    def handle(self, *, computing, **options):
        Workers(computing).run()
