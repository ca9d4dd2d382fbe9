"""A role in a kit that an owner offers somebody: nothing changes until they accept it."""

from datetime import timedelta

from django.conf import settings
from django.db import models
from django.utils import timezone

from builds.guides.models.kits import Kit
from builds.guides.models.roles import KitRole

LIFE = timedelta(days=14)


def _in_a_life():
    return timezone.now() + LIFE


class KitOfferQuerySet(models.QuerySet):
    def open(self):
        """Those that can be accepted now."""
        return self.filter(end="", expires_at__gt=timezone.now())


class KitOffer(models.Model):
    class End(models.TextChoices):
        ACCEPTED = "accepted"
        DECLINED = "declined"
        WITHDRAWN = "withdrawn"
        LAPSED = "lapsed"

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="offers")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kit_offers")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kit_offers_made")
    role = models.CharField(max_length=6, choices=KitRole.Role.choices)
    hands_over = models.BooleanField(default=False)  # whoever made it becomes an editor
    made_at = models.DateTimeField(default=timezone.now)
    expires_at = models.DateTimeField(default=_in_a_life)
    end = models.CharField(max_length=9, choices=End.choices, blank=True)
    ended_at = models.DateTimeField(null=True)

    objects = KitOfferQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kit", "person"], condition=models.Q(end=""), name="one_waiting_offer_a_person"
            )
        ]

    def __str__(self):
        return f"{self.kit} for {self.person}: {self.role}"
