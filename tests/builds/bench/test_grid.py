"""Readings in a table: each row judged as its own page would, with the same gates, locks and stops."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Reading
from builds.guides.models import Step
from tests import factories

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}


@pytest.fixture
def bench(client):
    """A build with two stages (the second powered) and whoever builds it, signed in."""
    revision = factories.make_revision(stages=2, checks=3, steps=1, gate=False)
    build = factories.make_build(revision=revision)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return build


def post(client, build, check, typed, key="stage-1", **more):
    where = reverse("bench:grid-reading", args=[build.pk, key, check])
    return client.post(where, {"typed": typed, "entry_key": str(uuid4()), **more}, headers=HTMX)


def page(client, build, key="stage-1"):
    return client.get(reverse("bench:grid", args=[build.pk, key]))


def test_every_check_of_the_stage_is_a_row_and_no_id_stands_twice(client, bench):
    import re

    answer = page(client, bench)
    assert [row.check.key for row in answer.context["rows"]] == ["check-1-1", "check-1-2", "check-1-3"]
    ids = re.findall(r'\bid="([^"]+)"', answer.content.decode())
    assert len(ids) == len(set(ids))


def test_a_row_gets_the_verdict_its_own_page_would_give(client, bench):
    for typed, outcome in (("300 V", "in band"), ("345 V", "out of band")):
        assert post(client, bench, "check-1-1", typed).status_code == 200
        by_row = Reading.objects.latest("pk")
        url = reverse("bench:reading", args=[bench.pk, "stage-1", "check-1-2"])
        client.post(url, {"typed": typed, "entry_key": str(uuid4())}, headers=HTMX)
        by_page = Reading.objects.latest("pk")
        same = ("outcome", "reason", "low", "high", "u", "probability")
        assert [getattr(by_row, n) for n in same] == [getattr(by_page, n) for n in same]
        assert by_row.outcome == outcome


def test_a_stop_ends_the_entry_at_once(client, bench):
    answer = post(client, bench, "check-1-1", "470 V")
    assert answer["HX-Redirect"] == reverse("bench:stop", args=[bench.pk])
    refused = post(client, bench, "check-1-2", "300 V")
    assert refused["HX-Redirect"] == reverse("bench:stop", args=[bench.pk])
    assert Reading.objects.count() == 1
    assert page(client, bench)["Location"] == reverse("bench:stop", args=[bench.pk])


def test_a_double_tap_adds_one_reading(client, bench):
    key = str(uuid4())
    for _tap in range(2):
        assert post(client, bench, "check-1-1", "300 V", entry_key=key).status_code == 200
    assert Reading.objects.count() == 1


def test_what_cannot_be_read_comes_back_in_its_row(client, bench):
    answer = post(client, bench, "check-1-1", "3oo")
    assert answer.status_code == 422 and not Reading.objects.exists()
    assert answer.context["row"].form["typed"].value() == "3oo"


def test_a_powered_stage_asks_its_cautions_first(client, bench):
    assert page(client, bench, "stage-2")["Location"] == reverse("bench:cautions", args=[bench.pk, "stage-2"])
    refused = post(client, bench, "check-2-1", "300 V", key="stage-2")
    assert refused["HX-Redirect"] == reverse("bench:cautions", args=[bench.pk, "stage-2"])
    assert not Reading.objects.exists()


def test_a_shut_stage_has_no_rows(client):
    build = factories.make_build(revision=factories.make_revision(stages=2, checks=1, steps=1, gate=True))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    assert page(client, build, "stage-2").status_code == 409
    assert post(client, build, "check-2-1", "300 V", key="stage-2").status_code == 409
    assert not Reading.objects.exists()


@pytest.mark.lengthy
def test_a_step_that_puts_hands_in_comes_first(client):
    revision = factories.make_revision(stages=2, checks=1, steps=1, gate=False, issued=False)
    Step.objects.filter(key="step-2-1").update(hands_in=True)
    build = factories.make_build(revision=revision)
    acknowledge(open_sitting(build), revision.stages.get(key="stage-2"), 230.0, by=build.builder)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    row = page(client, build, "stage-2").context["rows"][0]
    assert row.lock and row.form is None
    answer = post(client, build, "check-2-1", "300 V", key="stage-2")
    assert answer.status_code == 422 and "300 V" in answer.content.decode() and not Reading.objects.exists()


def test_an_overload_takes_the_row_to_its_own_page(client, bench, monkeypatch):
    """What says that the power is to be off is not left behind in a list."""
    from types import SimpleNamespace

    monkeypatch.setattr("builds.bench.views.grid.advise_on", lambda *_: SimpleNamespace(power_off=True))
    answer = post(client, bench, "check-1-1", "345 V")
    assert answer["HX-Redirect"] == reverse("bench:check", args=[bench.pk, "stage-1", "check-1-1"])
