"""What is done once a day: summaries by mail, and everything that has had its time is deleted."""

from datetime import timedelta

from django.core.management import call_command
from django.utils import timezone

from builds.accounts import devices, letters, limits
from builds.guides.offers import end_lapsed
from builds.jobs.models import Job
from builds.notifications.digest import write_digests
from builds.notifications.sending import ask_for_waiting

LETTERS = (
    "letter",
    "reset",
    "reset-letter",
    "account-letter",
    "confirm-letter",
)  # jobs that nobody asks about once they are done


def run() -> dict[str, int]:
    """{what was done: how often}."""
    now = timezone.now()
    written = write_digests(timezone.localdate())
    call_command("clearsessions", verbosity=0)
    call_command("prune_db_task_results", verbosity=0)
    ended = Job.objects.filter(kind__in=LETTERS, state__in=(Job.State.DONE, Job.State.FAILED))
    return {
        "digests written": len(written),
        "e-mails to send": ask_for_waiting(),
        "jobs deleted": ended.filter(ended_at__lt=now - timedelta(days=2)).delete()[0],
        "counts deleted": limits.prune(now - timedelta(days=2)),
        "addresses to confirm": letters.ask_everybody(),
        "offers lapsed": end_lapsed(),
        "devices deleted": devices.forget_ended(),
    }
