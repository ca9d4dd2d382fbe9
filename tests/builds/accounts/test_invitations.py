"""Invitations, sign-in and passwords."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from builds.accounts.models import Invitation, Person
from tests import factories

pytestmark = pytest.mark.django_db
DATA = {
    "display_name": "Bench Thirty-one",
    "email": "",
    "password": factories.PASSWORD,
    "password_again": factories.PASSWORD,
    "mains_volts": "240",
    "mains_hertz": "50",
    "preset": "handheld",
    "read_cautions": "on",
}


@pytest.fixture
def invited():
    made, token = Invitation.make(Invitation.Purpose.BUILD)
    build = factories.make_build(revision=factories.make_revision(), builder=None)
    build.builder, build.invitation = None, made
    build.save()
    return build, reverse("accounts:invitation", args=[token]), made


def test_an_invitation_makes_a_builder_with_meter_and_mains(client, invited):
    build, link, _made = invited
    assert client.post(link, DATA)["Location"] == reverse("bench:build", args=[build.pk])
    build.refresh_from_db()
    assert (build.builder.display_name, build.mains_volts, build.meter.spec["input_ohms"]) == (
        "Bench Thirty-one",
        240,
        10e6,
    )


def test_an_invitation_works_once(client, invited):
    _build, link, _made = invited
    client.get(link)  # a mail scanner looks first
    client.post(link, DATA)
    client.logout()
    people = Person.objects.count()
    for answer in (client.get(link), client.post(link, DATA | {"display_name": "Bench Thirty-two"})):
        assert answer.status_code == 302 and answer["Location"].startswith(reverse("accounts:sign-in"))
    assert Person.objects.count() == people


@pytest.mark.parametrize(
    "change", [{"expires_at": timezone.now() - timedelta(seconds=1)}, {"revoked_at": timezone.now()}]
)
def test_an_invitation_expires_and_can_be_revoked(client, invited, change):
    _build, link, made = invited
    Invitation.objects.filter(pk=made.pk).update(**change)
    assert client.get(link).status_code == 404


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"read_cautions": ""}, "Read the cautions"),
        ({"password_again": "x"}, "differ"),
        ({"password": "12345678", "password_again": "12345678"}, "common"),
        ({"mains_volts": "5"}, "5 is not one of the available choices"),
        ({"preset": "own"}, "accuracy in per cent"),
        ({"display_name": ""}, "required"),
    ],
)
def test_a_mistake_keeps_the_form(client, invited, change, said):
    _build, link, _made = invited
    answer = client.post(link, DATA | change)
    assert answer.status_code == 422 and said in answer.content.decode()
    assert not Person.objects.filter(display_name="Bench Thirty-one").exists()


def test_a_name_is_taken_whatever_its_case(client, invited):
    factories.make_builder(name="bench thirty-one")
    assert "already in use" in client.post(invited[1], DATA).content.decode()


def test_a_meter_by_its_own_figures(client, invited):
    build, link, _made = invited
    own = {
        "preset": "own",
        "kind": "analogue",
        "ohms_per_volt": "20k",
        "ranges": "10, 50, 250",
        "dc_percent": "3",
        "ac_percent": "4",
        "ohms_percent": "5",
    }
    client.post(link, DATA | own)
    build.refresh_from_db()
    assert build.meter.as_spec().ohms_per_volt == 20e3 and build.meter.as_spec().dc_volts.full_scale


@pytest.mark.parametrize(
    ("figures", "field", "said"),
    [
        ({"input_resistance": "OL"}, "input_resistance", "above zero"),
        ({"input_resistance": "0"}, "input_resistance", "above zero"),
        ({"ohms_per_volt": "-20k", "ranges": "10"}, "ohms_per_volt", "above zero"),
        ({"ohms_per_volt": "20k", "ranges": "10, OL"}, "ranges", "above zero"),
        ({"ohms_per_volt": "20k", "ranges": "10, many"}, "ranges", "cannot be read"),
        ({"ohms_per_volt": "20k"}, "ranges", "needs its voltage"),
        ({"input_resistance": "10 V"}, "input_resistance", "is in V"),
        ({}, "input_resistance", "either the meter"),
        ({"input_resistance": "10M", "ohms_per_volt": "20k", "ranges": "10"}, "input_resistance", "either the meter"),
    ],
)
def test_a_meters_figures_that_cannot_be_are_told_at_their_own_field(client, invited, figures, field, said):
    own = {"preset": "own", "kind": "digital", "dc_percent": "0.5", "ac_percent": "1", "ohms_percent": "1"}
    answer = client.post(invited[1], DATA | own | figures)
    assert answer.status_code == 422
    assert list(answer.context["forms"]["meter"].errors) == [field]
    assert said in answer.context["forms"]["meter"].errors[field][0]
    assert all(f'value="{value}"' in answer.content.decode() for value in figures.values())


def test_a_double_tap_on_an_invitation_leads_to_the_build(client, invited):
    build, link, _made = invited
    client.post(link, DATA)
    assert client.post(link, DATA)["Location"] == reverse("bench:build", args=[build.pk])
    assert Person.objects.filter(display_name="Bench Thirty-one").count() == 1
    client.force_login(factories.make_builder(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(link).status_code == 404


def test_two_people_who_choose_one_name_at_once_get_the_form_again(client, invited, monkeypatch):
    factories.make_builder(name="Bench Thirty-one")
    monkeypatch.setattr(
        "builds.accounts.forms.NewPersonForm.clean_display_name", lambda form: form.cleaned_data["display_name"]
    )
    answer = client.post(invited[1], DATA)
    assert answer.status_code == 422 and "already in use" in answer.content.decode()
    assert Invitation.objects.usable().filter(pk=invited[2].pk).exists()


def test_only_a_hash_of_the_token_is_kept(invited):
    _build, link, made = invited
    assert link.rstrip("/").rpartition("/")[2] not in made.token_hash


def test_signing_in_is_by_name_whatever_its_case(client):
    factories.make_builder(name="Builder 40")
    answer = client.post(reverse("accounts:sign-in"), {"username": "builder 40", "password": factories.PASSWORD})
    assert answer.status_code == 302


def test_too_many_tries_close_the_door_for_that_name(client):
    factories.make_builder(name="Builder 41")
    for _ in range(8):
        answer = client.post(reverse("accounts:sign-in"), {"username": "Builder 41", "password": "wrong"})
    assert answer.status_code == 429
    assert (
        client.post(reverse("accounts:sign-in"), {"username": "Builder 41", "password": factories.PASSWORD}).status_code
        == 429
    )


@pytest.mark.lengthy
def test_another_spelling_of_the_name_gives_no_more_tries(client):
    factories.make_builder(name="Builder 43")
    for typed in (
        "Builder 43",
        "BUILDER 43",
        "builder 43",
        "bUILDER 43",
        " Builder 43",
        "Ｂuilder 43",
        "BuIlDeR 43",
        "builder 43 ",
    ):
        answer = client.post(reverse("accounts:sign-in"), {"username": typed, "password": "wrong"})
    assert answer.status_code == 429
    assert (
        client.post(reverse("accounts:sign-in"), {"username": "buildeR 43", "password": factories.PASSWORD}).status_code
        == 429
    )
    factories.make_builder(name="Builder 44")
    assert (
        client.post(reverse("accounts:sign-in"), {"username": "Builder 44", "password": factories.PASSWORD}).status_code
        == 302
    )


def test_a_new_password_makes_the_other_links_for_one_useless(client):
    person = factories.make_builder(name="Builder 45")
    links = [
        reverse("accounts:invitation", args=[Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]])
        for _ in range(2)
    ]
    client.post(links[0], {"password": "quite another 77", "password_again": "quite another 77"})
    assert client.get(links[1]).status_code == 404


def test_a_mail_server_that_is_down_tells_nobody_who_is_here(client, settings):
    person = factories.make_builder(name="Builder 46")
    factories.give_address(person, "b46@example.org")
    settings.EMAIL_BACKEND, settings.EMAIL_HOST, settings.EMAIL_PORT = (
        "django.core.mail.backends.smtp.EmailBackend",
        "127.0.0.1",
        1,
    )
    answer = client.post(reverse("accounts:forgotten"), {"email": "b46@example.org"})
    assert answer["Location"] == reverse("accounts:forgotten-sent")


def test_a_forgotten_password_is_set_by_a_mailed_link(client):
    person = factories.make_builder(name="Builder 42")
    factories.give_address(person, "b42@example.org")
    client.post(reverse("accounts:forgotten"), {"email": "B42@example.org"})
    link = re.search(r"http://127.0.0.1:8000(\S+)", mail.outbox[0].body)[1]
    client.post(link, {"password": "quite another 77", "password_again": "quite another 77"})
    person.refresh_from_db()
    assert person.check_password("quite another 77")
    assert client.get(link).status_code == 404


def test_forgotten_passwords_do_not_reveal_addresses(client):
    answer = client.post(reverse("accounts:forgotten"), {"email": "nobody@example.org"})
    assert answer["Location"] == reverse("accounts:forgotten-sent") and not mail.outbox


def test_the_page_does_the_same_work_for_an_address_that_is_known_and_one_that_is_not(client, settings):
    """What is done takes the time: the same statements, none of which asks who has the address. A worker looks it up,
    and writes, behind the answer. (A clock would tell less, and fail on a busy machine.)"""
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default", "mail"]}}
    factories.give_address(factories.make_builder(), "known@kits.example")
    client.post(reverse("accounts:forgotten"), {"email": "first@kits.example"})  # begins the count of this address
    asked, pages = [], []
    for address in ("known@kits.example", "other@kits.example"):
        with CaptureQueriesContext(connection) as queries:
            pages.append(client.post(reverse("accounts:forgotten"), {"email": address}))
        asked.append([re.sub(r"'[^']*'|\d+", "?", query["sql"]) for query in queries])
    assert asked[0] == asked[1] and len(asked[0]) > 2
    assert not [sql for sql in asked[0] if "accounts_person" in sql or "accounts_invitation" in sql]
    assert {(page.status_code, page["Location"]) for page in pages} == {(302, reverse("accounts:forgotten-sent"))}
    assert not mail.outbox


def test_a_link_used_on_another_phone_leads_to_sign_in(client, db):
    """The builder took the build on with one phone and opens the link on the next: a way in, not a dead end."""
    build = factories.make_build()
    invitation, token = Invitation.make(Invitation.Purpose.BUILD)
    build.invitation = invitation
    build.save()
    invitation.use()
    answer = client.get(reverse("accounts:invitation", args=[token]))
    assert answer.status_code == 302 and answer["Location"].startswith(reverse("accounts:sign-in"))
    assert client.get(answer["Location"]).context["next"] == reverse("bench:builds")
    assert client.get(reverse("accounts:invitation", args=["x" * 32])).status_code == 404  # an invented link is none
