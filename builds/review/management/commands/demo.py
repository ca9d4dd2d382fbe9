"""Everything for a look round: migrate, load the demo, say the sign-ins, and serve."""

import os
import secrets
import subprocess
import sys

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand

from builds.review.demo import load_demo


class Command(BaseCommand):
    help = "Migrate, load the demo guide and twelve demo builds, print the addresses and sign-ins, and serve."

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--password", default="", help="for both sign-ins; made at random when not given")
        parser.add_argument("--no-serve", action="store_true", help="load and stop")

    def handle(self, *, port, password, no_serve, **options):
        call_command("migrate", interactive=False, verbosity=0)
        designer, builder = password or secrets.token_urlsafe(9), password or secrets.token_urlsafe(9)
        load_demo(designer, builder)
        address = f"http://127.0.0.1:{port}"
        self.stdout.write(
            f"\nThe demo is at {address}/\n\n  designer   name: Designer     password: {designer}\n"
            f"  builder    name: Builder 01   password: {builder}\n\n"
            f"Dashboard: {address}/review/five-watt/A/\nStop with Ctrl-C.\n"
        )
        self.stdout.flush()
        if not no_serve:
            serve(port)


def serve(port: int) -> None:
    """Hand over to gunicorn (several phones at once), with a worker for background work beside it."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", settings.SETTINGS_MODULE)
    worker = subprocess.Popen([sys.executable, settings.BASE_DIR / "manage.py", "db_worker", "--no-startup-delay"])
    here = os.getpid()
    try:
        _gunicorn(port)
    finally:
        if os.getpid() == here:  # not in gunicorn's own children, which end here too
            _end(worker)


def _end(worker: subprocess.Popen) -> None:
    """Ask the worker to finish what it is doing; what it leaves undone is asked for again from its page."""
    worker.terminate()
    try:
        worker.wait(10)
    except subprocess.TimeoutExpired:
        worker.kill()
        worker.wait()


def _gunicorn(port: int) -> None:
    from gunicorn.app.wsgiapp import WSGIApplication

    sys.argv = [
        "gunicorn",
        "builds.wsgi:application",
        "--bind",
        f"127.0.0.1:{port}",
        "--workers",
        "2",
        "--worker-class",
        "gthread",
        "--threads",
        "8",
        "--log-level",
        "warning",
        "--no-control-socket",
    ]
    WSGIApplication("%(prog)s").run()
