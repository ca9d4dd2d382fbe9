"""What a designer of a kit may do. Whoever made a kit owns it and needs no row."""

from django.conf import settings
from django.db import models
from django.utils.translation import pgettext_lazy

from builds.guides.models.kits import Kit


class KitRole(models.Model):
    class Role(models.TextChoices):
        OWNER = "owner", pgettext_lazy("of a kit", "owner")
        EDITOR = "editor", pgettext_lazy("of a kit", "editor")
        READER = "reader", pgettext_lazy("of a kit", "reader")

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="roles")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="kit_roles")
    role = models.CharField(max_length=6, choices=Role.choices)

    class Meta:
        constraints = [models.UniqueConstraint("kit", "person", name="one_role_a_designer")]

    def __str__(self):
        return f"{self.person}: {self.role}"


def find_role(person, kit: Kit) -> str:
    """The role of one of the kit's designers."""
    row = KitRole.objects.filter(kit=kit, person=person).first()
    return row.role if row else KitRole.Role.OWNER
