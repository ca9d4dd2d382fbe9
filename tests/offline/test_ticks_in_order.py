"""Ticks of one phone that follow each other within a millisecond, which is as fine as a phone knows the site's time."""

from datetime import UTC, datetime, timedelta
from itertools import product
from unittest.mock import patch
from uuid import uuid4

import pytest
from django.test import RequestFactory
from django.urls import reverse

from builds.bench.models import Tick
from builds.bench.offline.arrival import find_arrival
from tests.offline.bench import make_bench

NOON = datetime.now(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
MICROS = (100, 900)  # a moment early and one late in its millisecond


class Finger:
    """Sends its wishes one after the other and notes the site's time of each, as a phone does."""

    def __init__(self, client, build):
        self.client, self.floor = client, 0
        self.address = reverse("bench:tick", args=[build.pk, "stage-1", "step-1-1"])

    def wish(self, done, now, age=0.0):
        key = str(uuid4())
        headers = {"Entry-Key": key, "Entry-Age": str(age), "Entry-Floor": str(self.floor)}
        headers |= {"Outbox": "yes", "HX-Request": "true"}
        with patch("django.utils.timezone.now", return_value=now):
            answer = self.client.post(self.address, {"done": done, "entry_key": key}, headers=headers)
        assert answer["Entry-Kept"] == key
        self.floor = int(answer["Entry-At"])


@pytest.mark.lengthy
@pytest.mark.django_db
@pytest.mark.parametrize("wishes", [("yes", "no"), ("yes", "no", "yes"), ("yes", "no", "yes", "no")])
@pytest.mark.parametrize("apart", [0, 1, 2])  # ms that the phone's clock says lie between two
def test_a_tick_taken_back_within_a_millisecond_is_taken_back(client, wishes, apart):
    build = make_bench()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    for late in product(MICROS, repeat=len(wishes)):
        Tick.objects.all().delete()
        finger = Finger(client, build)
        for n, (done, micros) in enumerate(zip(wishes, late, strict=True)):
            made = NOON + timedelta(milliseconds=n * apart, microseconds=micros)
            arrives = NOON + timedelta(seconds=n + 1)
            finger.wish(done, arrives, age=(arrives - made).total_seconds())
        assert Tick.objects.exists() is (wishes[-1] == "yes"), (wishes, late)


@pytest.mark.parametrize("micros", [0, 1, 499, 999])
def test_no_entry_is_dated_before_one_sent_before_it(micros):
    """`Entry-At` says the millisecond only: whatever the last entry had beyond it, the next comes after it."""
    last = NOON + timedelta(microseconds=micros)
    floor = int(last.timestamp() * 1000)
    for made in (NOON - timedelta(hours=1), NOON, NOON + timedelta(microseconds=1), last):
        now = NOON + timedelta(seconds=1)
        headers = {"Entry-Age": str((now - made).total_seconds()), "Entry-Floor": str(floor)}
        with patch("django.utils.timezone.now", return_value=now):
            assert find_arrival(RequestFactory().post("/", headers=headers)).at > last
