"""What is repeated on PostgreSQL: every statement, by more than one test, and those that databases take differently."""

from collections import Counter

import pytest
from django.db import DatabaseError, connection

from builds.accounts.models import Person
from tests import factories
from tests.statements import Noted, odd_values, repeated


def asked(**tests):
    return {name: Counter(statements.split()) for name, statements in tests.items()}


def test_of_tests_that_ask_the_same_the_longest_are_left_out():
    tests = asked(long="a a a b b b", short="a b", shorter="a b", shortest="a b")
    assert repeated(tests, least=3) == {"short", "shorter", "shortest"}
    assert repeated(tests, least=1) == {"shortest"}


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
def test_a_statement_is_known_whatever_its_numbers_and_one_that_fails_is_another(tmp_path):
    noted, seen = Noted(tmp_path / "statements", "one"), Counter()
    with connection.execute_wrapper(noted._noting(seen)):
        list(Person.objects.filter(pk__in=[1, 2, 3]))
        list(Person.objects.filter(pk__in=[4, 5]))
    assert len(seen) == 1 and seen.total() == 2
    factories.make_builder(name="Builder 91")
    with connection.execute_wrapper(noted._noting(seen)):
        for name in ("Builder 92", "Builder 91"):
            with pytest.raises(DatabaseError) if name == "Builder 91" else connection.execute_wrapper(passes_on):
                factories.make_builder(name=name)
    assert any(key.endswith("failed") for key in seen)


def passes_on(execute, sql, params, many, context):
    return execute(sql, params, many, context)
