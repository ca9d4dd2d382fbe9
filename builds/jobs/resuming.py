"""Jobs whose worker was lost are taken up again by themselves, once; messages that were lost are sent again."""

import logging
from datetime import timedelta

from django.db.models import Q
from django.utils import timezone

from builds.jobs.models import BROKE, MOST_RESUMED, SILENT, Job
from builds.jobs.queue import send_off
from builds.jobs.registry import MAIL_WAITS

UNSENT = timedelta(minutes=5)  # a waiting job of this age may have lost its message; a second one does no harm
LONGEST_WAIT = timedelta(minutes=MAIL_WAITS[-1])  # a moment farther ahead is of a clock that was set back since
log = logging.getLogger(__name__)


def resume_lost(now=None) -> int:
    """Take up again what has lost its worker; how many."""
    now = now or timezone.now()
    Job.objects.filter(seen_at__gt=now + SILENT).update(seen_at=now)  # the clock was set back: none is seen ahead of it
    count = 0
    for job in Job.objects.filter(state=Job.State.RUNNING, seen_at__lt=now - SILENT):
        as_seen = Job.objects.filter(pk=job.pk, state=job.state, seen_at=job.seen_at)
        if job.resumed >= MOST_RESUMED:
            as_seen.update(state=Job.State.FAILED, error=BROKE, ended_at=now)
            log.error("job %s lost its worker twice", job)
        elif as_seen.update(state=Job.State.WAITING, resumed=job.resumed + 1, seen_at=now, started_at=None):
            log.warning("job %s lost its worker and is taken up again", job)
            send_off(job)
            count += 1
    return count + _send_again(now)


def _send_again(now) -> int:
    count = 0
    is_lost = Q(not_before=None, seen_at__lt=now - UNSENT)
    is_time = Q(not_before__lte=now) | Q(not_before__gt=now + LONGEST_WAIT)
    for job in Job.objects.filter(is_lost | is_time, state=Job.State.WAITING, resumed__lt=100):
        as_seen = Job.objects.filter(pk=job.pk, state=job.state, seen_at=job.seen_at, not_before=job.not_before)
        if as_seen.update(seen_at=now, not_before=None):
            send_off(job)
            count += 1
    return count
