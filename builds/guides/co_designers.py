"""The designers of a kit: adding one, changing a role, handing the kit over, taking one away. A kit keeps an owner."""

from django.db import transaction
from django.utils.translation import gettext as _

from builds.accounts.events import record
from builds.accounts.models import Person
from builds.accounts.names import name_key
from builds.guides.models import Kit, KitRole
from builds.ui.errors import SiteError

Role = KitRole.Role


def roles_of(kit: Kit) -> list[tuple[Person, str]]:
    role_of = dict(kit.roles.values_list("person", "role"))
    people = kit.designers.order_by("display_name")
    return [(person, role_of.get(person.pk, Role.OWNER)) for person in people]


@transaction.atomic
def add(kit: Kit, by: Person, name: str, role: str) -> Person:
    """Let a person who has an account here into the kit. Raises SiteError."""
    named = Person.objects.select_for_update().filter(name_key=name_key(name), is_active=True)
    person = named.first()  # held, so that no closed account is let in
    if person is None:
        raise SiteError(
            _("Nobody here has that name. Ask for the name they sign in with."), argument="name", code="unknown"
        )
    if kit.designers.filter(pk=person.pk).exists():
        raise SiteError(_("They are a designer of this kit already."), argument="name", code="there")
    KitRole.objects.create(kit=kit, person=person, role=role)
    kit.designers.add(person)
    record(by, "person-added", kit.key, person=person.display_name, role=role)
    return person


@transaction.atomic
def change(kit: Kit, by: Person, person: Person, role: str) -> None:
    """Raises SiteError where the kit would have no owner."""
    _hold(kit)
    if role != Role.OWNER:
        _keep_an_owner(kit, person)
    KitRole.objects.update_or_create(kit=kit, person=person, defaults={"role": role})
    record(by, "role-changed", kit.key, person=person.display_name, role=role)


@transaction.atomic
def hand_over(kit: Kit, by: Person, person: Person) -> None:
    """Another becomes the owner; whoever hands over stays as an editor."""
    change(kit, by, person, Role.OWNER)
    change(kit, by, by, Role.EDITOR)


@transaction.atomic
def remove(kit: Kit, by: Person, person: Person) -> None:
    """Raises SiteError where the kit would have no owner."""
    _hold(kit)
    _keep_an_owner(kit, person)
    kit.designers.remove(person)
    KitRole.objects.filter(kit=kit, person=person).delete()
    record(by, "person-removed", kit.key, person=person.display_name)


def _hold(kit: Kit) -> None:
    Kit.objects.select_for_update().get(pk=kit.pk)


def only_owner(kit: Kit) -> Person | None:
    """Who has to stay until there is another owner."""
    owners = [person for person, role in roles_of(kit) if role == Role.OWNER]
    return owners[0] if len(owners) == 1 else None


def _keep_an_owner(kit: Kit, leaving: Person) -> None:
    if all(person == leaving for person, role in roles_of(kit) if role == Role.OWNER):
        raise SiteError(_("A kit needs an owner. Hand it over to somebody first."), argument="role", code="last-owner")


def kits_without_owner(person: Person) -> list[str]:
    """The kits that would have no owner without this person (accounts.closing)."""
    alone = [
        kit.name for kit in person.kits.all() if [p for p, role in roles_of(kit) if role == Role.OWNER] == [person]
    ]
    return [_("You are the only owner of %(kit)s. Hand it over first.") % {"kit": name} for name in alone]


def forget(person: Person) -> None:
    KitRole.objects.filter(person=person).delete()
    person.kits.clear()
