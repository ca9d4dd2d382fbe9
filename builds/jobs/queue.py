"""Starting background jobs, and running them."""

import logging
import time
from datetime import timedelta

from django.db import connection
from django.db.transaction import on_commit
from django.utils import timezone
from django_tasks import task

from builds.jobs.alive import OutOfTime, alive, time_limit
from builds.jobs.models import BROKE, MOST_RESUMED, OUT_OF_TIME, REFUSED, Job
from builds.jobs.registry import FUNCTIONS, find_rules
from builds.jobs.waiting import is_locked, until_unlocked
from builds.ui.problem_rows import problem_row
from checks.errors import ChecksError

REPORT_EVERY = 0.25  # s between two writes of how far a job is
log = logging.getLogger(__name__)


def find(kind: str, key: str) -> Job | None:
    return Job.objects.filter(kind=kind, key=key).first()


def start(kind: str, key: str, *args, restart: bool = False) -> Job:
    """The job of this kind and key, begun if it is new. `restart` begins a failed, lost, overlooked or finished one
    again.

    Returns at once; the work begins when the transaction is committed. Raises LookupError for an unknown kind.
    """
    if kind not in FUNCTIONS:
        raise LookupError(f"nothing does jobs of kind {kind!r}")
    row, new = Job.objects.get_or_create(kind=kind, key=key, defaults={"args": list(args)})
    if new or (restart and _begin_again(row, args)):
        on_commit(lambda: send_off(row))
        row.refresh_from_db()  # the immediate queue has done it by now
    return row


def send_off(job: Job) -> None:
    """Put the message about a waiting job into the queue of its kind."""
    run.using(queue_name=find_rules(job.kind).queue).enqueue(job.pk)


def _begin_again(row: Job, args) -> bool:
    """Set an ended, lost or overlooked job back to waiting; False when it is under way, or another has just done the
    same."""
    if not (row.is_finished or row.is_overlooked):
        return False
    as_seen = Job.objects.filter(pk=row.pk, state=row.state, seen_at=row.seen_at)
    return bool(
        as_seen.update(
            state=Job.State.WAITING,
            args=list(args),
            result=None,
            error="",
            done=0,
            total=0,
            step={},
            started_at=None,
            ended_at=None,
            seen_at=timezone.now(),
            resumed=0,
            attempts=0,
            not_before=None,
        )
    )


@task()
def run(pk: int) -> None:
    """What a worker does with one job; only a waiting one, so that a message told twice is acted on once."""
    now = timezone.now()
    if not Job.objects.filter(pk=pk, state=Job.State.WAITING).update(
        state=Job.State.RUNNING, started_at=now, seen_at=now
    ):
        return
    row = Job.objects.get(pk=pk)
    # A worker thought dead may come back after another has begun again: its reports no longer count then.
    mine = Job.objects.filter(pk=pk, state=Job.State.RUNNING, started_at=row.started_at)
    try:
        with alive(mine), time_limit(find_rules(row.kind).limit):
            result = FUNCTIONS[row.kind](_reporter(mine), *row.args)
    except OutOfTime:
        log.error("job %s took too long, at: %s", row, Job.objects.get(pk=pk).step)
        _end(mine, Job.State.FAILED, error=OUT_OF_TIME)
    except ChecksError as error:
        _end(mine, Job.State.FAILED, error=REFUSED, step=problem_row(error))
    except Exception as error:
        _broke(row, mine, error)
    else:
        _end(mine, Job.State.DONE, result=result)


def _broke(row, mine, error: Exception) -> None:
    """The job met an error: whether it is tried again, and when."""
    waits = find_rules(row.kind).waits
    if is_locked(error) and row.resumed < MOST_RESUMED and not connection.in_atomic_block:
        log.warning("job %s met a locked database and is taken up again", row)
        _put_back(row, mine)
    elif isinstance(error, OSError) and row.attempts < len(waits):
        minutes = waits[row.attempts]
        log.warning("job %s: %s; tried again in %d min", row, error, minutes)
        _put_off(row, mine, timedelta(minutes=minutes))
    else:
        log.error("job %s broke", row, exc_info=error)
        _end(mine, Job.State.FAILED, error=BROKE)


def _reporter(mine):
    last = [0.0]

    def report(done: int, total: int, step: str = "", **params) -> None:
        now = time.monotonic()
        if now - last[0] >= REPORT_EVERY or done >= total:
            last[0] = now
            mine.update(done=done, total=total, step={"code": step, **params} if step else {}, seen_at=timezone.now())

    return report


def _end(mine, state: str, **fields) -> None:
    """Tried for a while: a job that is done must not be taken for lost, and done twice."""
    until_unlocked(lambda: mine.update(state=state, ended_at=timezone.now(), seen_at=timezone.now(), **fields))


def _put_back(row, mine) -> None:
    again = {"state": Job.State.WAITING, "resumed": row.resumed + 1, "seen_at": timezone.now(), "started_at": None}
    until_unlocked(lambda: mine.update(**again))
    until_unlocked(lambda: send_off(row))


def _put_off(row, mine, wait: timedelta) -> None:
    """Its message is sent again when its time has come (jobs.resuming)."""
    now = timezone.now()
    later = {"state": Job.State.WAITING, "attempts": row.attempts + 1, "seen_at": now, "started_at": None}
    until_unlocked(lambda: mine.update(not_before=now + wait, **later))
