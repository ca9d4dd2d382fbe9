"""E-mail to people: their preference, notifications for them, and the outbox."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

URGENT = "news "  # begins the key of an e-mail that is sent at once
NO_ADDRESS = "no address"  # why an e-mail was not sent
UNCONFIRMED = "unconfirmed address"  # likewise
SAID_LITTLE = "unconfirmed address, said little"  # sent, but without what happened


PROBLEMS = {
    NO_ADDRESS: _("There is no e-mail address to send it to."),
    UNCONFIRMED: _("Nothing was sent, because your e-mail address is not confirmed."),
    SAID_LITTLE: _("The e-mail did not say what happened, because your e-mail address is not confirmed."),
}


class Preference(models.Model):
    """Which e-mails a person gets. Without a row: urgent ones at once, the rest in a daily summary."""

    class When(models.TextChoices):
        AT_ONCE = "at once", _("urgent messages at once, the rest once a day")
        DAILY = "daily", _("everything once a day")
        NEVER = "never", _("no e-mail")

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="notification_preference"
    )
    when = models.CharField(max_length=8, choices=When.choices, default=When.AT_ONCE)
    refused_address = models.EmailField(blank=True, default="", db_default="")  # left alone until it is confirmed

    class Meta:
        db_table = "post_mailwish"


class Email(models.Model):
    """One message of the outbox. It is written in the transaction of the event it reports and sent after it; `key`
    makes it one message, however often it is asked for."""

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        SENDING = "sending", _("sending")
        SENT = "sent", _("sent")
        FAILED = "failed", _("not sent")

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="letters")
    key = models.CharField(max_length=80)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)  # a code of the above, or the mail server's own words
    made_at = models.DateTimeField(default=timezone.now)
    taken_at = models.DateTimeField(null=True)
    next_at = models.DateTimeField(null=True)  # not tried again before
    sent_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "post_letter"
        ordering = ["-made_at", "-pk"]
        constraints = [models.UniqueConstraint("person", "key", name="one_letter_a_key")]

    def __str__(self):
        return f"{self.subject} ({self.state})"

    @property
    def problem(self) -> str:
        """Why it was not sent, for the person it was for; empty where it was."""
        if not self.error:
            return ""
        if self.error in PROBLEMS:
            return str(PROBLEMS[self.error])
        return gettext("The mail server answered: %(error)s. The site will try again.") % {"error": self.error}


class Notification(models.Model):
    """One event, for one person: `words` in one line, `path` of the page that shows it, and the e-mail in which it went
    out, once it has."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="news")
    key = models.CharField(max_length=60)
    words = models.CharField(max_length=300)
    path = models.CharField(max_length=200)
    letter = models.ForeignKey(Email, null=True, on_delete=models.SET_NULL, related_name="news")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        db_table = "post_news"
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint("person", "key", name="one_news_a_key")]
