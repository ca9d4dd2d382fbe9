"""Roles of a kit's designers: who decides about access, and that a kit is never without an owner."""

import pytest
from django.test import Client
from django.urls import reverse

from builds.accounts.models import Event
from builds.guides import co_designers, offers
from builds.guides.models import KitOffer, KitRole, find_role
from checks.errors import ChecksError
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
Role = KitRole.Role


@pytest.fixture
def owner():
    return factories.make_designer()


@pytest.fixture
def kit(owner):
    return factories.make_revision(designer=owner).kit


def answer(person, do, offer=None):
    browser = Client()
    browser.force_login(person)
    offer = offer or KitOffer.objects.filter(person=person).latest("pk")
    return browser.post(reverse("guides:answer-offer", args=[offer.pk]), {"do": do})


def page(kit):
    return reverse("guides:people", args=[kit.key])


def test_whoever_made_a_kit_owns_it_and_adds_others(client, kit, owner):
    editor = factories.make_builder(name="Designer Ed")
    client.force_login(owner)
    assert client.post(page(kit), {"name": "designer ed", "role": "editor"}).status_code == 302
    assert answer(editor, "accept").status_code == 302
    assert (find_role(owner, kit), find_role(editor, kit)) == (Role.OWNER, Role.EDITOR)
    client.force_login(editor)
    assert client.get(reverse("review:dashboard", args=[kit.key, "A"])).status_code == 200
    assert client.get(page(kit)).status_code == 403


@pytest.mark.parametrize("name", ["nobody here", ""])
def test_an_unknown_name_is_not_added_as_co_designer(client, kit, owner, name):
    client.force_login(owner)
    assert client.post(page(kit), {"name": name, "role": "editor"}).status_code == 422
    assert kit.designers.count() == 1


def test_a_kit_handed_over_has_a_new_owner_and_keeps_the_old_one_as_editor(client, kit, owner):
    heir = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=heir, role=Role.EDITOR)
    client.force_login(owner)
    client.post(reverse("guides:change-person", args=[kit.key, heir.pk]), {"do": "hand-over"})
    assert (find_role(heir, kit), find_role(owner, kit)) == (Role.EDITOR, Role.OWNER)
    answer(heir, "accept")
    assert (find_role(heir, kit), find_role(owner, kit)) == (Role.OWNER, Role.EDITOR)
    assert client.get(page(kit)).status_code == 403


@pytest.mark.parametrize("wish", ["editor", "reader", "remove"])
def test_the_last_owner_stays(client, kit, owner, wish):
    client.force_login(owner)
    client.post(reverse("guides:change-person", args=[kit.key, owner.pk]), {"do": wish})
    assert find_role(owner, kit) == Role.OWNER and kit.designers.get() == owner


def test_no_button_offers_to_take_the_only_owner_away(client, kit, owner):
    client.force_login(owner)
    mine = reverse("guides:change-person", args=[kit.key, owner.pk])
    assert b'value="remove"' not in client.get(page(kit)).content
    heir = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=heir, role=Role.OWNER)
    offered = client.get(page(kit)).content.decode()
    assert offered.count('value="remove"') == 2 and mine in offered


def test_an_only_owner_cannot_close_the_account_before_handing_over(client, kit, owner):
    from builds.accounts import closing

    assert closing.why_not_closed(owner)
    heir = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=heir, role=Role.OWNER)
    assert not closing.why_not_closed(owner)
    closing.close(owner)
    assert kit.designers.get() == heir


@pytest.mark.lengthy
def test_a_reader_cannot_import_a_revision_into_the_kit(kit, owner):
    from builds.guides.guide_file import GuideErrors, read_guide, store_guide

    reader = factories.make_designer()
    revision = store_guide(read_guide(GUIDE.encode()), owner)
    factories.join_kit(kit=revision.kit, owner=owner, person=reader, role=Role.READER)
    later = GUIDE.replace('revision = "A"', 'revision = "B"')
    with pytest.raises(GuideErrors):
        store_guide(read_guide(later.encode()), reader)
    assert store_guide(read_guide(later.encode()), owner).letter == "B"


def test_the_record_says_who_did_what_to_owners(client, kit, owner):
    eve = factories.make_designer(name="Designer Eve")
    factories.join_kit(kit=kit, owner=owner, person=eve, role=Role.EDITOR)
    client.force_login(owner)
    client.post(
        reverse("review:halt", args=[kit.key, "A"]), {"stage": kit.revisions.get().stages.first().pk, "reason": "x"}
    )
    actions = set(Event.objects.filter(kit=kit.key).values_list("action", flat=True))
    assert actions == {"role-offered", "offer-accepted", "review:halt"}
    shown = client.get(page(kit)).content.decode()
    assert "Designer Eve" in shown and owner.display_name in shown


def test_somebody_removed_sees_nothing_any_more(client, kit, owner):
    other = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=other, role=Role.OWNER)
    co_designers.remove(kit, owner, other)
    client.force_login(other)
    assert client.get(reverse("review:dashboard", args=[kit.key, "A"])).status_code == 404


def test_a_co_designer_is_not_added_twice(kit, owner):
    with pytest.raises(ChecksError):
        offers.offer_to(kit, owner, owner.display_name, Role.READER)


@pytest.mark.parametrize("role", [Role.EDITOR, Role.READER])
def test_a_co_designer_who_makes_no_kits_of_their_own_finds_the_kits_on_every_page(client, kit, owner, role):
    person = factories.make_builder()
    client.force_login(person)
    link = f'<a href="{reverse("guides:kits")}">Kits</a>'
    assert link not in client.get(reverse("accounts:meters")).content.decode()
    factories.join_kit(kit=kit, owner=owner, person=person, role=role)
    for page in ("accounts:meters", "bench:builds", "accounts:account"):
        assert link in client.get(reverse(page)).content.decode()
