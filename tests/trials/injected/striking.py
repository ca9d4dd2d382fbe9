"""Things that fail while a request is under way. Each is a context that says afterwards whether it struck."""

import errno
import os
import resource
import signal
import sqlite3
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.core.files.storage import FileSystemStorage
from django.db import OperationalError, connection


@dataclass
class Struck:
    """Whether the fault has come about."""

    yes: bool = False


@contextmanager
def disk_full(rng):
    """The log may grow by some bytes and no more, in the middle of a page as on a full disk."""
    log = Path(connection.settings_dict["NAME"] + "-wal")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    watched = Struck()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")  # the log is there
    try:
        with connection.execute_wrapper(_watching(watched)):
            resource.setrlimit(resource.RLIMIT_FSIZE, (log.stat().st_size + rng.randrange(12_000), before[1]))
            yield watched
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@contextmanager
def read_only(_rng):
    watched = Struck()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON")
    try:
        with connection.execute_wrapper(_watching(watched)):
            yield watched
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA query_only = OFF")


@contextmanager
def locked(_rng):
    """Another process holds the writers' lock for longer than anybody waits."""
    holder = sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 20")
    holder.execute("BEGIN IMMEDIATE")
    try:
        with connection.execute_wrapper(_watching(watched := Struck())):
            yield watched
    finally:
        holder.execute("ROLLBACK")
        holder.close()
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout = 20000")


def _watching(watched: Struck):
    def execute(run, sql, params, many, context):
        try:
            return run(sql, params, many, context)
        except OperationalError:
            watched.yes = True
            raise

    return execute


@contextmanager
def statement_raises(rng):
    """A statement, or the commit, fails: before it is carried out or after."""
    with _at_some_statement(rng, _raise) as watched:
        yield watched


@contextmanager
def killed(rng):
    """kill -9 at a statement or at the commit; only ever in a process of its own."""
    with _at_some_statement(rng, lambda: os.kill(os.getpid(), signal.SIGKILL)) as watched:
        yield watched


def _raise():
    raise OperationalError("injected")


@contextmanager
def _at_some_statement(rng, fail):
    left, is_after, watched = [rng.randrange(25)], rng.random() < 0.5, Struck()

    def count_down() -> bool:
        left[0] -= 1
        return left[0] == -1

    def strike():
        watched.yes = True
        fail()

    def execute(run, *args):
        mine = count_down()
        if mine and not is_after:
            strike()
        answer = run(*args)
        if mine:
            strike()
        return answer

    commit = connection._commit

    def commit_or_fail():
        mine = count_down()
        if mine and not is_after:
            strike()
        commit()
        if mine:
            strike()

    connection._commit = commit_or_fail
    try:
        with connection.execute_wrapper(execute):
            yield watched
    finally:
        connection._commit = commit


@contextmanager
def file_fails(rng):
    """One of the files of a photo cannot be written."""
    left, watched, save = [rng.randrange(3)], Struck(), FileSystemStorage._save

    def save_or_fail(storage, name, content):
        left[0] -= 1
        if left[0] == -1:
            watched.yes = True
            raise OSError(errno.ENOSPC, "No space left on device")
        return save(storage, name, content)

    FileSystemStorage._save = save_or_fail
    try:
        yield watched
    finally:
        FileSystemStorage._save = save


HERE = {
    "a statement or commit fails": statement_raises,
    "the disk is full": disk_full,
    "the database is read-only": read_only,
    "the database is locked": locked,
    "a file cannot be written": file_fails,
}
