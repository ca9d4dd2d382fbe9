"""The designers of a kit: letting one in, changing a role, taking one away. A kit keeps an owner. Nobody gets into a
kit, or owns one, who has not accepted it (guides.offers)."""

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.accounts import letters
from builds.accounts.events import record
from builds.accounts.models import Invitation, Person
from builds.guides.ended_offers import take_back_all
from builds.guides.models import Kit, KitRole
from builds.ui.errors import SiteError

Role = KitRole.Role


def list_roles(kit: Kit) -> list[tuple[Person, str]]:
    role_of = dict(kit.roles.values_list("person", "role"))
    people = kit.designers.order_by("display_name")
    return [(person, role_of.get(person.pk, Role.OWNER)) for person in people]


def let_in(kit: Kit, person: Person, role: str) -> None:
    """Give a person who wants it a role in the kit. Raises SiteError for a closed account."""
    if not Person.objects.select_for_update().filter(pk=person.pk, is_active=True).exists():
        raise SiteError(_("This account is closed."), argument="name", code="closed")
    KitRole.objects.update_or_create(kit=kit, person=person, defaults={"role": role})
    kit.designers.add(person)


@transaction.atomic
def change(kit: Kit, by: Person, person: Person, role: str) -> None:
    """Between editor and reader, or down from owner; up to owner is offered (guides.offers). Raises SiteError where
    the kit would have no owner."""
    hold(kit)
    if role != Role.OWNER:
        _keep_an_owner(kit, person)
    KitRole.objects.update_or_create(kit=kit, person=person, defaults={"role": role})
    record(by, "role-changed", kit.key, person=person.display_name, role=role)
    _take_back_what_they_gave(kit, person, by, role)
    if by != person:
        letters.write_to(person, "role-changed", by=by.display_name, kit=kit.name, role=role)


@transaction.atomic
def remove(kit: Kit, by: Person, person: Person) -> None:
    """Raises SiteError where the kit would have no owner."""
    hold(kit)
    _keep_an_owner(kit, person)
    kit.designers.remove(person)
    KitRole.objects.filter(kit=kit, person=person).delete()
    record(by, "person-removed", kit.key, person=person.display_name)
    _take_back_what_they_gave(kit, person, by, None)
    if by != person:
        letters.write_to(person, "kit-left", by=by.display_name, kit=kit.name)


def _take_back_what_they_gave(kit: Kit, person: Person, by: Person, role: str | None) -> None:
    """Offers are an owner's; invitations of builders are made by whoever may change the kit."""
    if role != Role.OWNER:
        take_back_all(kit, person, by)
    if role in (None, Role.READER):
        end_invitations(kit, person)


def end_invitations(kit: Kit, maker: Person) -> int:
    """Withdraw the links this person made for builds of the kit that nobody has taken on."""
    theirs = Invitation.objects.usable().filter(made_by=maker, build__revision__kit=kit)
    return theirs.update(revoked_at=timezone.now())


def hold(kit: Kit) -> None:
    Kit.objects.select_for_update().get(pk=kit.pk)


def only_owner(kit: Kit) -> Person | None:
    """Who has to stay until there is another owner."""
    owners = [person for person, role in list_roles(kit) if role == Role.OWNER]
    return owners[0] if len(owners) == 1 else None


def _keep_an_owner(kit: Kit, leaving: Person) -> None:
    if all(person == leaving for person, role in list_roles(kit) if role == Role.OWNER):
        raise SiteError(_("A kit needs an owner. Hand it over to somebody first."), argument="role", code="last-owner")


def kits_without_owner(person: Person) -> list[str]:
    """The kits that would have no owner without this person (accounts.closing)."""
    alone = [
        kit.name for kit in person.kits.all() if [p for p, role in list_roles(kit) if role == Role.OWNER] == [person]
    ]
    return [_("You are the only owner of %(kit)s. Hand it over first.") % {"kit": name} for name in alone]


def forget(person: Person) -> None:
    """Whoever closes the account leaves each kit, and what they gave for it ends."""
    for kit in person.kits.all():
        _take_back_what_they_gave(kit, person, person, None)
    for waiting in person.kit_offers.filter(end="").select_related("kit"):
        take_back_all(waiting.kit, person, person)
    KitRole.objects.filter(person=person).delete()
    person.kits.clear()
