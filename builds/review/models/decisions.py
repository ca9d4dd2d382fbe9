"""What the designer decided on a finding or a snag, and the edit of the next draft that came of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from builds.bench.models import Snag
from builds.guides.models import Check, Revision
from builds.ui.messages.findings import evidence_sentence


class Decision(models.Model):
    """Accepted (with the edit it made), rejected or deferred with a reason. One for each check or snag of a
    revision."""

    class State(models.TextChoices):
        ACCEPTED = "accepted", _("accepted")
        REJECTED = "rejected", _("rejected")
        DEFERRED = "deferred", _("deferred")

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="decisions")
    check_row = models.ForeignKey(
        Check, null=True, blank=True, on_delete=models.CASCADE, related_name="decisions", db_column="check_id"
    )
    snag = models.ForeignKey(Snag, null=True, blank=True, on_delete=models.CASCADE, related_name="decisions")
    state = models.CharField(max_length=10, choices=State.choices)
    finding = models.CharField(max_length=20, blank=True)
    basis = models.JSONField(
        null=True, blank=True
    )  # the finding it was decided on: {"finding": its figures, "n": builds}
    evidence = models.TextField(blank=True)  # a builder's own words; of old decisions, the finding in words
    reason = models.TextField(blank=True)
    draft = models.ForeignKey(Revision, null=True, blank=True, on_delete=models.SET_NULL, related_name="changes")
    edits = models.JSONField(default=list)  # [{"where", "field", "before", "after"}]
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint("revision", "check_row", condition=Q(snag=None), name="one_decision_a_check"),
            models.UniqueConstraint("revision", "snag", condition=Q(check_row=None), name="one_decision_a_snag"),
            models.CheckConstraint(
                name="decision_on_one_thing",
                condition=Q(check_row=None, snag__isnull=False) | Q(check_row__isnull=False, snag=None),
            ),
        ]

    @property
    def evidence_text(self) -> str:
        """The numbers, or the words, that it was decided on."""
        return evidence_sentence(self.basis) if self.basis else self.evidence

    @property
    def is_accepted(self) -> bool:
        return self.state == self.State.ACCEPTED

    def __str__(self):
        return f"{self.state}: {self.check_row or self.snag}"
