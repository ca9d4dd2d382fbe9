"""The daily summary: every notification that no e-mail has carried yet, once a day for each person. Whoever has not
confirmed their address gets theirs once they have."""

from datetime import date, timedelta

from django.db import transaction
from django.utils import timezone
from django.utils.translation import ngettext

from builds.accounts.models import Person
from builds.notifications.emails import write_email, write_in_language_of
from builds.notifications.models import Email, Notification
from builds.notifications.notify import wants_mail

KEPT = timedelta(days=30)  # for an address that is not confirmed


def write_digests(today: date) -> list[Email]:
    """Write the day's summaries; a second call on the same day writes none for those who had theirs."""
    # By notification, not by person: a filter on letter=None over the join would go through everybody who has none.
    people = Person.objects.filter(pk__in=Notification.objects.filter(letter=None).values("person"))
    return [email for person in people if (email := _write(person, today))]


@transaction.atomic
def _write(person: Person, today: date) -> Email | None:
    Person.objects.select_for_update().get(pk=person.pk)  # two runs at once take their turns
    waiting = list(Notification.objects.filter(person=person, letter=None))
    key = f"digest {today:%Y-%m-%d}"
    if not waiting or Email.objects.filter(person=person, key=key).exists():
        return None
    rows = Notification.objects.filter(pk__in=[n.pk for n in waiting])
    if not wants_mail(person):
        rows.delete()  # unsubscribed since: nothing is kept for later
        return None
    if not person.has_confirmed_address:
        rows.filter(at__lt=timezone.now() - KEPT).delete()
        return None
    with write_in_language_of(person):
        count = len(waiting)
        subject = ngettext("%(count)d message about your kit builds", "%(count)d messages about your kit builds", count)
        email = write_email(person, key, subject % {"count": count}, waiting)
    rows.update(letter=email)
    return email
