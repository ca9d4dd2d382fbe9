"""A person's own account: every door asks for the password, and everybody concerned is told."""

import pytest
from django.contrib.auth import SESSION_KEY
from django.core import mail
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse
from django_otp.oath import TOTP
from django_otp.plugins.otp_totp.models import TOTPDevice

from builds.accounts import second_factor
from builds.accounts.models import Device, Event, Person
from tests import factories

pytestmark = pytest.mark.django_db
SIGN_IN = {"username": "Builder 50", "password": factories.PASSWORD}
NEW = "quite another 77"


@pytest.fixture
def person():
    builder = factories.make_builder(name="Builder 50")
    Person.objects.filter(pk=builder.pk).update(email="old@kits.example")
    builder.refresh_from_db()
    return builder


@pytest.fixture
def phone(person):
    return signed_in()


def signed_in() -> Client:
    client = Client()
    assert client.post(reverse("accounts:sign-in"), SIGN_IN).status_code == 302
    return client


def is_in(client) -> bool:
    return client.get(reverse("accounts:account")).status_code == 200


def code_of(person) -> str:
    device = TOTPDevice.objects.get(user=person)
    TOTPDevice.objects.update(last_t=-1, throttling_failure_count=0)
    return f"{TOTP(device.bin_key).token():06d}"


def test_a_password_is_changed_with_the_old_one_and_signs_the_other_devices_out(person, phone):
    other = signed_in()
    new = {"password": NEW, "password_again": NEW}
    assert phone.post(reverse("accounts:password"), new | {"old_password": "wrong"}).status_code == 422
    assert phone.post(reverse("accounts:password"), new | {"old_password": factories.PASSWORD}).status_code == 302
    person.refresh_from_db()
    assert person.check_password(NEW)
    assert is_in(phone) and not is_in(other)
    assert [m.to for m in mail.outbox] == [["old@kits.example"]]


@pytest.mark.parametrize("password", ["builder 50x", "old@kits.example"])
def test_a_password_like_the_persons_name_or_address_is_refused(person, phone, password):
    data = {"old_password": factories.PASSWORD, "password": password, "password_again": password}
    assert phone.post(reverse("accounts:password"), data).status_code == 422


def test_an_address_is_changed_with_the_password_and_both_are_told(person, phone):
    url, new = reverse("accounts:address"), {"email": "new@kits.example"}
    assert phone.post(url, new | {"old_password": "wrong"}).status_code == 422
    assert phone.post(url, new | {"old_password": factories.PASSWORD}).status_code == 302
    assert sorted(m.to[0] for m in mail.outbox) == [
        "new@kits.example",
        "new@kits.example",
        "old@kits.example",
    ]
    person.refresh_from_db()
    assert person.email == "new@kits.example"


def test_devices_are_listed_and_signed_out_one_by_one_or_all(person, phone):
    second, third = signed_in(), signed_in()
    assert Device.objects.count() == 3
    device = Device.objects.get(session_key=second.session.session_key)
    phone.post(reverse("accounts:sign-out-device", args=[device.pk]))
    assert (is_in(second), is_in(third), is_in(phone)) == (False, True, True)
    phone.post(reverse("accounts:sign-out-others"))
    assert (is_in(third), is_in(phone)) == (False, True)


def test_a_person_cannot_sign_out_another_persons_device(person, phone):
    stranger = Client()
    stranger.force_login(factories.make_builder())
    device = Device.objects.get(person=person)
    assert stranger.post(reverse("accounts:sign-out-device", args=[device.pk])).status_code == 404
    assert is_in(phone)


def switch_on(person, phone) -> list[str]:
    url = reverse("accounts:second-factor")
    phone.get(url)
    data = {"code": code_of(person), "old_password": factories.PASSWORD}
    return phone.post(url, data).context["codes"]


@pytest.mark.lengthy
def test_a_second_factor_ends_the_sessions_that_were_opened_without_it(person, phone):
    other = signed_in()
    switch_on(person, phone)
    assert (is_in(other), is_in(phone)) == (False, True)


@pytest.mark.lengthy
def test_with_a_second_factor_the_password_alone_opens_nothing(person, phone):
    switch_on(person, phone)
    client = Client()
    answer = client.post(reverse("accounts:sign-in"), SIGN_IN)
    assert answer["Location"] == reverse("accounts:second-factor-code")
    assert not is_in(client)
    assert client.post(answer["Location"], {"code": "000000"}).status_code == 422
    assert not is_in(client)
    assert client.post(answer["Location"], {"code": code_of(person)}).status_code == 302
    assert is_in(client)


def test_the_code_page_alone_opens_nothing(person, phone):
    switch_on(person, phone)
    client = Client()
    answer = client.post(reverse("accounts:second-factor-code"), {"code": code_of(person)})
    assert answer["Location"] == reverse("accounts:sign-in") and SESSION_KEY not in client.session


def test_the_password_is_forgotten_after_five_minutes_without_the_code(person, phone, monkeypatch):
    switch_on(person, phone)
    client = Client()
    client.post(reverse("accounts:sign-in"), SIGN_IN)
    monkeypatch.setattr("builds.accounts.signing_in.PATIENCE", -1)
    client.post(reverse("accounts:second-factor-code"), {"code": code_of(person)})
    assert not is_in(client)


@pytest.mark.lengthy
def test_a_recovery_code_opens_once_and_its_person_is_told(person, phone):
    code = switch_on(person, phone)[0]
    mail.outbox.clear()
    for expected in (302, 422):
        client = Client()
        client.post(reverse("accounts:sign-in"), SIGN_IN)
        assert client.post(reverse("accounts:second-factor-code"), {"code": code}).status_code == expected
    assert [m.to for m in mail.outbox] == [["old@kits.example"]]


def test_the_second_factor_goes_off_with_the_password_only(person, phone):
    switch_on(person, phone)
    url = reverse("accounts:second-factor-off")
    assert phone.post(url, {"old_password": "wrong"}).status_code == 422 and second_factor.is_on(person)
    phone.post(url, {"old_password": factories.PASSWORD})
    assert not second_factor.is_on(person)


@pytest.mark.lengthy
def test_a_link_for_a_new_password_does_not_go_round_the_second_factor(person, phone):
    from builds.accounts.models import Invitation

    switch_on(person, phone)
    link = reverse("accounts:invitation", args=[Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]])
    client = Client()
    client.post(link, {"password": NEW, "password_again": NEW})
    assert not is_in(client)


def test_a_closed_account_keeps_the_evidence_and_nothing_personal(person, phone):
    build = factories.make_build(builder=person)
    factories.add_reading(build=build, check=factories.checks_of(revision=build.revision)[0])
    url = reverse("accounts:close")
    assert phone.post(url, {"sure": "on", "old_password": "wrong"}).status_code == 422
    assert phone.post(url, {"sure": "on", "old_password": factories.PASSWORD}).status_code == 302
    person.refresh_from_db()
    assert not person.is_active and person.email == "" and "50" not in person.display_name.replace(str(person.pk), "")
    assert build.readings.get().by_id == person.pk
    assert Client().post(reverse("accounts:sign-in"), SIGN_IN).status_code == 422  # refused: the form again
    assert not is_in(phone)
    factories.make_builder(name="Builder 50")  # the name is free


def test_the_record_of_events_is_only_added_to(person, phone):
    assert Event.objects.filter(person=person, action="signed-in").exists()
    for change in (lambda rows: rows.update(action="nothing"), lambda rows: rows.delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            change(Event.objects.all())


def test_signing_out_clears_what_the_browser_kept(phone):
    assert phone.post(reverse("accounts:sign-out"))["Clear-Site-Data"] == '"cache"'
