"""Ways in that end when their person takes them back: sessions, links, half-done sign-ins, codes and tokens."""

import pytest
from django.test import Client
from django.urls import reverse

from builds.accounts import devices, second_factor
from builds.accounts.models import Device, Invitation
from builds.operations.api.tokens import make
from builds.operations.models import AccessToken
from tests import factories
from tests.builds.accounts.test_account import NEW, code_of, is_in, person, phone, signed_in, switch_on

pytestmark = pytest.mark.django_db
__all__ = ["person", "phone"]  # fixtures
NEW_PASSWORD = {"password": NEW, "password_again": NEW}


def change_password(client):
    answer = client.post(reverse("accounts:password"), NEW_PASSWORD | {"old_password": factories.PASSWORD})
    assert answer.status_code == 302


def link_for(person) -> str:
    return reverse("accounts:invitation", args=[Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]])


def test_the_browser_that_changed_the_password_can_still_be_signed_out_from_another(person, phone):
    change_password(phone)
    other = Client()
    assert other.post(reverse("accounts:sign-in"), {"username": "Builder 50", "password": NEW}).status_code == 302
    assert Device.objects.filter(person=person).count() == 2
    other.post(reverse("accounts:sign-out-others"))
    assert is_in(other) and not is_in(phone)


def test_a_session_that_lasts_is_listed_however_long_ago_it_began(person, phone):
    ended = signed_in()
    ended.session.flush()
    Device.objects.update(signed_in_at="2020-01-01T00:00Z")
    assert devices.forget_ended() == 1
    assert Device.objects.get().session_key == phone.session.session_key


@pytest.mark.parametrize(
    ("page", "data"),
    [("password", NEW_PASSWORD), ("address", {"email": "new@kits.example"})],
    ids=["password", "address"],
)
def test_links_under_way_end_when_password_or_address_change(person, phone, page, data):
    link = link_for(person)
    assert phone.post(reverse(f"accounts:{page}"), data | {"old_password": factories.PASSWORD}).status_code == 302
    assert Client().post(link, NEW_PASSWORD).status_code == 404


@pytest.mark.lengthy
def test_a_password_given_before_it_was_changed_goes_no_further_with_a_code(person, phone):
    switch_on(person, phone)
    halfway = Client()
    halfway.post(reverse("accounts:sign-in"), {"username": "Builder 50", "password": factories.PASSWORD})
    change_password(phone)
    answer = halfway.post(reverse("accounts:second-factor-code"), {"code": code_of(person)})
    assert answer["Location"] == reverse("accounts:sign-in") and not is_in(halfway)


@pytest.mark.lengthy
def test_a_code_of_the_app_opens_once(person, phone):
    switch_on(person, phone)
    code = code_of(person)
    for expected in (302, 422):
        client = Client()
        client.post(reverse("accounts:sign-in"), {"username": "Builder 50", "password": factories.PASSWORD})
        assert client.post(reverse("accounts:second-factor-code"), {"code": code}).status_code == expected
        assert is_in(client) is (expected == 302)


def test_the_code_that_switched_the_second_factor_on_signs_nobody_in(person, phone):
    second_factor.unconfirmed(person)
    code = code_of(person)
    assert second_factor.confirm(person, code)
    assert second_factor.verify(person, code) is None


def test_a_link_for_a_new_password_withdraws_the_tokens_of_programs(person, phone):
    secret = make(person, "meter", [AccessToken.READ])
    address, bearer = reverse("operations:api-kits"), {"Authorization": f"Bearer {secret}"}
    assert Client().get(address, headers=bearer).status_code == 200
    assert Client().post(link_for(person), NEW_PASSWORD).status_code == 302
    assert Client().get(address, headers=bearer).status_code == 401


def test_a_link_is_used_once(person):
    link = link_for(person)
    assert [Client().post(link, NEW_PASSWORD).status_code for _n in range(2)] == [302, 404]


def test_a_page_open_since_before_all_devices_were_signed_out_saves_nothing(person, phone):
    tab, build = signed_in(), factories.make_build(builder=person)
    check = factories.checks_of(revision=build.revision)[0]
    phone.post(reverse("accounts:sign-out-others"))
    address = reverse("bench:reading", args=[build.pk, check.stage.key, check.key])
    answer = tab.post(address, {"typed": "300", "unit": "V", "entry_key": "3f0a3c1e-0000-4000-8000-000000000001"})
    assert answer.status_code == 302 and answer["Location"].startswith(reverse("accounts:sign-in"))
    assert not build.readings.exists()
