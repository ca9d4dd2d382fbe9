"""Asking for work in the background, and doing it."""
import logging
import time

from django.db.transaction import on_commit
from django.utils import timezone
from django_tasks import task

from builds.jobs.models import Job
from builds.jobs.registry import FUNCTIONS

REPORT_EVERY = 0.25  # s between two writes of how far a job is
log = logging.getLogger(__name__)


def find(kind: str, key: str) -> Job | None:
    return Job.objects.filter(kind=kind, key=key).first()


def start(kind: str, key: str, *args, restart: bool = False) -> Job:
    """The job of this kind and key, begun if it is new. `restart` begins a failed, lost or finished one again.

    Returns at once; the work begins when the transaction is committed. Raises LookupError for an unknown kind.
    """
    if kind not in FUNCTIONS:
        raise LookupError(f"nothing does jobs of kind {kind!r}")
    found, new = Job.objects.get_or_create(kind=kind, key=key, defaults={"args": list(args)})
    if not new and restart and found.is_finished:
        found.state, found.error, found.result, found.args = Job.State.WAITING, "", None, list(args)
        found.done, found.total, found.words, found.seen_at = 0, 0, "", timezone.now()
        found.save()
        new = True
    if new:
        on_commit(lambda: run.enqueue(found.pk))
        found.refresh_from_db()  # the immediate queue has done it by now
    return found


@task()
def run(pk: int) -> None:
    """What a worker does with one job; only a waiting one, so that a message told twice is acted on once."""
    taken = Job.objects.filter(pk=pk, state=Job.State.WAITING).update(
        state=Job.State.RUNNING, started_at=timezone.now(), seen_at=timezone.now())
    if not taken:
        return
    row = Job.objects.get(pk=pk)
    try:
        result = FUNCTIONS[row.kind](_reporter(pk), *row.args)
    except ValueError as error:  # ChecksError among them: a sentence for people
        _end(pk, Job.State.FAILED, error=str(error)[:500])
    except Exception:
        log.exception("job %s broke", row)
        _end(pk, Job.State.FAILED, error="It broke. The site's log has the details.")
    else:
        _end(pk, Job.State.DONE, result=result)


def _reporter(pk: int):
    last = [0.0]

    def report(done: int, total: int, words: str = "") -> None:
        now = time.monotonic()
        if now - last[0] >= REPORT_EVERY or done >= total:
            last[0] = now
            Job.objects.filter(pk=pk).update(done=done, total=total, words=words[:200], seen_at=timezone.now())
    return report


def _end(pk: int, state: str, **fields) -> None:
    Job.objects.filter(pk=pk).update(state=state, ended_at=timezone.now(), **fields)
