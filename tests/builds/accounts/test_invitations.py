"""Invitations, sign-in and passwords."""
import re
from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from builds.accounts.models import Invitation, Person
from tests import factories

pytestmark = pytest.mark.django_db
DATA = {"display_name": "Bench Thirty-one", "email": "", "password": factories.PASSWORD, "password_again": factories.PASSWORD,
        "mains_volts": "240", "mains_hertz": "50", "preset": "handheld", "read_cautions": "on"}


@pytest.fixture
def invited():
    made, token = Invitation.make(Invitation.Purpose.BUILD)
    build = factories.make_build(revision=factories.make_revision(), builder=None)
    build.invitation = made
    build.save()
    return build, reverse("accounts:invitation", args=[token]), made


def test_an_invitation_makes_a_builder_with_meter_and_mains(client, invited):
    build, link, _made = invited
    assert client.post(link, DATA)["Location"] == reverse("bench:build", args=[build.pk])
    build.refresh_from_db()
    assert (build.builder.display_name, build.mains_volts, build.meter.spec["input_ohms"]) == ("Bench Thirty-one", 240, 10e6)


def test_it_works_once(client, invited):
    _build, link, _made = invited
    client.get(link)  # a mail scanner looks first
    client.post(link, DATA)
    client.logout()
    assert client.get(link).status_code == 404
    assert client.post(link, DATA | {"display_name": "Bench Thirty-two"}).status_code == 404


@pytest.mark.parametrize("change", [{"expires_at": timezone.now() - timedelta(seconds=1)}, {"revoked_at": timezone.now()}])
def test_it_runs_out_and_can_be_taken_back(client, invited, change):
    _build, link, made = invited
    Invitation.objects.filter(pk=made.pk).update(**change)
    assert client.get(link).status_code == 404


@pytest.mark.parametrize(("change", "said"), [({"read_cautions": ""}, "Read the cautions"), ({"password_again": "x"}, "differ"),
                                              ({"password": "12345678", "password_again": "12345678"}, "common"),
                                              ({"mains_volts": "5"}, "5 is not one of the available choices"),
                                              ({"preset": "own"}, "figure in per cent"), ({"display_name": ""}, "required")])
def test_a_mistake_keeps_the_form(client, invited, change, said):
    _build, link, _made = invited
    answer = client.post(link, DATA | change)
    assert answer.status_code == 422 and said in answer.content.decode()
    assert not Person.objects.filter(display_name="Bench Thirty-one").exists()


def test_a_name_is_taken_whatever_its_case(client, invited):
    factories.make_builder(name="bench thirty-one")
    assert "already has that name" in client.post(invited[1], DATA).content.decode()


def test_a_meter_by_its_own_figures(client, invited):
    build, link, _made = invited
    own = {"preset": "own", "kind": "analogue", "ohms_per_volt": "20k", "ranges": "10, 50, 250", "dc_percent": "3", "ac_percent": "4",
           "ohms_percent": "5"}
    client.post(link, DATA | own)
    build.refresh_from_db()
    assert build.meter.as_spec().ohms_per_volt == 20e3 and build.meter.as_spec().dc_volts.full_scale


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
    assert client.post(reverse("accounts:sign-in"), {"username": "Builder 41", "password": factories.PASSWORD}).status_code == 429


def test_a_forgotten_password_is_set_by_a_mailed_link(client):
    person = factories.make_builder(name="Builder 42")
    person.email = "b42@example.org"
    person.save()
    client.post(reverse("accounts:forgotten"), {"email": "B42@example.org"})
    link = re.search(r"http://testserver(\S+)", mail.outbox[0].body)[1]
    client.post(link, {"password": "quite another 77", "password_again": "quite another 77"})
    person.refresh_from_db()
    assert person.check_password("quite another 77")
    assert client.get(link).status_code == 404


def test_nobody_can_fish_for_addresses(client):
    answer = client.post(reverse("accounts:forgotten"), {"email": "nobody@example.org"})
    assert answer["Location"] == reverse("accounts:forgotten-sent") and not mail.outbox
