"""manage.py queue_worker: one worker of one queue; `manage.py work` starts and watches them."""

from django.core.management.base import BaseCommand
from django.utils.crypto import get_random_string

from builds.jobs.worker import PatientWorker


class Command(BaseCommand):
    help = "Process one queue until SIGTERM, waiting for as long as the database is locked."

    def add_arguments(self, parser):
        parser.add_argument("queue", nargs="?", default="default", help="default or mail")
        parser.add_argument("--batch", action="store_true", help="stop when the queue is empty")

    def handle(self, *, queue, batch, **options):
        worker = PatientWorker(
            queue_names=[queue],
            excluded_queue_names=[],
            interval=1,
            batch=batch,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=get_random_string(32),
        )
        worker.configure_signals()
        worker.run()
