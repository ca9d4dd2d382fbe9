"""The worker of a queue, which outlives a database that is locked, full or away for a while."""

import logging
import time

from django.db import DatabaseError, connection
from django_tasks_db.management.commands.db_worker import Worker

FIRST, LONGEST = 1, 15  # s of waiting after the first refusal in a row, and at most
log = logging.getLogger(__name__)


class PatientWorker(Worker):
    def run(self) -> None:
        """Begin again after each error of the database. What was in hand then is taken up by jobs.resuming."""
        wait = FIRST
        while self.running:
            began = time.monotonic()
            try:
                super().run()
                return
            except DatabaseError as error:
                log.warning("the worker of %s waits for the database: %s", ",".join(self.queue_names), error)
                connection.close()
            if time.monotonic() - began > 4 * LONGEST:  # it worked for a while
                wait = FIRST
            time.sleep(wait)
            wait = min(2 * wait, LONGEST)
