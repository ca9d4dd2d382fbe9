"""The outbox: one letter an event and person, sent once, tried again when the server would not; digests; stopping."""

import smtplib
from contextlib import contextmanager
from datetime import date, timedelta

import pytest
from django.core import mail, signing
from django.core.management import call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.jobs.registry import MAIL_WAITS
from builds.notifications import sending
from builds.notifications.digest import write_digests
from builds.notifications.emails import unsubscribe_address
from builds.notifications.models import Email, Notification, Preference
from builds.notifications.notify import notify
from tests import factories
from tests.shortcuts import send_waiting

pytestmark = pytest.mark.django_db


def someone(when="", email="b@kits.example"):
    person = factories.make_builder()
    factories.give_address(person, email)
    if when:
        Preference.objects.create(person=person, when=when)
    return person


@pytest.fixture
def unsent(monkeypatch):
    """An urgent letter in the outbox that no worker was asked to send."""
    monkeypatch.setattr("builds.notifications.notify.send_soon", lambda letter: None)
    notify([someone()], "stop 1", "Switch off.", "/x/", urgent=True)
    return Email.objects.get()


def test_urgent_news_is_sent_once_however_often_it_is_told(django_capture_on_commit_callbacks):
    person = someone()
    with django_capture_on_commit_callbacks(execute=True):
        assert [notify([person], "stop 1", "Switch off.", "/x/", urgent=True) for _ in range(3)] == [1, 0, 0]
    assert [m.to for m in mail.outbox] == [["b@kits.example"]]
    letter = Email.objects.get()
    assert sending.send(letter.pk) == "sent" and len(mail.outbox) == 1


def test_the_letter_says_how_to_stop_it(monkeypatch):
    """RFC 2369 (List-Unsubscribe), RFC 8058 (one click, over https on a real site), RFC 3834 (Auto-Submitted)."""
    monkeypatch.setattr("django.core.signing.time.time", lambda: 1.8e9)  # the address is signed with the second
    person = someone()
    notify([person], "stop 1", "Switch off.\r\nBcc: x@kits.example", "/review/", urgent=True)
    send_waiting()
    message = mail.outbox[0].message()
    assert message["List-Unsubscribe"] == f"<{unsubscribe_address(person)}>"
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert message["Auto-Submitted"] == "auto-generated" and message["Bcc"] is None
    assert "http://127.0.0.1:8000/review/" in mail.outbox[0].body


@pytest.mark.parametrize(("when", "email"), [("never", "b@kits.example"), ("", "")])
def test_who_wants_no_mail_or_has_no_address_gets_none(when, email):
    assert notify([someone(when, email)], "stop 1", "Switch off.", "/x/", urgent=True) == 0
    assert not Notification.objects.exists() and not Email.objects.exists()


def test_what_is_not_urgent_waits_for_the_days_digest_and_there_is_one_a_day():
    person, today = someone(), date(2026, 5, 4)
    notify([person], "a", "First.", "/a/")
    notify([person], "b", "Second.", "/b/")
    assert not Email.objects.exists()
    assert len(write_digests(today)) == 1 and write_digests(today) == []
    assert "2 messages" in Email.objects.get().subject
    notify([person], "c", "Third.", "/c/")
    assert write_digests(today) == []
    later = write_digests(today + timedelta(days=1))
    assert len(later) == 1 and "Third." in later[0].body and "First." not in later[0].body
    assert write_digests(today + timedelta(days=2)) == []


def test_nobody_without_news_is_gone_through(django_assert_num_queries):
    for _ in range(3):
        someone()
    with django_assert_num_queries(1):
        assert write_digests(date(2026, 5, 4)) == []


def test_somebody_who_wants_all_once_a_day_is_not_written_to_at_once():
    person = someone("daily")
    notify([person], "stop 1", "Switch off.", "/x/", urgent=True)
    assert not Email.objects.exists() and len(write_digests(date(2026, 5, 4))) == 1


def test_a_letter_that_the_mail_server_refused_is_sent_again(monkeypatch, unsent):

    def refuse(self, *args, **kwargs):
        raise smtplib.SMTPServerDisconnected("gone")

    with monkeypatch.context() as patched:
        patched.setattr("django.core.mail.EmailMessage.send", refuse)
        for attempt in (1, 2):
            assert send_waiting() == {"failed": 1}
            unsent.refresh_from_db()
            assert unsent.state == "failed" and "gone" in unsent.error and unsent.attempts == attempt
            assert send_waiting() == {}  # not before its time
            Email.objects.update(next_at=timezone.now())
    call_command("digest")
    unsent.refresh_from_db()
    assert unsent.state == "sent" and unsent.error == "" and len(mail.outbox) == 1


def test_a_server_that_is_down_over_a_weekend_loses_no_letter(unsent, monkeypatch):
    def refuse(self, *args, **kwargs):
        raise smtplib.SMTPServerDisconnected("gone")

    moments = []
    with monkeypatch.context() as patched:
        patched.setattr("django.core.mail.EmailMessage.send", refuse)
        for _attempt in MAIL_WAITS:
            sending.send(unsent.pk)
            unsent.refresh_from_db()
            moments.append(unsent.next_at - timezone.now())
            Email.objects.update(next_at=timezone.now())
    assert moments == sorted(moments) and sum(moments, timedelta()) > timedelta(days=1)
    assert sending.send(unsent.pk) == "sent"


def test_letters_and_figures_wait_in_different_queues():
    from builds.jobs.registry import RULES

    assert {RULES[kind].queue for kind in ("letter", "reset", "reset-letter", "account-letter")} == {"mail"}
    assert {RULES[kind].queue for kind in ("circuit", "faults", "archive")} == {"default"}


def test_after_the_last_attempt_nothing_more_is_tried(unsent):
    Email.objects.update(state="failed", attempts=sending.MOST_ATTEMPTS)
    assert send_waiting() == {} and not mail.outbox


def test_a_letter_another_worker_holds_is_left_to_it_unless_it_was_abandoned(unsent):
    Email.objects.update(state="sending", taken_at=timezone.now())
    assert sending.send(unsent.pk) == "sending" and not mail.outbox
    Email.objects.update(taken_at=timezone.now() - timedelta(seconds=45))
    assert sending.ask_for_waiting() == 1 and len(mail.outbox) == 1


def test_a_letter_that_no_mail_program_can_carry_does_not_hold_up_the_others(monkeypatch, unsent):
    """Any error, not only those of the connection: the letter is kept for later, and the next one goes out."""
    unsent.subject = "two\nlines"
    unsent.save()
    notify([someone(email="c@kits.example")], "stop 2", "Switch off.", "/x/", urgent=True)
    assert send_waiting() == {"failed": 1, "sent": 1}
    unsent.refresh_from_db()
    assert unsent.error and unsent.next_at > timezone.now()


def test_while_a_letter_is_being_sent_its_worker_gives_signs_of_life(monkeypatch, unsent):
    """So that a slow mail server is not taken for a worker that was lost, and the letter not sent twice."""
    watched = []

    @contextmanager
    def watching(mine, field):
        watched.append((mine.get().pk, field))
        yield

    monkeypatch.setattr(sending, "alive", watching)
    assert sending.send(unsent.pk) == "sent" and watched == [(unsent.pk, "taken_at")]


def test_whoever_was_thought_lost_does_not_overwrite_what_came_of_the_next_attempt(monkeypatch, unsent):
    def slow(self, *args, **kwargs):
        Email.objects.update(attempts=2, state="sent")  # another worker took it meanwhile
        raise smtplib.SMTPServerDisconnected("gone")

    monkeypatch.setattr("django.core.mail.EmailMessage.send", slow)
    sending.send(unsent.pk)
    unsent.refresh_from_db()
    assert unsent.state == "sent" and not unsent.error


def test_what_is_rolled_back_is_not_told():
    person = someone()
    with pytest.raises(RuntimeError), transaction.atomic():
        notify([person], "stop 1", "Switch off.", "/x/", urgent=True)
        raise RuntimeError
    assert not Email.objects.exists()


def test_one_post_without_a_cookie_stops_the_letters_and_looking_does_not():
    person, client = someone(), Client(enforce_csrf_checks=True)
    address = unsubscribe_address(person).removeprefix("http://127.0.0.1:8000")
    assert client.get(address).status_code == 200 and not Preference.objects.exists()
    assert client.post(address, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert Preference.objects.get(person=person).when == "never"
    assert notify([person], "a", "Words.", "/x/") == 0


def test_a_link_of_an_earlier_letter_still_unsubscribes(client):
    person = someone()
    token = signing.dumps(person.pk, salt="builds.post.stop")
    assert client.post(reverse("notifications:stop", args=[token])).status_code == 200
    assert Preference.objects.get(person=person).when == "never"


@pytest.mark.parametrize("token", ["x", "1", "MQ:1abc:forged"])
def test_a_token_this_site_did_not_sign_stops_nobody(token, client):
    assert client.post(reverse("notifications:stop", args=[token])).status_code == 404
    assert not Preference.objects.exists()


def test_the_mail_page_keeps_the_wish_and_leaves_the_address(client):
    person = someone()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    assert client.post(reverse("notifications:mail"), {"when": "hourly"}).status_code == 422
    assert client.post(reverse("notifications:mail"), {"email": "c@kits.example", "when": "daily"}).status_code == 302
    person.refresh_from_db()
    assert (person.email, person.notification_preference.when) == ("b@kits.example", "daily")
