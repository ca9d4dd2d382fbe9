"""Sending what is in the outbox: each letter is claimed before it is sent, so that two workers do not send it twice.

Only a confirmed address is told what happened. To another goes, where it is urgent, that something waits: who has
mistyped the address still learns of it on the site, and a stranger reads nothing of anybody's build.
"""

from datetime import timedelta

from django.core.mail import EmailMessage
from django.db.models import F, Q
from django.utils import timezone

from builds.jobs import queue
from builds.jobs.alive import alive
from builds.jobs.models import SILENT
from builds.jobs.registry import MAIL, MAIL_WAITS, job
from builds.notifications.emails import unsubscribe_address, words_for_unconfirmed, write_in_language_of
from builds.notifications.models import NO_ADDRESS, SAID_LITTLE, UNCONFIRMED, URGENT, Email

MOST_ATTEMPTS = len(MAIL_WAITS) + 1
SELDOM = timedelta(hours=1)  # between two letters to an address that is not confirmed
State = Email.State


def send_soon(letter: Email) -> None:
    """Ask a worker to send it once the transaction is committed."""
    queue.start("letter", str(letter.pk), letter.pk)


def due(now=None):
    """E-mails that may be tried now: new ones, failed ones whose time has come, and those whose worker was lost. A
    moment farther ahead than any wait is of a clock that was set back since."""
    now = now or timezone.now()
    longest = now + timedelta(minutes=MAIL_WAITS[-1])
    tried = Email.objects.filter(attempts__lt=MOST_ATTEMPTS).filter(
        Q(next_at=None) | Q(next_at__lte=now) | Q(next_at__gt=longest)
    )
    is_lost = Q(taken_at__lt=now - SILENT) | Q(taken_at__gt=now + SILENT)
    return tried.filter(Q(state__in=(State.WAITING, State.FAILED)) | Q(state=State.SENDING) & is_lost)


@job("letter", queue=MAIL, limit=120)
def _send_job(_report, pk: int) -> str:
    return send(pk)


def send(pk: int) -> str:
    """Send one e-mail unless another worker has it or it was sent; return its state. A failure is kept and tried
    again."""
    now = timezone.now()
    mine = due(now).filter(pk=pk)
    if not mine.update(state=State.SENDING, taken_at=now, attempts=F("attempts") + 1):
        return Email.objects.filter(pk=pk).values_list("state", flat=True).first() or "gone"
    letter = Email.objects.select_related("person").get(pk=pk)
    with alive(_claimed(letter), "taken_at"):
        return _send_claimed(letter)


def _claimed(letter: Email):
    """The letter while it is held by whoever made this attempt."""
    return Email.objects.filter(pk=letter.pk, state=State.SENDING, attempts=letter.attempts)


def _send_claimed(letter: Email) -> str:
    person = letter.person
    if not person.email:
        return _mark(letter, State.FAILED, error=NO_ADDRESS, attempts=MOST_ATTEMPTS)
    if not person.has_confirmed_address and not _may_say_little(letter):
        _leave_to_summary(letter)
        return _mark(letter, State.FAILED, error=UNCONFIRMED, attempts=MOST_ATTEMPTS)
    try:
        _message(letter).send()
    except Exception as error:  # smtplib's errors, like a server that cannot be reached; or words it cannot carry
        wait = timedelta(minutes=MAIL_WAITS[min(letter.attempts, len(MAIL_WAITS)) - 1])
        return _mark(letter, State.FAILED, error=str(error)[:300], next_at=timezone.now() + wait)
    if not person.has_confirmed_address:
        _leave_to_summary(letter)
    problem = "" if person.has_confirmed_address else SAID_LITTLE
    return _mark(letter, State.SENT, error=problem, sent_at=timezone.now())


def _may_say_little(letter: Email) -> bool:
    """That something waits is worth a letter where it is urgent, and the last one to this person was not just now."""
    sent = Email.objects.filter(person=letter.person, sent_at__gt=timezone.now() - SELDOM)
    return letter.key.startswith(URGENT) and not sent.exists()


def _leave_to_summary(letter: Email) -> None:
    """The summary tells it once the address is confirmed."""
    letter.news.update(letter=None)


def _mark(letter, state, **fields) -> str:
    _claimed(letter).update(state=state, **fields)
    return state


def _message(letter: Email) -> EmailMessage:
    stop, subject, body = unsubscribe_address(letter.person), letter.subject, letter.body
    if not letter.person.has_confirmed_address:
        with write_in_language_of(letter.person):
            subject, body = words_for_unconfirmed(letter.person)
    return EmailMessage(
        subject,
        body,
        to=[letter.person.email],
        headers={
            # RFC 2369 and RFC 8058: the reader's own mail program can stop these letters with one click.
            "List-Unsubscribe": f"<{stop}>",
            "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
            "Auto-Submitted": "auto-generated",  # RFC 3834: out-of-office answers stay at home
            # The same at every attempt, so that a letter sent twice over is known for one (RFC 5322, 3.6.4).
            "Message-ID": f"<letter-{letter.pk}-{letter.made_at:%Y%m%d%H%M%S}@{_host(stop)}>",
        },
    )


def _host(address: str) -> str:
    return address.split("/")[2].rsplit(":", 1)[0]


def ask_for_waiting() -> int:
    """Ask the workers to try everything that waits, failed before or was abandoned; how many."""
    waiting = list(due().order_by("made_at").values_list("pk", flat=True))
    for pk in waiting:
        queue.start("letter", str(pk), pk, restart=True)
    return len(waiting)
