"""A database that is locked for longer than anybody waits ends no worker, loses no job, and does none twice."""

import pytest
from django.db import DatabaseError, OperationalError
from django_tasks_db.models import DBTaskResult

from builds.jobs import queue, waiting, worker
from builds.jobs.models import Job
from builds.jobs.registry import FUNCTIONS, MAIL, RULES, job
from builds.operations.management.commands.queue_worker import Command

pytestmark = pytest.mark.django_db(transaction=True)
LOCKED = OperationalError("database is locked")


@pytest.fixture
def done():
    """How often the job of kind "locking" was done."""
    done = []
    job("locking")(lambda report: done.append(1) or "done")
    yield done
    FUNCTIONS.pop("locking"), RULES.pop("locking")


@pytest.fixture(autouse=True)
def no_waiting(monkeypatch):
    waits = []
    monkeypatch.setattr(waiting.time, "sleep", waits.append)
    monkeypatch.setattr(worker.time, "sleep", waits.append)
    return waits


@pytest.fixture
def queued(settings, done) -> Job:
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default", "mail"]}}
    return queue.start("locking", "x")


def fail(monkeypatch, where, name, errors):
    """The first calls of a function raise these errors."""
    real, left = getattr(where, name), list(errors)

    def failing(*args, **named):
        if left:
            raise left.pop(0)
        return real(*args, **named)

    monkeypatch.setattr(where, name, failing)
    return left


def work() -> None:
    Command().handle(queue="default", batch=True)


@pytest.mark.parametrize("error", [LOCKED, OperationalError("disk I/O error"), DatabaseError("the server went away")])
def test_a_worker_that_cannot_look_for_work_goes_on_looking(queued, done, monkeypatch, error, no_waiting):
    left = fail(monkeypatch, DBTaskResult.objects.all().__class__, "get_locked", [error] * 3)
    if error is LOCKED:  # the package waits for that one by itself, where it is raised inside the transaction
        left[:] = []
        from django_tasks_db.management.commands import db_worker

        left = fail(monkeypatch, db_worker, "exclusive_transaction", [LOCKED] * 3)
    work()
    queued.refresh_from_db()
    assert (queued.state, len(done), left) == ("done", 1, [])
    assert max(no_waiting) <= worker.LONGEST < 60


def test_a_worker_ends_by_an_error_of_another_kind(queued, monkeypatch):
    from django_tasks_db.management.commands import db_worker

    fail(monkeypatch, db_worker, "exclusive_transaction", [RuntimeError("a mistake")])
    with pytest.raises(RuntimeError):
        work()


def test_a_job_that_is_done_is_not_done_again_because_that_could_not_be_noted(queued, done, monkeypatch):
    ends = []
    real = type(Job.objects.all()).update

    def update(rows, **fields):
        if fields.get("state") == Job.State.DONE:
            ends.append(fields)
            if len(ends) < 4:
                raise LOCKED
        return real(rows, **fields)

    monkeypatch.setattr(type(Job.objects.all()), "update", update)
    work()
    queued.refresh_from_db()
    assert (queued.state, queued.resumed, len(done), len(ends)) == ("done", 0, 1, 4)


def test_a_job_that_meets_a_lock_is_done_by_itself_later(queued, done, monkeypatch):
    monkeypatch.setitem(FUNCTIONS, "locking", _locked_first(FUNCTIONS["locking"], 1))
    work()
    queued.refresh_from_db()
    assert (queued.state, queued.resumed, len(done)) == ("done", 1, 1)


def test_a_job_that_always_meets_a_lock_is_given_up(queued, done, monkeypatch):
    monkeypatch.setitem(FUNCTIONS, "locking", _locked_first(FUNCTIONS["locking"], 99))
    work()
    queued.refresh_from_db()
    assert (queued.state, queued.resumed, done) == ("failed", 1, [])


def test_what_does_not_unlock_is_an_error_after_a_while(no_waiting):
    def write():
        raise LOCKED

    with pytest.raises(OperationalError):
        waiting.until_unlocked(write)
    assert no_waiting == list(waiting.WAITS)


def test_another_error_is_not_waited_for(no_waiting):
    def write():
        raise OperationalError("no such table")

    with pytest.raises(OperationalError):
        waiting.until_unlocked(write)
    assert not no_waiting


def _locked_first(function, times):
    left = [LOCKED] * times

    def locked(report):
        if left:
            raise left.pop()
        return function(report)

    return locked


def test_a_letter_does_not_wait_behind_a_circuit(settings, done):
    """A job for the mail queue is in the mail queue from the start, not only when it is taken up again."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default", "mail"]}}
    job("writing", queue=MAIL)(lambda report: done.append("letter"))
    try:
        circuit, letter = queue.start("locking", "x"), queue.start("writing", "y")
        Command().handle(queue="mail", batch=True)
        circuit.refresh_from_db(), letter.refresh_from_db()
        assert (letter.state, circuit.state, done) == ("done", "waiting", ["letter"])
    finally:
        FUNCTIONS.pop("writing"), RULES.pop("writing")


@pytest.mark.parametrize("kind", ["letter", "reset", "account-letter", "confirm-letter"])
def test_every_kind_of_letter_has_the_mail_queue(kind):
    assert RULES[kind].queue == MAIL
