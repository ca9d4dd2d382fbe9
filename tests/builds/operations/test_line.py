"""Whoever writes to SQLite waits in line: nobody is passed by, and no killed or stuck writer shuts the others out."""

import signal
import subprocess
import sys
import time
from threading import Thread

import pytest
from django.db import OperationalError, connections, transaction

from builds.operations.sqlite.base import DatabaseWrapper
from builds.operations.sqlite.line import Line

LONG = 20  # s, longer than any of these waits
ANOTHER = """
import sys, time
from builds.operations.sqlite.line import Line
line = Line(sys.argv[1])
print(line.enter(20), flush=True)
time.sleep(60)
"""


@pytest.fixture
def database(tmp_path):
    return str(tmp_path / "kits.sqlite3")


def waiting_in(line, count):
    until = time.monotonic() + LONG
    while len(line._waiting) < count and time.monotonic() < until:
        time.sleep(0.001)


def test_threads_come_in_the_order_in_which_they_asked(database):
    line, came, threads = Line(database), [], []
    assert line.enter(LONG)

    def one(number):
        assert line.enter(LONG)
        came.append(number)
        line.leave()

    for number in range(6):
        threads.append(Thread(target=one, args=(number,)))
        threads[-1].start()
        waiting_in(line, number + 1)
    line.leave()
    for thread in threads:
        thread.join(LONG)
    assert came == list(range(6))


def test_a_process_that_has_just_written_does_not_pass_one_that_waits(database):
    """Two lines on the same file hold locks of their own, as two processes do."""
    busy, patient, came = Line(database), Line(database), []
    assert busy.enter(LONG)

    def other():
        assert patient.enter(LONG)
        came.append("other")
        patient.leave()

    thread = Thread(target=other)
    thread.start()
    until = time.monotonic() + LONG
    while not patient._files and time.monotonic() < until:
        time.sleep(0.001)
    time.sleep(0.05)  # it holds the place of whoever is next
    busy.leave()
    assert busy.enter(LONG)
    came.append("again")
    busy.leave()
    thread.join(LONG)
    assert came == ["other", "again"]


def test_a_turn_that_does_not_come_in_time_is_given_up_and_costs_nobody_theirs(database):
    holder, late = Line(database), Line(database)
    assert holder.enter(LONG)
    assert not late.enter(0.01)
    assert not holder.enter(0.01)  # of the same process, too
    holder.leave()
    assert late.enter(LONG)
    late.leave()
    assert holder.enter(LONG)


def test_a_killed_writer_leaves_the_line(database):
    other = subprocess.Popen([sys.executable, "-c", ANOTHER, database], stdout=subprocess.PIPE, text=True)
    try:
        assert other.stdout.readline().strip() == "True"
        line = Line(database)
        assert not line.enter(0.01)
        other.send_signal(signal.SIGKILL)
        other.wait(LONG)
        assert line.enter(LONG)
    finally:
        other.kill()
        other.stdout.close()


def test_a_folder_that_cannot_be_written_to_has_no_line(tmp_path):
    line = Line(str(tmp_path / "not-there" / "kits.sqlite3"))
    assert not line.enter(LONG)
    assert not line.enter(LONG)  # and keeps nobody waiting


@pytest.fixture
def site(database):
    """A connection as the site's settings make it, to a database of its own."""
    base = connections["default"]
    if base.vendor != "sqlite":
        pytest.skip("PostgreSQL lets many write at once")
    made = DatabaseWrapper({**base.settings_dict, "NAME": database}, "line")
    connections["line"] = made
    with made.cursor() as cursor:
        cursor.execute("CREATE TABLE reading (value REAL CHECK (value < 1000))")
    yield made
    made.close()
    del connections["line"]


def is_free(site) -> bool:
    line = Line(site.settings_dict["NAME"])  # as another process sees it
    entered = line.enter(0.01)
    if entered:
        line.leave()
    return entered


@pytest.mark.django_db
def test_a_transaction_holds_its_place_until_it_ends_however_it_ends(site):
    with transaction.atomic(using="line"), site.cursor() as cursor:
        assert not is_free(site)
        cursor.execute("INSERT INTO reading VALUES (300)")
        with transaction.atomic(using="line"):
            cursor.execute("INSERT INTO reading VALUES (301)")
        assert not is_free(site)
    assert is_free(site)
    with pytest.raises(ZeroDivisionError), transaction.atomic(using="line"):
        assert not is_free(site)
        raise ZeroDivisionError
    assert is_free(site)


@pytest.mark.django_db
def test_a_single_statement_that_writes_waits_and_leaves_though_it_is_refused(site):
    held = Line(site.settings_dict["NAME"])
    assert held.enter(LONG)
    done = []

    def write():
        with site.cursor() as cursor:
            cursor.execute("INSERT INTO reading VALUES (%s)", [300])
        done.append(True)

    site.inc_thread_sharing()
    thread = Thread(target=write)
    thread.start()
    time.sleep(0.05)
    assert not done
    held.leave()
    thread.join(LONG)
    assert done and is_free(site)
    with pytest.raises(Exception, match="CHECK"), site.cursor() as cursor:
        cursor.execute("INSERT INTO reading VALUES (1000)")
    assert is_free(site)


@pytest.mark.django_db
def test_a_line_that_stands_still_ends_in_writing_without_it_where_the_database_is_free(site):
    held = Line(site.settings_dict["NAME"])
    assert held.enter(LONG)
    with site.patience(0.02), site.cursor() as cursor:
        cursor.execute("INSERT INTO reading VALUES (300)")
        assert cursor.execute("SELECT count(*) FROM reading").fetchone() == (1,)


@pytest.mark.django_db
def test_a_database_that_is_held_by_something_outside_the_line_is_given_up_soon(site, database):
    import sqlite3

    outside = sqlite3.connect(database, isolation_level=None)
    outside.execute("BEGIN IMMEDIATE")
    with site.patience(0.05), pytest.raises(OperationalError, match="locked"), transaction.atomic(using="line"):
        raise AssertionError("began beside another writer")
    assert is_free(site)
    outside.execute("ROLLBACK")
    outside.close()
    with transaction.atomic(using="line"):
        assert site.connection.execute("PRAGMA busy_timeout").fetchone() == (20_000,)
