"""Offers of a role in a kit: made by an owner, accepted or declined by whoever it is for, withdrawn, or lapsed.

Each step is in the record of the kit, and the other side gets an e-mail.
"""

from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from builds.accounts import letters
from builds.accounts.events import record
from builds.accounts.links import site
from builds.accounts.models import Person
from builds.accounts.names import name_key
from builds.guides import co_designers
from builds.guides.ended_offers import end, take_back
from builds.guides.models import Kit, KitOffer, KitRole, find_role
from builds.ui.errors import SiteError

End = KitOffer.End
Role = KitRole.Role


def offer_to(kit: Kit, by: Person, name: str, role: str) -> KitOffer:
    """Offer a role to somebody who is no designer of the kit yet. Raises SiteError."""
    person = Person.objects.filter(name_key=name_key(name), is_active=True).first()
    if person is None:
        raise SiteError(
            _("Nobody here has that name. Ask for the name they sign in with."), argument="name", code="unknown"
        )
    if kit.designers.filter(pk=person.pk).exists():
        raise SiteError(_("They are already a designer of this kit."), argument="name", code="there")
    return offer(kit, by, person, role)


@transaction.atomic
def offer(kit: Kit, by: Person, person: Person, role: str, *, hands_over: bool = False) -> KitOffer:
    """Raises SiteError where another offer to them waits already."""
    co_designers.hold(kit)
    end_lapsed(kit)
    if KitOffer.objects.filter(kit=kit, person=person, end="").exists():
        raise SiteError(
            _("There is already an open offer to %(person)s. Withdraw it first.") % {"person": person},
            argument="name",
            code="waiting",
        )
    made = KitOffer.objects.create(kit=kit, person=person, made_by=by, role=role, hands_over=hands_over)
    action = "kit-offered" if hands_over else "role-offered"
    record(by, action, kit.key, person=person.display_name, role=role)
    letters.write_to(person, action, by=by.display_name, kit=kit.name, role=role, link=site(reverse("guides:offers")))
    return made


@transaction.atomic
def accept(person: Person, pk: int) -> bool:
    """Take the role; False where the offer has ended, or its maker may no longer make it."""
    made = _held(pk, person=person)
    if made is None or not _may_still_offer(made):
        return False
    end(made, End.ACCEPTED)
    co_designers.let_in(made.kit, person, made.role)
    if made.hands_over:
        co_designers.change(made.kit, made.made_by, made.made_by, Role.EDITOR)
    record(person, "offer-accepted", made.kit.key, role=made.role)
    _answer(made, "offer-accepted")
    return True


@transaction.atomic
def decline(person: Person, pk: int) -> bool:
    made = _held(pk, person=person)
    if made is None:
        return False
    end(made, End.DECLINED)
    record(person, "offer-declined", made.kit.key, role=made.role)
    _answer(made, "offer-declined")
    return True


@transaction.atomic
def withdraw(kit: Kit, by: Person, pk: int) -> bool:
    """Any owner may: an offer is the kit's."""
    made = _held(pk, kit=kit)
    if made is None:
        return False
    take_back(made, by)
    return True


def end_lapsed(kit: Kit | None = None) -> int:
    """Put on record which offers nobody answered in time."""
    lapsed = KitOffer.objects.filter(end="", expires_at__lte=timezone.now()).select_related("kit", "person")
    if kit is not None:
        lapsed = lapsed.filter(kit=kit)
    return sum(_lapse(made.pk) for made in lapsed)


@transaction.atomic
def _lapse(pk: int) -> bool:
    made = KitOffer.objects.select_related("kit", "person", "made_by").get(pk=pk)
    ended = KitOffer.objects.filter(pk=pk, end="").update(end=End.LAPSED, ended_at=timezone.now())
    if ended:
        record(None, "offer-lapsed", made.kit.key, person=made.person.display_name, role=made.role)
        _answer(made, "offer-lapsed")
    return bool(ended)


def _held(pk: int, **whose) -> KitOffer | None:
    """The open offer, with its kit held: a second answer in the same moment finds it ended."""
    offer = KitOffer.objects.filter(pk=pk, **whose).first()
    if offer is None:
        return None
    co_designers.hold(offer.kit)
    return KitOffer.objects.open().select_related("kit", "person", "made_by").filter(pk=pk).first()


def _may_still_offer(made: KitOffer) -> bool:
    by = made.made_by
    is_designer = by.is_active and made.kit.designers.filter(pk=by.pk).exists()
    return is_designer and find_role(by, made.kit) == Role.OWNER


def _answer(made: KitOffer, code: str) -> None:
    """To whoever made the offer."""
    letters.write_to(made.made_by, code, person=made.person.display_name, kit=made.kit.name, role=made.role)
