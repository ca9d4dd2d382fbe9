"""Letters about an account outlive a mail server that is down over a weekend, and nobody gets two for it."""

import smtplib
from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from builds.accounts import letters
from builds.accounts.models import Invitation
from builds.jobs.models import Job
from builds.jobs.registry import MAIL_WAITS
from builds.jobs.resuming import LONGEST_WAIT, resume_lost
from builds.operations.health import status
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def person():
    builder = factories.make_builder()
    factories.give_address(builder, "b@kits.example")
    return builder


@pytest.fixture
def down(monkeypatch):
    """The mail server is down until the end of the block."""

    def refuse(self, *args, **kwargs):
        raise smtplib.SMTPServerDisconnected("gone")

    with monkeypatch.context() as patched:
        patched.setattr("django.core.mail.EmailMessage.send", refuse)
        yield patched


def write(kind, person):
    if kind == "account-letter":
        letters.write_to(person, "password-changed")
    elif kind == "confirm-letter":
        factories.give_address(person, "b@kits.example", confirmed=False)
        letters.ask_to_confirm(person)
    else:
        letters.ask_for_reset(person.email)
    return Job.objects.get(kind=kind)


@pytest.mark.lengthy
@pytest.mark.parametrize("kind", ["account-letter", "confirm-letter", "reset-letter"])
def test_each_letter_is_tried_again_until_the_server_is_back(kind, person, down):
    job, waited = write(kind, person), timedelta()
    for count, minutes in enumerate(MAIL_WAITS, 1):
        job.refresh_from_db()
        assert (job.state, job.attempts) == ("waiting", count)
        wait = job.not_before - timezone.now()
        assert timedelta(0) < timedelta(minutes=minutes) - wait < timedelta(minutes=1)
        assert resume_lost() == 0, "not before its time"
        waited += wait
        if count < len(MAIL_WAITS):
            Job.objects.update(not_before=timezone.now())
            assert resume_lost() == 1
    assert waited > timedelta(days=1) and not mail.outbox
    down.undo()
    Job.objects.filter(pk=job.pk).update(not_before=timezone.now())
    assert resume_lost() == 1 and len(mail.outbox) == 1
    job.refresh_from_db()
    assert job.state == "done" and resume_lost() == 0


def test_a_server_that_stays_away_ends_the_letter(person, down):
    job = write("account-letter", person)
    Job.objects.update(attempts=len(MAIL_WAITS), not_before=timezone.now())
    assert resume_lost() == 1
    job.refresh_from_db()
    assert job.state == "failed"


@pytest.mark.lengthy
def test_links_that_never_left_do_not_count_against_the_next(person, down):
    """No more than three links are under way for one person: a fourth attempt must not find three that nobody has."""
    write("reset-letter", person)
    for _attempt in range(4):
        Job.objects.update(not_before=timezone.now())
        resume_lost()
    assert not Invitation.objects.exists()
    down.undo()
    Job.objects.filter(state="waiting").update(not_before=timezone.now())
    resume_lost()
    assert len(mail.outbox) == 1 and Invitation.objects.usable().count() == 1


def test_whoever_changed_their_address_meanwhile_gets_no_link_at_the_old_one(person, down):
    job = write("reset-letter", person)
    factories.give_address(person, "c@kits.example")
    down.undo()
    Job.objects.filter(pk=job.pk).update(not_before=timezone.now())
    assert resume_lost() == 1 and not mail.outbox


def test_a_letter_that_waits_is_no_sign_of_a_missing_worker(person, down):
    job = write("account-letter", person)
    Job.objects.update(seen_at=timezone.now() - timedelta(hours=2))
    job.refresh_from_db()
    assert not job.is_overlooked and status().oldest_waiting is None and resume_lost() == 0


@pytest.mark.parametrize(("seconds", "is_overlooked"), [(5, False), (300, True)])
def test_a_job_that_waits_behind_another_is_no_sign_of_a_missing_worker(db, seconds, is_overlooked):
    now = timezone.now()
    waiting = Job.objects.create(kind="circuit", key="a", seen_at=now - timedelta(minutes=5))
    Job.objects.create(kind="faults", key="b", state=Job.State.RUNNING, seen_at=now - timedelta(seconds=seconds))
    assert waiting.is_overlooked is is_overlooked


def test_a_clock_that_was_set_back_delays_no_letter_beyond_the_longest_wait(person, down):
    write("account-letter", person)
    Job.objects.update(not_before=timezone.now() + LONGEST_WAIT + timedelta(minutes=1))
    assert resume_lost() == 1


def test_an_error_that_is_no_server_away_is_not_tried_again(person, monkeypatch):
    monkeypatch.setattr("django.core.mail.EmailMessage.send", lambda self, **_: 1 / 0)
    assert write("account-letter", person).state == "failed"
