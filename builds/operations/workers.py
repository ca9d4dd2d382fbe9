"""The processes behind the scenes, kept running: a worker a queue, and the rounds of the one who watches them."""

import logging
import signal
import subprocess
import sys
import time

from django.conf import settings
from django.db import close_old_connections, connection
from django.utils import timezone

from builds.jobs.registry import MAIL
from builds.jobs.resuming import resume_lost
from builds.notifications.sending import ask_for_waiting
from builds.operations import daily
from builds.operations.checkpoints import checkpoint
from builds.operations.models import Run

ROUND = 10  # s
log = logging.getLogger(__name__)


class Workers:
    def __init__(self, computing: int):
        self.wanted = [MAIL, *["default"] * computing]
        self.running: list[tuple[str, subprocess.Popen]] = []
        self.ending = False

    def run(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._end)
        try:
            while not self.ending:
                self._keep_running()
                self._safely(resume_lost)
                self._safely(ask_for_waiting)  # by its worker: a mail server that is silent holds up no round
                self._safely(self._do_daily)
                self._safely(checkpoint)
                self._sleep()
        finally:
            self._stop()

    def _sleep(self) -> None:
        until = time.monotonic() + ROUND
        while not self.ending and time.monotonic() < until:
            time.sleep(0.2)

    def _keep_running(self) -> None:
        self.running = [(queue, process) for queue, process in self.running if process.poll() is None]
        alive = [queue for queue, _process in self.running]
        for queue in self.wanted:
            if queue in alive:
                alive.remove(queue)
            else:
                self.running.append((queue, _start(queue)))

    def _safely(self, work) -> None:
        """One round that fails does not end the others; its connection may be broken."""
        try:
            work()
        except Exception:
            log.exception("%s failed", work.__name__)
            connection.close()
        close_old_connections()

    def _do_daily(self) -> None:
        if Run.is_due("daily"):
            Run.note("daily", {str(k): v for k, v in daily.run().items()}, timezone.now())

    def _end(self, *_signal) -> None:
        self.ending = True

    def _stop(self) -> None:
        for _queue, process in self.running:
            process.terminate()
        for _queue, process in self.running:
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()


def _start(queue: str) -> subprocess.Popen:
    return subprocess.Popen([sys.executable, settings.BASE_DIR / "manage.py", "queue_worker", queue])
