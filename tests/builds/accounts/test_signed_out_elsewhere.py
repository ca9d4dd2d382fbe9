"""A phone that was signed out from elsewhere is told, so that it forgets the guides it kept; one whose session ran out
is not."""

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse

from builds.accounts import devices
from builds.accounts.ended import COOKIE, was_signed_out
from tests import factories

pytestmark = pytest.mark.django_db
BUILDS = "bench:builds"


@pytest.fixture
def person():
    return factories.make_builder()


def signed_in(person) -> Client:
    phone = Client()
    phone.post(reverse("accounts:sign-in"), {"username": person.display_name, "password": factories.PASSWORD})
    assert phone.get(reverse(BUILDS)).status_code == 200
    return phone


def told(answer) -> bool:
    return COOKIE in answer.cookies and answer.cookies[COOKIE].value == "1"


def test_a_phone_that_another_device_signed_out_is_told_at_its_next_contact(person):
    phone, desk = signed_in(person), signed_in(person)
    desk.post(reverse("accounts:sign-out-others"))
    answer = phone.get(reverse(BUILDS))
    assert answer.status_code == 302 and told(answer)
    assert not told(phone.get(reverse("accounts:sign-in")))  # once
    assert not told(desk.get(reverse(BUILDS))) and desk.get(reverse(BUILDS)).status_code == 200


def test_a_phone_whose_account_was_closed_is_told(person):
    phone = signed_in(person)
    devices.sign_out_all(person)
    assert told(phone.get(reverse(BUILDS)))


def test_what_a_phone_sends_by_itself_is_told_too(person):
    phone, desk = signed_in(person), signed_in(person)
    desk.post(reverse("accounts:sign-out-others"))
    assert told(phone.get(reverse("bench:notebook", args=[1])))


def test_a_session_that_ran_out_takes_no_guide_away(person):
    phone = signed_in(person)
    Session.objects.all().delete()
    answer = phone.get(reverse(BUILDS))
    assert answer.status_code == 302 and not told(answer)


def test_whoever_signs_out_here_or_was_never_signed_in_is_not_told(person):
    phone = signed_in(person)
    assert not told(phone.post(reverse("accounts:sign-out")))
    assert not told(Client().get(reverse(BUILDS)))


def test_nobody_is_signed_in_by_what_tells_it(person):
    phone = signed_in(person)
    key = phone.session.session_key
    devices.sign_out_all(person)
    devices.sign_out_all(person)
    assert was_signed_out(key)
    for row in Session.objects.all():
        assert row.get_decoded().get("_auth_user_id") is None
