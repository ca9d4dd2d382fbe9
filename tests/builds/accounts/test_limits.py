"""Limits on guessing: by address and by name, and nobody can shut a builder out of their own phone."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from builds.accounts import limits
from builds.accounts.client_address import client_of, is_trusted
from builds.accounts.limits import Limit
from tests import factories

pytestmark = pytest.mark.django_db
URL = "accounts:sign-in"


@pytest.fixture(autouse=True)
def small(monkeypatch):
    for kind, most in (("sign-in name", 3), ("sign-in address", 6)):
        monkeypatch.setitem(limits.LIMITS, kind, Limit(most, timedelta(days=3650)))


def attempt(client, name, password, address):
    return client.post(reverse(URL), {"username": name, "password": password}, REMOTE_ADDR=address).status_code


def test_guessing_at_one_name_from_many_addresses_ends(client):
    factories.make_builder(name="Builder 70")
    found = [attempt(Client(), "Builder 70", f"guess {n}", f"192.0.2.{n}") for n in range(5)]
    assert found == [200, 200, 200, 429, 429]


def test_a_phone_that_signed_in_before_keeps_its_way_in(client):
    factories.make_builder(name="Builder 71")
    phone = Client()
    attempt(phone, "Builder 71", factories.PASSWORD, "192.0.2.100")
    phone.post(reverse("accounts:sign-out"))
    for n in range(5):
        attempt(Client(), "Builder 71", "guess", f"192.0.2.{n}")
    assert attempt(Client(), "Builder 71", factories.PASSWORD, "192.0.2.50") == 429
    assert attempt(phone, "Builder 71", factories.PASSWORD, "192.0.2.100") == 302


def test_the_cookie_of_one_name_opens_no_way_to_another(client):
    factories.make_builder(name="Builder 72")
    factories.make_builder(name="Builder 73")
    phone = Client()
    attempt(phone, "Builder 72", factories.PASSWORD, "192.0.2.100")
    phone.post(reverse("accounts:sign-out"))
    for n in range(4):
        attempt(Client(), "Builder 73", "guess", f"192.0.2.{n}")
    assert attempt(phone, "Builder 73", "guess", "192.0.2.101") == 429


def test_guessing_at_many_names_from_one_address_ends(client):
    found = [attempt(Client(), f"Builder 8{n}", "guess", "192.0.2.1") for n in range(8)]
    assert found == [200] * 6 + [429] * 2


def test_only_a_trusted_proxy_says_where_a_request_comes_from(settings):
    settings.TRUSTED_PROXIES = ["10.0.0.0/8"]
    assert is_trusted("10.1.2.3") and not is_trusted("192.0.2.1") and not is_trusted("nonsense")
    meta = {"REMOTE_ADDR": "10.0.0.1", "HTTP_X_FORWARDED_FOR": "1.2.3.4, 192.0.2.9, 10.0.0.2"}
    assert client_of(meta) == "192.0.2.9"  # what stands before it, the client may have written itself
    settings.TRUSTED_PROXIES = []
    assert not is_trusted("127.0.0.1")


def test_a_stranger_cannot_choose_the_address_it_is_counted_by(client):
    for n in range(8):
        data = {"username": f"Builder 9{n}", "password": "guess"}
        answer = client.post(reverse(URL), data, REMOTE_ADDR="192.0.2.1", HTTP_X_FORWARDED_FOR=f"198.51.100.{n}")
    assert answer.status_code == 429


def test_old_counts_are_pruned():
    from django.utils import timezone

    limits.is_allowed("code", "x")
    assert limits.prune(timezone.now() + timedelta(days=1)) == 1
