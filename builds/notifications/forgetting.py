"""What a closed account leaves of its e-mail: nothing, and what was waiting to be sent is not."""

from builds.accounts.models import Person
from builds.notifications.models import Email, Notification, Preference


def forget_mail(person: Person) -> None:
    for rows in (Notification, Email, Preference):
        rows.objects.filter(person=person).delete()
