"""A link for a new password goes only to an address that its person has shown to be theirs."""

import importlib
import re
from datetime import timedelta
from io import StringIO

import pytest
from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.accounts import closing, letters
from builds.accounts.events import record
from builds.accounts.models import Event, Invitation, Person
from builds.operations import daily
from tests import factories

pytestmark = pytest.mark.django_db
ADDRESS = "seven@kits.example"
NEW = {"password": "quite another 77", "password_again": "quite another 77"}


@pytest.fixture(autouse=True)
def only_our_part_of_the_day(monkeypatch):
    """Sessions and rows of a queue that the tests do without are deleted by commands of their packages."""
    monkeypatch.setattr(daily, "call_command", lambda *_words, **_options: None)


@pytest.fixture
def person():
    builder = factories.make_builder()
    factories.give_address(builder, ADDRESS, confirmed=False)
    return builder


def browser_of(person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def link_in(letter) -> str:
    return re.search(r"http://127.0.0.1:8000(/\S+)", letter.body)[1]


def asked(person, mailoutbox) -> str:
    mailoutbox.clear()
    letters.ask_to_confirm(person)
    (letter,) = mailoutbox
    assert letter.to == [person.email]
    return link_in(letter)


def reset(address=ADDRESS) -> None:
    Client().post(reverse("accounts:forgotten"), {"email": address})


def test_an_address_that_was_never_confirmed_gets_no_link_for_a_new_password(person, mailoutbox):
    reset()
    assert not mailoutbox and not Invitation.objects.exists()


def test_an_address_confirmed_by_its_link_does(person, mailoutbox):
    link, phone = asked(person, mailoutbox), browser_of(person)
    assert phone.get(link).status_code == 200
    reset()
    assert len(mailoutbox) == 1, "to look at the page confirms nothing"
    assert phone.post(link).status_code == 302
    reset(ADDRESS.upper())
    assert Client().post(link_in(mailoutbox[1]), NEW).status_code == 302
    person.refresh_from_db()
    assert person.check_password("quite another 77")
    assert Event.objects.filter(person=person, action="address-confirmed").count() == 1


def test_whoever_reads_the_mail_of_a_mistyped_address_confirms_nothing(person, mailoutbox):
    link = asked(person, mailoutbox)
    for client in (Client(), browser_of(factories.make_builder())):
        for method in (client.get, client.post):
            assert method(link).status_code in (302, 404)
    person.refresh_from_db()
    assert not person.has_confirmed_address


@pytest.mark.parametrize("later", ["another address", "another and back", "expired", "none", "bent"])
def test_a_link_that_is_not_for_the_address_of_today_confirms_nothing(person, mailoutbox, later, time_machine_days):
    link = asked(person, mailoutbox)
    if later == "another address":
        factories.give_address(person, "other@kits.example", confirmed=False)
    elif later == "none":
        factories.give_address(person, "", confirmed=False)
    elif later == "bent":
        link = link[:-3] + "A/"
    elif later == "expired":
        time_machine_days(8)
    answer = browser_of(person).post(link)
    assert answer.status_code == (302 if later == "another and back" else 404)


@pytest.fixture
def time_machine_days(monkeypatch):
    import time

    now = time.time

    def on(days):
        monkeypatch.setattr("django.core.signing.time.time", lambda: now() + days * 86_400)

    return on


def test_a_changed_address_is_unconfirmed_and_gets_the_link(person, mailoutbox):
    factories.give_address(person, ADDRESS)
    data = {"email": "new@kits.example", "old_password": factories.PASSWORD}
    assert browser_of(person).post(reverse("accounts:address"), data).status_code == 302
    assert any(m.to == ["new@kits.example"] and "/confirm/" in m.body for m in mailoutbox)
    mailoutbox.clear()
    reset(), reset("new@kits.example")
    assert not mailoutbox


def test_an_address_given_at_sign_up_gets_the_link(mailoutbox):
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=factories.make_designer())
    build = factories.make_build(invitation=invitation)
    type(build).objects.filter(pk=build.pk).update(builder=None)
    data = {"display_name": "Builder 77", "email": ADDRESS, "mains_volts": "230", "mains_hertz": "50"}
    data |= NEW | {"preset": "handheld", "read_cautions": "on"}
    client = Client()
    assert client.post(reverse("accounts:invitation", args=[token]), data).status_code == 302
    (letter,) = mailoutbox
    assert letter.to == [ADDRESS] and client.post(link_in(letter)).status_code == 302
    assert Person.objects.get(display_name="Builder 77").has_confirmed_address


def test_the_link_is_sent_again_but_not_without_end(person, mailoutbox):
    phone = browser_of(person)
    again = [phone.post(reverse("accounts:send-confirmation")).status_code for _ in range(7)]
    assert again == [302] * 5 + [429] * 2 and len(mailoutbox) == 5


@pytest.mark.lengthy
def test_nobody_writes_to_address_after_address_by_changing_theirs(person, mailoutbox):
    phone, data = browser_of(person), {"old_password": factories.PASSWORD}
    answers = [
        phone.post(reverse("accounts:address"), data | {"email": f"b{n}@elsewhere.example"}).status_code
        for n in range(7)
    ]
    assert answers == [302] * 5 + [429] * 2
    assert not [m for m in mailoutbox if m.to[0] in ("b5@elsewhere.example", "b6@elsewhere.example")]


def test_nothing_is_sent_where_nothing_is_to_be_confirmed(person, mailoutbox):
    factories.give_address(person, ADDRESS)
    browser_of(person).post(reverse("accounts:send-confirmation"))
    browser_of(factories.make_builder()).post(reverse("accounts:send-confirmation"))
    assert not mailoutbox


@pytest.mark.parametrize("page", ["accounts:account", "bench:builds"])
def test_the_page_says_so_until_the_address_is_confirmed(person, page):
    phone, button = browser_of(person), reverse("accounts:send-confirmation")
    assert button in phone.get(reverse(page)).content.decode()
    factories.give_address(person, ADDRESS)
    assert button not in phone.get(reverse(page)).content.decode()


def test_whoever_gave_an_address_before_is_asked_once(person, mailoutbox):
    placeholder = factories.make_builder()
    factories.give_address(placeholder, "nobody@kits.example", confirmed=False)
    placeholder.set_unusable_password()
    placeholder.save()
    factories.give_address(factories.make_builder(), "known@kits.example")
    assert daily.run()["addresses to confirm"] == 1 and daily.run()["addresses to confirm"] == 0
    assert [m.to for m in mailoutbox] == [[ADDRESS]]


def test_only_a_used_mailed_link_shows_that_an_address_of_before_is_right(person):
    confirm = importlib.import_module("builds.accounts.migrations.0006_confirmed_addresses").confirm_the_proven
    designer = factories.make_designer()
    proven, changed, given, unused = (factories.make_builder() for _ in range(4))
    for one in (proven, changed, given, unused):
        factories.give_address(one, f"b{one.pk}@kits.example", confirmed=False)
    for one, maker in ((proven, None), (changed, None), (given, designer)):
        assert Invitation.make(Invitation.Purpose.PASSWORD, made_by=maker, person=one)[0].use()
    Invitation.make(Invitation.Purpose.PASSWORD, person=unused)
    record(changed, "address-changed")
    confirm(apps, None)
    assert set(Person.objects.exclude(confirmed_email="")) == {proven}


def test_a_link_under_way_outlives_neither_the_address_nor_the_account(person, mailoutbox):
    link = asked(person, mailoutbox)
    closing.close(person)
    person.refresh_from_db()
    assert person.confirmed_email == "" and Client().post(link).status_code == 302


def test_whoever_runs_the_site_lets_in_a_person_without_a_confirmed_address(person, mailoutbox):
    out, earlier = StringIO(), Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]
    call_command("password_link", person.display_name, stdout=out)
    path = out.getvalue().strip().removeprefix("http://127.0.0.1:8000")
    assert Client().get(reverse("accounts:invitation", args=[earlier])).status_code == 404
    assert [Client().post(path, NEW).status_code for _ in range(2)] == [302, 404]
    assert mailoutbox[0].to == [ADDRESS] and path not in mailoutbox[0].body
    assert Event.objects.filter(person=person, action="password-link-by-command").exists()
    person.refresh_from_db()
    assert not person.has_confirmed_address, "the link was not mailed"


def test_no_link_is_made_for_nobody_or_a_closed_account(person):
    name = person.display_name
    closing.close(person)
    for wanted in (name, "nobody"):
        with pytest.raises(CommandError):
            call_command("password_link", wanted)


def test_links_of_designers_who_left_before_end_at_the_update():
    end_them = importlib.import_module("builds.review.migrations.0014_links_of_those_who_left").end_them
    build = factories.make_build()
    maker, reader = build.revision.kit.designers.get(), factories.make_designer()
    factories.join_kit(kit=build.revision.kit, owner=maker, person=reader, role="reader")
    usable = {}
    for who in (maker, reader, factories.make_designer()):
        invitation, _token = Invitation.make(Invitation.Purpose.BUILD, made_by=who)
        row = factories.make_build(revision=build.revision, invitation=invitation)
        type(row).objects.filter(pk=row.pk).update(builder=None)
        usable[who] = invitation
    end_them(apps, None)
    assert list(Invitation.objects.usable()) == [usable[maker]]
    assert timezone.now() - Invitation.objects.get(pk=usable[reader].pk).revoked_at < timedelta(minutes=1)
