"""What is seen from outside, by whom, and that the logs hold no secret."""

import json
import logging

import pytest
from django.urls import reverse

from builds.accounts.models import Invitation
from builds.operations import health
from builds.operations.logs import JsonLines
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.lengthy
def test_a_site_that_cannot_serve_says_so(client, monkeypatch):
    assert client.get("/readyz").json() == {"ready": True, "troubles": []}
    monkeypatch.setattr(health, "LEAST_FREE", 2**80)
    answer = client.get("/readyz")
    assert answer.status_code == 503 and answer.json()["troubles"] == ["storage-full"]
    assert client.get("/healthz").status_code == 200
    heads = client.head("/healthz"), client.head("/readyz")  # many a watcher asks for the head alone
    assert [head.status_code for head in heads] == [200, 503] and not heads[0].content


def test_a_database_that_is_gone_is_told_by_ready_and_not_by_alive(client, monkeypatch, django_assert_num_queries):
    def gone(*_args, **_more):
        raise OSError("gone")

    monkeypatch.setattr(health.connection, "cursor", gone)
    assert "database" in client.get("/readyz").json()["troubles"]
    with django_assert_num_queries(0):
        assert client.get("/healthz").status_code == 200


def test_figures_are_for_this_machine_or_for_who_knows_the_token(client, settings):
    assert client.get("/metrics").content.endswith(b"# EOF\n")
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1").status_code == 404
    settings.METRICS_TOKEN = "a token"
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1", headers={"Authorization": "Bearer x"}).status_code == 404
    asked = {"Authorization": "Bearer a token"}
    assert client.get("/metrics", REMOTE_ADDR="192.0.2.1", headers=asked).status_code == 200


def test_every_figure_has_its_type_and_no_name_of_a_person(client):
    """OpenMetrics 1.0.0: a TYPE line before the samples of a family, and one EOF at the end."""
    person = factories.make_builder(name="Builder 90")
    text, typed = client.get("/metrics").content.decode(), set()
    for line in text.splitlines()[:-1]:
        if line.startswith("# TYPE "):
            typed.add(line.split()[2])
        elif not line.startswith("#"):
            assert line.split("{")[0].split()[0] in typed
            float(line.rsplit(" ", 1)[1])
    assert person.display_name not in text and len(typed) > 8


def test_the_status_is_for_who_runs_the_site(client):
    person = factories.make_designer()
    client.force_login(person)
    assert client.get(reverse("operations:status")).status_code == 404
    type(person).objects.filter(pk=person.pk).update(runs_site=True)
    assert client.get(reverse("operations:status")).status_code == 200


def test_a_request_has_a_number_the_proxys_where_it_is_plain(client):
    assert client.get("/healthz", headers={"X-Request-ID": "abc-12345"})["X-Request-ID"] == "abc-12345"
    odd = client.get("/healthz", headers={"X-Request-ID": 'x"\n{}'})["X-Request-ID"]
    assert len(odd) == 32


def test_the_log_names_the_view_and_never_the_secret_of_a_link(client, caplog):
    token = Invitation.make(Invitation.Purpose.PASSWORD, person=factories.make_builder())[1]
    with caplog.at_level(logging.INFO, "builds.access"):
        client.get(reverse("accounts:invitation", args=[token]))
    line = json.loads(JsonLines().format(caplog.records[-1]))
    assert (line["view"], line["status"], line["level"]) == ("accounts:invitation", 200, "info")
    assert token not in json.dumps(line)


def test_a_wrong_password_is_an_event_without_the_password(client, caplog):
    with caplog.at_level(logging.INFO, "builds.security"):
        client.post(reverse("accounts:sign-in"), {"username": "Builder 91", "password": "hunter22"})
    lines = [JsonLines().format(record) for record in caplog.records if record.name == "builds.security"]
    assert lines and "hunter22" not in "".join(lines)


@pytest.mark.parametrize("length", ["300000000", "9" * 400, "x", "²"])
def test_an_anonymous_post_is_refused_by_its_length_before_it_is_read(client, length):
    answer = client.post(reverse("accounts:sign-in"), {"username": "x"}, CONTENT_LENGTH=length)
    assert answer.status_code == 413


def test_a_form_without_files_has_its_limit_too(client):
    client.force_login(factories.make_builder())
    url = reverse("accounts:preferences")
    kind = "application/x-www-form-urlencoded"
    assert client.post(url, "a=1", content_type=kind, CONTENT_LENGTH="7000000").status_code == 413


@pytest.mark.parametrize("headers", [{"Host": "elsewhere.example"}, {"Host": "[::1"}])
def test_no_stranger_has_a_letter_sent_by_an_error(client, headers, settings, mailoutbox):
    """Each would take a thread for as long as the mail server takes."""
    settings.ADMINS = [("Owner", "owner@kits.example")]
    assert client.get("/sign-in/", headers=headers).status_code == 400 and not mailoutbox


def test_a_site_that_is_not_ready_writes_no_letter_each_time_it_is_asked(client, settings, monkeypatch, mailoutbox):
    settings.ADMINS = [("Owner", "owner@kits.example")]
    monkeypatch.setattr(health, "LEAST_FREE", 2**80)
    assert client.get("/readyz").status_code == 503 and not mailoutbox
