"""What is repeated on PostgreSQL: every statement, by more than one test, and those that databases take differently."""

import threading
from collections import Counter

import pytest
from django.db import DatabaseError, connection, transaction

from builds.accounts.models import Person
from tests import factories, statements
from tests.conftest import is_sqlite
from tests.statements import Noted, odd_values, repeated


def asked(**tests):
    return {name: Counter(statements.split()) for name, statements in tests.items()}


def test_of_tests_that_ask_the_same_the_longest_are_left_out():
    tests = asked(long="a a a b b b", short="a b", shorter="a b", shortest="a b")
    assert repeated(tests, least=3) == {"short", "shorter", "shortest"}
    assert repeated(tests, least=1) == {"shortest"}


def test_of_tests_that_ask_the_same_the_dear_are_left_out_before_the_long():
    tests = asked(browser="a b", long="a a a b", rare="a rare")
    assert repeated(tests, {"browser", "rare"}, least=2) == {"long", "rare", "browser"}
    assert repeated(tests, {"browser", "rare"}, least=1) == {"long", "rare"}


def test_what_only_few_tests_ask_is_always_repeated():
    tests = asked(alone="a a a a rare", other="a", another="a b", third="a b")
    assert repeated(tests, least=1) == {"alone", "third"}
    assert repeated(tests, least=3) == {"alone", "another", "third"}


@pytest.mark.parametrize(
    ("value", "odd"),
    [("a\0b", " nul"), ("x" * 300, " long"), ("\ud800", " half"), (2**31, " large"), (float("nan"), " endless")],
)
def test_values_that_databases_take_differently_make_another_statement(value, odd):
    assert odd_values([1, "plain", 2.5, None, value]) == odd
    assert odd_values([1, "plain", 2.5, None, True]) == ""


@pytest.mark.django_db
def test_a_statement_is_known_whatever_its_numbers_and_one_that_fails_is_another(tmp_path, monkeypatch):
    monkeypatch.setattr(statements, "by_the_site", lambda: True)
    noted, seen = noting(tmp_path)
    with connection.execute_wrapper(noted.note):
        list(Person.objects.filter(pk__in=[1, 2, 3]))
        list(Person.objects.filter(pk__in=[4, 5]))
    assert len(seen) == 1 and seen.total() == 2
    factories.make_builder(name="Builder 91")
    with connection.execute_wrapper(noted.note):
        for name in ("Builder 92", "Builder 91"):
            with pytest.raises(DatabaseError) if name == "Builder 91" else connection.execute_wrapper(passes_on):
                factories.make_builder(name=name)
    assert any(key.endswith("failed") for key in seen)


@pytest.mark.django_db
def test_a_statement_of_many_rows_is_known_however_many_and_one_of_other_columns_is_another(tmp_path, monkeypatch):
    monkeypatch.setattr(statements, "by_the_site", lambda: True)
    noted, seen = noting(tmp_path)
    for count in (2, 3, 5):  # one row alone is written otherwise on some databases
        people = [Person(display_name=f"{count}, {n}", name_key=f"{count}, {n}") for n in range(count)]
        with connection.execute_wrapper(noted.note):
            Person.objects.bulk_create(people)
            Person.objects.bulk_update(people, ["display_name", "language"])
    columns = [key for key, times in seen.items() if times == 3]
    assert len(columns) == 2 and len(seen) <= 3  # beside them only what begins a transaction, on some databases
    with connection.execute_wrapper(noted.note):
        Person.objects.bulk_update(people, ["display_name"])
    assert len(seen) > len(columns) and sum(seen[key] for key in columns) == 6


@pytest.mark.django_db
def test_what_the_server_of_a_browser_test_asks_in_its_own_thread_is_noted(tmp_path, monkeypatch):
    monkeypatch.setattr(statements, "by_the_site", lambda: True)
    noted, seen = noting(tmp_path)
    thread = threading.Thread(target=ask_and_close)
    thread.start()
    thread.join()
    assert seen.total() == 1
    noted.is_served = False  # the next test has no server: what is still asked for is not its own
    thread = threading.Thread(target=ask_and_close)
    thread.start()
    thread.join()
    assert seen.total() == 1


@pytest.mark.django_db
def test_what_a_test_asks_by_itself_is_not_noted_unless_it_is_refused(tmp_path, client):
    noted, seen = noting(tmp_path)
    client.force_login(factories.make_builder(name="Builder 93"))
    with connection.execute_wrapper(noted.note):
        list(Person.objects.all())
        assert not seen
        with pytest.raises(DatabaseError), transaction.atomic():
            factories.make_builder(name="Builder 93")
        assert [key for key in seen if not key.endswith("failed")] == [] and seen
        client.get("/builds/")
    assert any(not key.endswith("failed") for key in seen)


def ask_and_close():
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    connection.close()


def noting(tmp_path):
    noted = Noted(tmp_path / "statements", "one")
    noted.asked, noted.is_served = Counter(), True
    return noted, noted.asked


def passes_on(execute, sql, params, many, context):
    return execute(sql, params, many, context)


def test_the_engine_of_the_site_is_known():
    """Else nothing would be noted on SQLite, and PostgreSQL would repeat every test."""
    assert is_sqlite() == (connection.vendor == "sqlite")
