"""Offers of a role in a kit that come to their end before anybody answers."""

from django.utils import timezone

from builds.accounts import letters
from builds.accounts.events import record
from builds.accounts.models import Person
from builds.guides.models import Kit, KitOffer


def end(made: KitOffer, how: KitOffer.End) -> None:
    made.end, made.ended_at = how, timezone.now()
    made.save(update_fields=["end", "ended_at"])


def take_back(made: KitOffer, by: Person) -> None:
    end(made, KitOffer.End.WITHDRAWN)
    record(by, "offer-withdrawn", made.kit.key, person=made.person.display_name, role=made.role)
    letters.write_to(made.person, "offer-withdrawn", by=by.display_name, kit=made.kit.name)


def take_back_all(kit: Kit, person: Person, by: Person) -> None:
    """Somebody owns the kit no longer, or has left it: what they offered ends with it, and what was offered to them."""
    waiting = KitOffer.objects.filter(kit=kit, end="").select_related("kit", "person")
    for made in [*waiting.filter(made_by=person), *waiting.filter(person=person)]:
        take_back(made, by)
