"""Sending what is in the outbox: each letter is claimed before it is sent, so that two workers do not send it twice."""

from datetime import timedelta

from django.core.mail import EmailMessage
from django.db.models import F, Q
from django.utils import timezone

from builds.jobs import queue
from builds.jobs.registry import MAIL, job
from builds.notifications.emails import unsubscribe_address
from builds.notifications.models import NO_ADDRESS, Email

# Minutes to wait after each attempt that failed: two days in all, for a server that is down over a weekend.
WAITS = (1, 5, 15, 60, 180, 360, 720, 1440)
MOST_ATTEMPTS = len(WAITS) + 1
ABANDONED = timedelta(minutes=15)  # a claim of this age has lost its worker
State = Email.State


def send_soon(letter: Email) -> None:
    """Ask a worker to send it once the transaction is committed."""
    queue.start("letter", str(letter.pk), letter.pk)


def due(now=None):
    """E-mails that may be tried now: new ones, failed ones whose time has come, and those whose worker was lost. A
    moment farther ahead than any wait is of a clock that was set back since."""
    now = now or timezone.now()
    longest = now + timedelta(minutes=WAITS[-1])
    tried = Email.objects.filter(attempts__lt=MOST_ATTEMPTS).filter(
        Q(next_at=None) | Q(next_at__lte=now) | Q(next_at__gt=longest)
    )
    is_lost = Q(taken_at__lt=now - ABANDONED) | Q(taken_at__gt=now + ABANDONED)
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
    if not letter.person.email:
        return _mark(letter, State.FAILED, error=NO_ADDRESS)
    try:
        _message(letter).send()
    except OSError as error:  # smtplib's errors are OSErrors, like a server that cannot be reached
        wait = timedelta(minutes=WAITS[min(letter.attempts, len(WAITS)) - 1])
        return _mark(letter, State.FAILED, error=str(error)[:300], next_at=timezone.now() + wait)
    return _mark(letter, State.SENT, error="", sent_at=timezone.now())


def _mark(letter, state, **fields) -> str:
    Email.objects.filter(pk=letter.pk, taken_at=letter.taken_at).update(state=state, **fields)
    return state


def _message(letter: Email) -> EmailMessage:
    stop = unsubscribe_address(letter.person)
    return EmailMessage(
        letter.subject,
        letter.body,
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


def send_waiting() -> dict[str, int]:
    """Try everything that waits, failed before or was abandoned; {how it stands: how many}."""
    counts: dict[str, int] = {}
    waiting = due().order_by("made_at")
    for pk in waiting.values_list("pk", flat=True):
        state = send(pk)
        counts[state] = counts.get(state, 0) + 1
    return counts
