"""Mail to an address that nobody has confirmed may be read by a stranger: it says only that something urgent waits, and
the stranger can end it. Whoever mistyped their address still learns of a stop, and is told the rest once they confirm.
"""

from datetime import date, timedelta

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone

from builds.accounts.confirming import confirm
from builds.notifications import sending
from builds.notifications.digest import write_digests
from builds.notifications.emails import unsubscribe_address
from builds.notifications.models import Email, Notification, Preference
from builds.notifications.notify import notify
from builds.operations.health import status
from tests import factories
from tests.shortcuts import send_waiting

pytestmark = pytest.mark.django_db
WORDS = "Build 07 read 512 V at B+"
TODAY = date(2026, 5, 4)


@pytest.fixture
def person():
    designer = factories.make_designer()
    factories.give_address(designer, "d@kits.example", confirmed=False)
    return designer


def stop(person, number=1) -> str:
    """How the letter about it stands."""
    notify([person], f"stop {number}", WORDS, "/review/builds/7/", urgent=True)
    letter = Email.objects.filter(key=f"news stop {number}").first()
    return letter.state if letter else "none"


def press_unsubscribe(person, address):
    factories.give_address(person, address, confirmed=False)
    link = unsubscribe_address(person).removeprefix("http://127.0.0.1:8000")
    return lambda: Client().post(link).status_code


def test_a_stop_reaches_the_address_without_what_happened(person):
    assert stop(person) == "sent"
    (letter,) = mail.outbox
    said = f"{letter.subject}\n{letter.body}"
    assert letter.to == ["d@kits.example"] and "urgent" in letter.subject.lower()
    assert "Sign in to read it: http://127.0.0.1:8000/" in said and unsubscribe_address(person)[:60] in said
    for secret in ("07", "512", "B+", "/review/", person.display_name):
        assert secret not in said
    assert "did not say what happened" in Email.objects.get().problem


def test_what_happened_is_told_by_the_summary_once_the_address_is_confirmed(person):
    stop(person)
    assert write_digests(TODAY) == []
    confirm(person)
    (summary,) = write_digests(TODAY)
    assert WORDS in summary.body
    assert sending.send(summary.pk) == "sent" and WORDS in mail.outbox[-1].body


def test_a_confirmed_address_is_told_at_once(person):
    confirm(person)
    stop(person)
    assert WORDS in mail.outbox[0].body


def test_nobody_is_flooded_by_an_address_that_a_stranger_gave(person):
    assert [stop(person, n) for n in range(5)] == ["sent"] + ["failed"] * 4
    assert len(mail.outbox) == 1 and Notification.objects.filter(letter=None).count() == 5
    assert send_waiting() == {} and status().mail_given_up == 0
    assert "Nothing was sent" in Email.objects.first().problem
    Email.objects.filter(state="sent").update(sent_at=timezone.now() - timedelta(hours=1, minutes=1))
    assert stop(person, 6) == "sent", "another stop, later, is worth another letter"


def test_what_is_not_urgent_waits_for_the_address_and_not_without_end(person):
    notify([person], "snag 1", "Old.", "/x/")
    Notification.objects.update(at=timezone.now() - timedelta(days=31))
    notify([person], "snag 2", "New.", "/x/")
    assert write_digests(TODAY) == [] and not Email.objects.exists()
    confirm(person)
    (summary,) = write_digests(TODAY)
    assert "New." in summary.body and "Old." not in summary.body


def test_a_letter_under_way_says_nothing_to_an_address_that_was_changed_meanwhile(person, monkeypatch):
    monkeypatch.setattr("builds.notifications.notify.send_soon", lambda letter: None)
    confirm(person)
    notify([person], "stop 1", WORDS, "/x/", urgent=True)
    notify([person], "snag 1", "Words of a builder.", "/x/")
    write_digests(TODAY)
    factories.give_address(person, "other@kits.example", confirmed=False)
    assert send_waiting() == {"sent": 1, "failed": 1}
    (letter,) = mail.outbox
    assert WORDS not in letter.body and Notification.objects.filter(letter=None).count() == 2


def test_a_stranger_ends_the_letters_to_their_address_and_not_those_to_the_next(person):
    pressed = press_unsubscribe(person, "stranger@kits.example")
    assert pressed() == 200
    person.refresh_from_db()
    assert stop(person) == "none" and not Notification.objects.exists()
    factories.give_address(person, "right@kits.example", confirmed=False)
    assert stop(person, 2) == "sent" and pressed() == 200
    confirm(person)
    assert stop(person, 3) == "sent" and mail.outbox[-1].to == ["right@kits.example"]
    assert Preference.objects.get().when == "at once"


@pytest.mark.lengthy
def test_who_refused_an_address_by_mistake_gets_mail_there_once_it_is_confirmed(person):
    press_unsubscribe(person, person.email)()
    confirm(person)
    assert stop(person) == "sent" and WORDS in mail.outbox[0].body


def test_somebody_taken_over_from_another_site_who_has_never_signed_in_gets_none(person):
    person.set_unusable_password()
    person.save()
    assert stop(person) == "none" and not Email.objects.exists()


@pytest.mark.parametrize("address", ["/mail/", "/account/"])
def test_the_pages_say_what_an_unconfirmed_address_is_told(person, address, client):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    words = "say only that there is an urgent message"
    assert words in client.get(address).content.decode()
    confirm(person)
    assert words not in client.get(address).content.decode()
