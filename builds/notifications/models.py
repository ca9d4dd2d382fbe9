"""What people are told by e-mail: their wish, the news for them, and the letters that carry it."""

from django.conf import settings
from django.db import models
from django.utils import timezone


class Preference(models.Model):
    """How somebody wants to be told. Who has said nothing gets what is urgent at once and the rest once a day."""

    class When(models.TextChoices):
        AT_ONCE = "at once", "what is urgent at once, the rest once a day"
        DAILY = "daily", "everything once a day"
        NEVER = "never", "no mail"

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="notification_preference"
    )
    when = models.CharField(max_length=8, choices=When.choices, default=When.AT_ONCE)

    class Meta:
        db_table = "post_mailwish"


class Email(models.Model):
    """The outbox: a letter is written in the transaction of what it tells of, and sent after it. `key` makes it one
    letter."""

    class State(models.TextChoices):
        WAITING = "waiting"
        SENDING = "sending"
        SENT = "sent"
        FAILED = "failed"

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="letters")
    key = models.CharField(max_length=80)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    taken_at = models.DateTimeField(null=True)
    sent_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "post_letter"
        ordering = ["-made_at", "-pk"]
        constraints = [models.UniqueConstraint("person", "key", name="one_letter_a_key")]

    def __str__(self):
        return f"{self.subject} ({self.state})"


class Notification(models.Model):
    """One thing that happened, for one person: `words` on a line, `path` where to see it. `letter`: what carries it,
    once it does."""

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
