"""One reading, one pass: a post judges once, works out its band once, and asks once when it was made."""

import pytest
from django.test import RequestFactory
from django.utils import timezone

from builds.bench.offline.arrival import LATE, MOST, find_arrival
from tests.speed.calls import count_post

MOST_CALLS = 200  # of our own functions in one post by htmx on the tiny guide; some first calls fill a cache


@pytest.mark.django_db
@pytest.mark.parametrize("htmx", [True, False])
def test_a_post_judges_once_and_works_its_band_out_once(htmx):
    counted = count_post(htmx=htmx)
    for once in (
        ("checks/verdict.py", "judge_at_line"),
        ("checks/meter.py", "measure"),
        ("builds/guides/figures.py", "band_for"),
        ("builds/bench/readings/context.py", "build_context"),
        ("builds/bench/gates/facts.py", "load_facts"),
        ("builds/bench/offline/arrival.py", "_arrival"),
    ):
        assert counted.calls[once] == 1, once
    assert counted.total <= MOST_CALLS


def sent(**headers):
    return RequestFactory().post("/", headers=headers)


def test_a_request_reads_the_clock_once():
    request = sent(**{"Entry-Age": "3600"})
    assert find_arrival(request) is find_arrival(request) and find_arrival(request).is_late


@pytest.mark.parametrize("age", ["-5", "nan", "soon", ""])
def test_no_age_dates_an_entry_in_the_future(age):
    arrival = find_arrival(sent(**{"Entry-Age": age}))
    assert arrival.at <= timezone.now() and not arrival.is_late


def test_an_entry_is_no_older_than_the_most():
    arrival = find_arrival(sent(**{"Entry-Age": "1e300"}))
    assert arrival.is_late and timezone.now() - arrival.at < MOST + LATE


@pytest.mark.parametrize("floor", ["", "0", "later", "nan"])
def test_a_floor_that_is_no_moment_holds_nothing(floor):
    arrival = find_arrival(sent(**{"Entry-Age": "3600", "Entry-Floor": floor}))
    assert arrival.at < timezone.now() - LATE


def test_entries_of_one_phone_keep_their_order():
    """Sent after one that was made ten seconds ago, a slower one is dated after it."""
    floor = timezone.now().timestamp() * 1000 - 10_000
    arrival = find_arrival(sent(**{"Entry-Age": "60", "Entry-Floor": str(floor)}))
    assert arrival.at.timestamp() * 1000 == pytest.approx(floor + 1, abs=1)


def test_a_malformed_entry_key_is_ignored():
    assert find_arrival(sent(**{"Entry-Key": "not-a-key"})).key is None
