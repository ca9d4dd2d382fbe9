"""Everything for a look round: migrate, load the demo, say the sign-ins, and serve."""

import contextlib
import gc
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import connection, connections

from builds.review.demo import begin_demo, load_demo
from builds.review.demo.other_core import OtherCore


class Command(BaseCommand):
    help = "Migrate, load the demo guide and its demo builds, print the addresses and sign-ins, and serve."
    requires_system_checks = ()  # the server and migrate make their own

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--password", default="", help="password for both sign-ins (default: random)")
        parser.add_argument(
            "--no-serve", action="store_true", help="load the demo without serving it; a worker loads the rest"
        )

    def handle(self, *, port, password, no_serve, **options):
        self.began = time.monotonic()
        designer, builder = password or secrets.token_urlsafe(9), password or secrets.token_urlsafe(9)
        with OtherCore() as core:
            guide = None if connection.introspection.table_names() else begin_demo(core)
            self._say("Creating the database in " + str(settings.DATA_DIR))
            with uncollected():
                call_command("migrate", interactive=False, verbosity=0, skip_checks=True)
            load_demo(designer, builder, self._say, core, guide)
        address = f"http://127.0.0.1:{port}"
        self.stdout.write(
            f"\nThe demo is at {address}/\n\n  designer   name: Designer     password: {designer}\n"
            f"  builder    name: Builder 01   password: {builder}\n\n"
            f"Dashboard: {address}/review/five-watt/A/\n"
            "A second kit and the likely causes of wrong readings follow within a minute.\n"
        )
        self.stdout.flush()
        if not no_serve:
            serve(port, lambda: self._say(f"Open {address}/ now. Stop with Ctrl-C."))

    def _say(self, text: str) -> None:
        """What is being done, with the seconds since the start: a person waits for this."""
        self.stdout.write(f"{time.monotonic() - self.began:5.1f} s  {text}")
        self.stdout.flush()


@contextlib.contextmanager
def uncollected():
    """The migrations make thousands of model classes: looking among them for garbage takes a third of their time."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def serve(port: int, say_ready: Callable[[], None]) -> None:
    """Hand over to the site's own server, with everything behind the scenes beside it."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", settings.SETTINGS_MODULE)
    os.environ.setdefault("SITE_URL", f"http://127.0.0.1:{port}")
    connections.close_all()
    manage = [sys.executable, str(settings.BASE_DIR / "manage.py")]
    worker = subprocess.Popen([*manage, "work"])
    server = subprocess.Popen([*manage, "serve", "--bind", f"127.0.0.1:{port}"])
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # ended by a program, it ends the two as well
    try:
        if _listens(server, port):
            say_ready()
        server.wait()
    except KeyboardInterrupt:
        pass
    finally:
        for process in (server, worker):
            _end(process)


def _listens(server: subprocess.Popen, port: int) -> bool:
    """Wait until the server takes connections; False where it ended before."""
    while server.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return True
        except OSError:
            time.sleep(0.05)
    return False


def _end(process: subprocess.Popen) -> None:
    """Ask it to finish what it is doing; what it leaves undone is taken up again at the next start."""
    process.terminate()
    try:
        process.wait(10)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
