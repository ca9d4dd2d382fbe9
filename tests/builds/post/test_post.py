"""The outbox: one letter an event and person, sent once, tried again when the server would not; digests; stopping."""

import smtplib
from datetime import date, timedelta

import pytest
from django.core import mail
from django.core.management import call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.accounts.models import Person
from builds.post import sending
from builds.post.digest import write_digests
from builds.post.letters import stop_address
from builds.post.models import Letter, MailWish, News
from builds.post.tell import tell
from tests import factories

pytestmark = pytest.mark.django_db


def someone(when="", email="b@kits.example"):
    person = factories.make_builder()
    Person.objects.filter(pk=person.pk).update(email=email)
    person.refresh_from_db()
    if when:
        MailWish.objects.create(person=person, when=when)
    return person


@pytest.fixture
def unsent(monkeypatch):
    """An urgent letter in the outbox that no worker was asked to send."""
    monkeypatch.setattr("builds.post.tell.send_soon", lambda letter: None)
    tell([someone()], "stop 1", "Switch off.", "/x/", urgent=True)
    return Letter.objects.get()


def test_urgent_news_is_sent_once_however_often_it_is_told(django_capture_on_commit_callbacks):
    person = someone()
    with django_capture_on_commit_callbacks(execute=True):
        assert [tell([person], "stop 1", "Switch off.", "/x/", urgent=True) for _ in range(3)] == [1, 0, 0]
    assert [m.to for m in mail.outbox] == [["b@kits.example"]]
    letter = Letter.objects.get()
    assert sending.send(letter.pk) == "sent" and len(mail.outbox) == 1


def test_the_letter_says_how_to_stop_it():
    """RFC 2369 (List-Unsubscribe), RFC 8058 (one click, over https on a real site), RFC 3834 (Auto-Submitted)."""
    person = someone()
    tell([person], "stop 1", "Switch off.\r\nBcc: x@kits.example", "/review/", urgent=True)
    sending.send_waiting()
    message = mail.outbox[0].message()
    assert message["List-Unsubscribe"] == f"<{stop_address(person)}>"
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert message["Auto-Submitted"] == "auto-generated" and message["Bcc"] is None
    assert "http://127.0.0.1:8000/review/" in mail.outbox[0].body


@pytest.mark.parametrize(("when", "email"), [("never", "b@kits.example"), ("", "")])
def test_who_wants_no_mail_or_has_no_address_gets_none(when, email):
    assert tell([someone(when, email)], "stop 1", "Switch off.", "/x/", urgent=True) == 0
    assert not News.objects.exists() and not Letter.objects.exists()


def test_what_is_not_urgent_waits_for_the_days_digest_and_there_is_one_a_day():
    person, today = someone(), date(2026, 5, 4)
    tell([person], "a", "First.", "/a/")
    tell([person], "b", "Second.", "/b/")
    assert not Letter.objects.exists()
    assert len(write_digests(today)) == 1 and write_digests(today) == []
    assert "2 pieces of news" in Letter.objects.get().subject
    tell([person], "c", "Third.", "/c/")
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
    tell([person], "stop 1", "Switch off.", "/x/", urgent=True)
    assert not Letter.objects.exists() and len(write_digests(date(2026, 5, 4))) == 1


def test_a_server_that_will_not_is_tried_again(monkeypatch, unsent):

    def refuse(self, *args, **kwargs):
        raise smtplib.SMTPServerDisconnected("gone")

    with monkeypatch.context() as patched:
        patched.setattr("django.core.mail.EmailMessage.send", refuse)
        for attempt in (1, 2):
            assert sending.send_waiting() == {"failed": 1}
            unsent.refresh_from_db()
            assert unsent.state == "failed" and "gone" in unsent.error and unsent.attempts == attempt
    call_command("digest")
    unsent.refresh_from_db()
    assert unsent.state == "sent" and unsent.error == "" and len(mail.outbox) == 1


def test_after_the_last_attempt_nothing_more_is_tried(unsent):
    Letter.objects.update(state="failed", attempts=sending.MOST_ATTEMPTS)
    assert sending.send_waiting() == {} and not mail.outbox


def test_a_letter_another_worker_holds_is_left_to_it_unless_it_was_abandoned(unsent):
    Letter.objects.update(state="sending", taken_at=timezone.now())
    assert sending.send(unsent.pk) == "sending" and not mail.outbox
    Letter.objects.update(taken_at=timezone.now() - timedelta(minutes=20))
    assert sending.send(unsent.pk) == "sent" and len(mail.outbox) == 1


def test_what_is_rolled_back_is_not_told():
    person = someone()
    with pytest.raises(RuntimeError), transaction.atomic():
        tell([person], "stop 1", "Switch off.", "/x/", urgent=True)
        raise RuntimeError
    assert not Letter.objects.exists()


def test_one_post_without_a_cookie_stops_the_letters_and_looking_does_not():
    person, client = someone(), Client(enforce_csrf_checks=True)
    address = stop_address(person).removeprefix("http://127.0.0.1:8000")
    assert client.get(address).status_code == 200 and not MailWish.objects.exists()
    assert client.post(address, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert MailWish.objects.get(person=person).when == "never"
    assert tell([person], "a", "Words.", "/x/") == 0


@pytest.mark.parametrize("token", ["x", "1", "MQ:1abc:forged"])
def test_a_token_this_site_did_not_sign_stops_nobody(token, client):
    assert client.post(reverse("post:stop", args=[token])).status_code == 404
    assert not MailWish.objects.exists()


def test_the_mail_page_keeps_address_and_wish_and_refuses_what_is_no_address(client):
    person = someone()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post(reverse("post:mail"), {"email": "not an address", "when": "daily"})
    assert answer.status_code == 422 and 'value="not an address"' in answer.content.decode()
    assert client.post(reverse("post:mail"), {"email": "c@kits.example", "when": "daily"}).status_code == 302
    person.refresh_from_db()
    assert (person.email, person.mail_wish.when) == ("c@kits.example", "daily")
