"""Limits on guessing: by address and by name, and nobody can shut a builder out of their own phone."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from builds.accounts import limits
from builds.accounts.client_address import build_network, find_client, is_trusted
from builds.accounts.limits import Limit
from builds.accounts.models import CallCount
from builds.accounts.names import name_key
from builds.accounts.throttling import KNOWN
from tests import factories
from tests.test_access import PATTERNS

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
    statuses = [attempt(Client(), "Builder 70", f"guess {n}", f"192.0.2.{n}") for n in range(5)]
    assert statuses == [422, 422, 422, 429, 429]


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
    statuses = [attempt(Client(), f"Builder 8{n}", "guess", "192.0.2.1") for n in range(8)]
    assert statuses == [422] * 6 + [429] * 2


def test_only_a_trusted_proxy_says_where_a_request_comes_from(settings):
    settings.TRUSTED_PROXIES = ["10.0.0.0/8"]
    assert is_trusted("10.1.2.3") and not is_trusted("192.0.2.1") and not is_trusted("nonsense")
    meta = {"REMOTE_ADDR": "10.0.0.1", "HTTP_X_FORWARDED_FOR": "1.2.3.4, 192.0.2.9, 10.0.0.2"}
    assert find_client(meta) == "192.0.2.9"  # what stands before it, the client may have written itself
    settings.TRUSTED_PROXIES = []
    assert not is_trusted("127.0.0.1")


@pytest.mark.lengthy
def test_a_stranger_cannot_choose_the_address_it_is_counted_by(client):
    for n in range(8):
        data = {"username": f"Builder 9{n}", "password": "guess"}
        answer = client.post(reverse(URL), data, REMOTE_ADDR="192.0.2.1", HTTP_X_FORWARDED_FOR=f"198.51.100.{n}")
    assert answer.status_code == 429


def test_old_counts_are_pruned():
    from django.utils import timezone

    limits.is_allowed("code", "x")
    assert limits.prune(timezone.now() + timedelta(days=1)) == 1


@pytest.mark.lengthy
def test_a_guesser_behind_the_same_address_does_not_shut_out_a_phone_that_was_seen(client, monkeypatch):
    """A club, a household or a mobile network is one address."""
    for kind in ("sign-in name", "sign-in address"):
        monkeypatch.setitem(limits.LIMITS, kind, Limit(100, timedelta(days=3650)))
    factories.make_builder(name="Builder 74")
    phone = Client()
    attempt(phone, "Builder 74", factories.PASSWORD, "192.0.2.100")
    phone.post(reverse("accounts:sign-out"))
    guesses = [attempt(Client(), "Builder 74", f"guess {n}", "192.0.2.100") for n in range(12)]
    assert guesses[-1] == 429
    assert attempt(phone, "Builder 74", factories.PASSWORD, "192.0.2.100") == 302
    assert attempt(Client(), "Builder 74", factories.PASSWORD, "192.0.2.100") == 429  # a browser not seen before waits


def test_guesses_at_many_names_from_the_same_address_do_not_shut_out_a_phone_that_was_seen():
    factories.make_builder(name="Builder 76")
    phone = Client()
    attempt(phone, "Builder 76", factories.PASSWORD, "192.0.2.100")
    phone.post(reverse("accounts:sign-out"))
    guesses = [attempt(Client(), f"Builder 8{n}", "guess", "192.0.2.100") for n in range(8)]
    assert guesses[-1] == 429
    assert attempt(phone, "Builder 76", factories.PASSWORD, "192.0.2.100") == 302
    phone.post(reverse("accounts:sign-out"))
    assert attempt(phone, "Builder 81", "guess", "192.0.2.100") == 429  # its cookie has another name


def test_no_name_can_be_typed_that_counts_as_a_browser_seen_before():
    for typed in (KNOWN, f"{KNOWN}Builder 74", KNOWN.lower(), "ＫＮＯＷＮ ＢＲＯＷＳＥＲ x"):
        assert not name_key(typed).startswith(KNOWN)


def test_a_phone_that_was_seen_guesses_no_more_than_others(client, monkeypatch):
    monkeypatch.setitem(limits.LIMITS, "sign-in address", Limit(100, timedelta(days=3650)))
    factories.make_builder(name="Builder 75")
    phone = Client()
    attempt(phone, "Builder 75", factories.PASSWORD, "192.0.2.100")
    phone.post(reverse("accounts:sign-out"))
    guesses = [attempt(phone, "Builder 75", f"guess {n}", "192.0.2.100") for n in range(12)]
    assert guesses[-1] == 429


FILES = (
    "bench:add-photo bench:add-stage-photo bench:add-check-photo bench:new-snag bench:add-recording bench:add-loopback "
    "review:add-recordings guides:add-picture"
)
IMPORTS = "guides:import guides:import-over guides:parts-import guides:text-import"
COMPUTES = "guides:circuit-again review:faults-again guides:edit-picture"
PAPERS = (
    "reports:pdf reports:stage-pdf reports:csv reports:changes-csv reports:json reports:specification-pdf "
    "reports:guide-pdf reports:guide-html reports:parts-pdf reports:bag-labels reports:build-parts "
    "reports:build-record reports:worksheet-pdf reports:packing-slip guides:export"
)
COSTLY = {"upload": FILES, "import": IMPORTS, "compute": COMPUTES, "paper": PAPERS, "archive": "reports:make-archive"}


@pytest.mark.parametrize(("kind", "name"), [(kind, name) for kind in COSTLY for name in COSTLY[kind].split()])
def test_whatever_costs_much_is_counted(kind, name):
    assert getattr(PATTERNS[name].callback, "limit", None) == kind


@pytest.mark.lengthy
def test_a_paper_is_refused_past_its_limit_with_the_time_to_wait(client, monkeypatch):
    monkeypatch.setitem(limits.LIMITS, "paper", Limit(1, timedelta(days=3650), looks=True))
    build = factories.make_build(revision=factories.make_revision(stages=1))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    paper = reverse("reports:build-record", args=[build.pk])
    answers = [client.get(paper) for _time in range(2)]
    assert [a.status_code for a in answers] == [200, 429]
    assert int(answers[1]["Retry-After"]) > 60


@pytest.mark.lengthy
def test_a_whole_ipv6_network_is_one_guesser():
    factories.make_builder(name="Builder 74")
    statuses = [attempt(Client(), f"Builder 8{n}", "guess", f"2001:db8::{n + 1:x}:1") for n in range(8)]
    assert statuses == [422] * 6 + [429] * 2
    assert attempt(Client(), "Builder 74", "guess", "2001:db8:0:1::1") == 422


@pytest.mark.parametrize(
    ("address", "counted"),
    [("192.0.2.7", "192.0.2.7"), ("::ffff:192.0.2.7", "192.0.2.7"), ("2001:db8:1:2:3::4", "2001:db8:1:2::"), ("", "")],
)
def test_an_address_is_counted_with_those_its_owner_can_choose(address, counted):
    assert build_network(address) == counted


@pytest.mark.lengthy
def test_a_phone_of_a_builder_who_was_invited_keeps_its_way_in():
    phone = Client()
    build, link = factories.make_build(), None
    from builds.accounts.models import Invitation

    invitation, token = Invitation.make(Invitation.Purpose.BUILD)
    build.builder, build.invitation = None, invitation
    build.save()
    link = reverse("accounts:invitation", args=[token])
    fields = {
        "display_name": "Builder 75", "password": factories.PASSWORD, "password_again": factories.PASSWORD,
        "mains_volts": "230", "mains_hertz": "50", "preset": "handheld", "read_cautions": "on",
    }  # fmt: skip
    assert phone.post(link, fields).status_code == 302
    phone.post(reverse("accounts:sign-out"))
    for n in range(5):
        attempt(Client(), "Builder 75", "guess", f"192.0.2.{n}")
    assert attempt(phone, "Builder 75", factories.PASSWORD, "192.0.2.100") == 302


def test_a_count_deleted_at_that_moment_refuses_nobody_and_breaks_nothing():
    def delete_after_counting(execute, sql, params, many, context):
        result = execute(sql, params, many, context)
        if sql.startswith("UPDATE") and "callcount" in sql:
            CallCount.objects.all().delete()
        return result

    assert limits.is_allowed("code", "somebody")
    with connection.execute_wrapper(delete_after_counting):
        assert limits.is_allowed("code", "somebody")
    assert not CallCount.objects.exists()
