"""Rows of another's kit or build, named in an address of one's own or in a field of one's own form: refused, nothing
written. Two casts that differ in every row, and every rightful call of the one with pieces of the other."""

from itertools import combinations

import pytest
from django.db import connection, transaction
from django.test import Client, override_settings
from django.urls import reverse

from builds.accounts.models import Device
from tests.access.book import BOOK
from tests.access.calls import ANYONE, CALLS, TOKEN, arguments
from tests.access.cast import make_cast
from tests.settings import NEVER_COMMITS, quick
from tests.test_access import CALLED, KNOWN, PATTERNS, Writes, ask, cookie_of, everybody, signed_in

pytestmark = pytest.mark.django_db
GUARDED = [name for name in CALLED if CALLS[name].whose != ANYONE]
SENT_ANEW = {"entry_key", "photo", "file", "files", "picture"}  # not the name of a row
HARMLESS = {("guides:import-over", "token"), ("guides:import-over", "version"), ("reports:packing-slip", "link")}


@pytest.fixture(scope="module")
def casts(django_db_setup, django_db_blocker, tmp_path_factory):
    """(mine, theirs), made once: every test is a savepoint in the transaction that holds them."""
    with django_db_blocker.unblock(), transaction.atomic():
        with override_settings(**quick(tmp_path_factory.mktemp("casts"))), pytest.MonkeyPatch.context() as patch:
            patch.setattr(*NEVER_COMMITS)
            mine = make_cast()
            Device.objects.update(session_key="y" * 32)  # there may be one of a kind
            theirs = make_cast()
            mine.sessions = {person.pk: cookie_of(person) for person in everybody(mine)}
        yield mine, theirs
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def book(monkeypatch):
    for view in ("builds.bench.views.extras", "builds.review.views.decide.faults"):
        monkeypatch.setattr(f"{view}.load_fault_dictionary", lambda revision: BOOK)


def address_of(name, cast) -> dict:
    known = arguments(cast, name) | {k: v(cast) if callable(v) else v for k, v in CALLS[name].at.items()}
    return {k: known[k] for k in PATTERNS[name].pattern.converters}


def fields_of(name, cast):
    data = CALLS[name].data
    return data(cast) if callable(data) else data


def call(name, mine, at, fields):
    expected, writes = CALLS[name], Writes()
    client = Client() if expected.whose == TOKEN else signed_in(mine, mine.roles[expected.role])
    token = mine.secrets[expected.role] if expected.whose == TOKEN else ""
    with connection.execute_wrapper(writes):
        answer = ask(client, reverse(name, kwargs=at), expected.method, expected.htmx, fields, token)
    return answer.status_code, writes.found


@pytest.mark.lengthy
@pytest.mark.parametrize("name", GUARDED)
def test_an_address_that_mixes_ones_own_rows_with_anothers_leads_nowhere(name, casts):
    mine, theirs = casts
    own, other = address_of(name, mine), address_of(name, theirs)
    differing = [key for key in own if own[key] != other[key]]
    for count in range(1, len(differing) + 1):
        for some in combinations(differing, count):
            status, writes = call(name, mine, own | {k: other[k] for k in some}, fields_of(name, mine))
            assert status in KNOWN and not writes, (some, status, writes[:2])


@pytest.mark.lengthy
@pytest.mark.parametrize("name", [n for n in GUARDED if callable(CALLS[n].data)])
def test_a_field_that_names_anothers_row_is_refused(name, casts):
    mine, theirs = casts
    own, other = fields_of(name, mine), fields_of(name, theirs)
    for key in set(own) - SENT_ANEW:
        if own[key] == other[key] or (name, key) in HARMLESS:
            continue
        status, writes = call(name, mine, address_of(name, mine), fields_of(name, mine) | {key: other[key]})
        assert status in KNOWN | {409, 422} and not writes, (key, status, writes[:2])


def test_the_two_casts_differ_in_what_addresses_and_fields_name(casts):
    mine, theirs = casts
    names = [name for name in GUARDED if address_of(name, mine) != address_of(name, theirs)]
    assert len(names) > 150
    for name in ("review:merge", "bench:settings", "review:halt"):
        assert fields_of(name, mine) != fields_of(name, theirs)
