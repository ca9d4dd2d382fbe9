"""Ways into somebody else's account, and ways to keep somebody out of their own: each is closed."""

import re

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice

from builds.accounts import closing, second_factor
from builds.accounts.models import Device, Invitation, Person
from builds.guides import co_designers
from builds.guides.models import KitRole
from builds.notifications.models import Email, Preference
from builds.notifications.notify import notify
from builds.operations.api.tokens import make as make_token
from tests import factories
from tests.builds.accounts.test_account import NEW, SIGN_IN, code_of, is_in, person, phone, signed_in, switch_on

pytestmark = pytest.mark.django_db
__all__ = ["person", "phone"]  # fixtures
NEW_PASSWORD = {"password": NEW, "password_again": NEW}
BENCH = {"mains_volts": "240", "mains_hertz": "50", "preset": "handheld", "read_cautions": "on"}
CLOSING = {"sure": "on", "old_password": factories.PASSWORD}


def browser_of(someone) -> Client:
    client = Client()
    client.force_login(someone, backend="django.contrib.auth.backends.ModelBackend")
    return client


def link_of(answer) -> str:
    """The path of the link that a page shows."""
    return "/" + answer.context["link"].split("/", 3)[3]


@pytest.fixture
def kit():
    return factories.make_kit()


@pytest.fixture
def build(kit, person):
    return factories.make_build(revision=factories.make_revision(kit=kit), builder=person)


def password_link(designer, build) -> str:
    return link_of(browser_of(designer).post(reverse("review:renew", args=[build.pk])))


def opens(link) -> bool:
    return Client().post(link, NEW_PASSWORD).status_code == 302


# Links that a designer makes for a builder


def test_a_designers_link_opens_nothing_once_the_builder_has_another_designers_kit(kit, build, person):
    link = password_link(kit.designers.get(), build)
    factories.make_build(builder=person)
    assert not opens(link)
    person.refresh_from_db()
    assert person.check_password(factories.PASSWORD)


def test_a_designers_link_opens_nothing_once_the_designer_was_removed_from_the_kit(kit, build):
    owner, editor = kit.designers.get(), factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=editor, role=KitRole.Role.EDITOR)
    link = password_link(editor, build)
    co_designers.remove(kit, owner, editor)
    assert not opens(link)


@pytest.mark.lengthy
def test_a_designers_link_opens_nothing_once_the_second_factor_is_on(kit, build, person, phone):
    link = password_link(kit.designers.get(), build)
    switch_on(person, phone)
    assert not opens(link)


def test_a_designers_link_still_opens_what_it_was_made_for(kit, build):
    assert opens(password_link(kit.designers.get(), build))


def test_whoever_only_reads_a_kit_gets_no_link_into_the_account_of_its_builder(kit, build, person):
    """With it they could take readings in the builder's name."""
    elsewhere = factories.make_build(builder=person)
    designer = elsewhere.revision.kit.designers.get()
    factories.join_kit(kit=kit, owner=kit.designers.get(), person=designer, role=KitRole.Role.READER)
    answer = browser_of(designer).post(reverse("review:renew", args=[elsewhere.pk]))
    assert answer.status_code == 302 and not Invitation.objects.filter(person=person).exists()


def test_no_link_is_made_for_a_closed_account(kit, build, person):
    closing.close(person)
    answer = browser_of(kit.designers.get()).post(reverse("review:renew", args=[build.pk]), follow=True)
    assert "closed" in answer.content.decode() and not Invitation.objects.exists()


def test_a_link_never_gives_a_closed_account_a_password(person):
    token = Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]
    Person.objects.filter(pk=person.pk).update(is_active=False)
    assert not opens(reverse("accounts:invitation", args=[token]))


def test_a_link_is_not_used_up_where_the_password_could_not_be_written(person, monkeypatch):
    link = reverse("accounts:invitation", args=[Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]])
    with monkeypatch.context() as patch:
        patch.setattr("builds.accounts.devices.sign_out_all", lambda person: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            Client().post(link, NEW_PASSWORD)
    person.refresh_from_db()
    assert person.check_password(factories.PASSWORD) and opens(link)


# Invitations


def test_an_invitation_left_over_takes_no_build_from_its_builder(build, person):
    build.invitation, token = Invitation.make(Invitation.Purpose.BUILD)
    build.save()
    answer = browser_of(factories.make_builder()).post(reverse("accounts:invitation", args=[token]), BENCH)
    build.refresh_from_db()
    assert answer.status_code == 404 and build.builder == person


def test_no_new_link_is_made_for_a_build_that_was_accepted_a_moment_before(kit, build, person, monkeypatch):
    """The page of the designer, read before the builder accepted, still says that there is none."""
    as_read = type(build).objects.with_guide().get(pk=build.pk)
    as_read.builder = None
    monkeypatch.setattr("builds.bench.access.designers_build", lambda *_asked: as_read)
    answer = browser_of(kit.designers.get()).post(reverse("review:renew", args=[build.pk]))
    build.refresh_from_db()
    assert answer.status_code == 302 and build.builder == person and not Invitation.objects.exists()


# Passwords and codes


def test_a_new_password_withdraws_the_tokens_that_whoever_knew_the_old_one_made(person, phone):
    bearer = {"Authorization": f"Bearer {make_token(person, 'meter', ['read'])}"}
    assert Client().get(reverse("operations:api-kits"), headers=bearer).status_code == 200
    phone.post(reverse("accounts:password"), NEW_PASSWORD | {"old_password": factories.PASSWORD})
    assert Client().get(reverse("operations:api-kits"), headers=bearer).status_code == 401


def test_accounts_with_somebody_elses_address_do_not_keep_its_owner_from_a_link(client, mailoutbox):
    for _n in range(6):
        factories.give_address(factories.make_builder(), "shared@kits.example")
    owner = factories.make_builder()
    factories.give_address(owner, "shared@kits.example")
    client.post(reverse("accounts:forgotten"), {"email": "shared@kits.example"})
    assert any(owner.display_name in letter.body for letter in mailoutbox)


def halfway() -> Client:
    client = Client()
    client.post(reverse("accounts:sign-in"), SIGN_IN)
    return client


def test_whoever_has_to_wait_for_the_next_code_is_told_so(person, phone):
    switch_on(person, phone)
    client, page = halfway(), reverse("accounts:second-factor-code")
    assert "This code is wrong" in client.post(page, {"code": "000000"}).content.decode()
    for devices in (TOTPDevice, StaticDevice):
        devices.objects.update(throttling_failure_count=9)
    assert "Too many wrong codes. Wait 5 minutes" in client.post(page, {"code": "000000"}).content.decode()


@pytest.mark.lengthy
def test_wrong_codes_of_a_stranger_keep_nobody_out_once_the_password_is_another(person, phone):
    switch_on(person, phone)
    halfway().post(reverse("accounts:second-factor-code"), {"code": "000000"})
    for devices in (TOTPDevice, StaticDevice):
        devices.objects.update(throttling_failure_count=20)
    assert second_factor.seconds_to_wait(person) > 24 * 3600
    phone.post(reverse("accounts:password"), NEW_PASSWORD | {"old_password": factories.PASSWORD})
    assert second_factor.seconds_to_wait(person) == 0


def test_a_sign_in_that_owed_a_code_begins_again_once_the_second_factor_is_off(person, phone):
    switch_on(person, phone)
    client = halfway()
    phone.post(reverse("accounts:second-factor-off"), {"old_password": factories.PASSWORD})
    answer = client.get(reverse("accounts:second-factor-code"))
    assert answer.status_code == 302 and answer["Location"] == reverse("accounts:sign-in") and not is_in(client)


def test_a_lifted_second_factor_leaves_no_link_open(person, phone):
    """Until then the link alone signed nobody in."""
    switch_on(person, phone)
    token = Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]
    call_command("second_factor_off", person.display_name)
    assert not opens(reverse("accounts:invitation", args=[token]))


@pytest.mark.parametrize("page", ["account", "password", "address", "close", "second-factor-off"])
def test_no_page_lets_in_who_still_owes_the_code(person, phone, page):
    switch_on(person, phone)
    answer = halfway().get(reverse(f"accounts:{page}"))
    assert answer.status_code == 302 and answer["Location"].startswith(reverse("accounts:sign-in"))


# Devices


def test_a_second_tap_finds_the_device_signed_out_already(person, phone):
    signed_in()
    other = Device.objects.exclude(session_key=phone.session.session_key).get()
    page = reverse("accounts:sign-out-device", args=[other.pk])
    shown = re.search(r'name="shown" value="([^"]+)"', phone.get(reverse("accounts:account")).content.decode())[1]
    first, second = (phone.post(page, {"shown": shown}, follow=True) for _n in range(2))
    assert phone.post(page, {"shown": shown[:-1]}).status_code == 404
    assert "That device is signed out." in first.content.decode()
    assert second.status_code == 200 and "already signed out" in second.content.decode()


# Closing


def test_nobody_keeps_an_account_open_by_the_name_it_would_get(person, phone):
    factories.make_builder(name=closing.former_name(person).upper())
    assert phone.post(reverse("accounts:close"), CLOSING).status_code == 302
    person.refresh_from_db()
    assert not person.is_active


def test_the_last_of_two_owners_to_close_at_once_is_kept_by_the_kit(kit):
    """Both asked for the page while there were two."""
    first, second = kit.designers.get(), factories.make_designer()
    factories.join_kit(kit=kit, owner=first, person=second, role=KitRole.Role.OWNER)
    assert not closing.why_not_closed(first) and not closing.why_not_closed(second)
    assert closing.close(first) and not closing.close(second)
    second.refresh_from_db()
    assert second.is_active and list(kit.designers.all()) == [second]


def test_a_closed_account_keeps_no_mail_and_its_address_is_told(person, phone, mailoutbox):
    Preference.objects.create(person=person, when=Preference.When.DAILY)
    notify([person], "a stop", "Build 7: 500 V at the reservoir", "/builds/7/")
    Email.objects.create(person=person, key="waiting", subject="Build 7", body="500 V")
    phone.post(reverse("accounts:close"), CLOSING)
    assert not Email.objects.filter(person=person).exists() and not person.news.exists()
    (letter,) = mailoutbox
    assert letter.to == ["old@kits.example"] and "closed" in letter.body and "new password" not in letter.body


def test_a_closed_account_leaves_no_token_link_session_or_try_behind(person, phone):
    from axes.models import AccessLog

    bearer = {"Authorization": f"Bearer {make_token(person, 'meter', ['read'])}"}
    token = Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]
    assert AccessLog.objects.filter(username__iendswith="builder 50").exists()
    phone.post(reverse("accounts:close"), CLOSING)
    assert Client().get(reverse("operations:api-kits"), headers=bearer).status_code == 401
    assert not opens(reverse("accounts:invitation", args=[token])) and not is_in(phone)
    assert not AccessLog.objects.filter(username__iendswith="builder 50").exists()


def test_a_new_account_of_a_name_that_is_free_again_sees_nothing_of_the_old(person, phone, build):
    phone.post(reverse("accounts:close"), CLOSING)
    factories.make_builder(name="Builder 50")
    assert phone.post(reverse("accounts:sign-in"), SIGN_IN).status_code == 302  # from the old one's browser
    assert phone.get(reverse("bench:build", args=[build.pk])).status_code == 404


def test_a_code_is_asked_for_whichever_way_the_password_was_typed(person, phone):
    """The right code after another person's password opens nothing of its owner's."""
    switch_on(person, phone)
    code = code_of(person)
    other = factories.make_builder(name="Builder 51")
    client = Client()
    client.post(reverse("accounts:sign-in"), SIGN_IN | {"username": other.display_name})
    client.post(reverse("accounts:second-factor-code"), {"code": code})
    assert client.session.get("_auth_user_id") == str(other.pk)
