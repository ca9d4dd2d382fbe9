"""Roles in a kit are offered: nobody is let in, made an owner or rid of a kit without both having said so."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.accounts import closing
from builds.accounts.models import Event, Invitation
from builds.guides import co_designers, offers
from builds.guides.models import KitOffer, KitRole, find_role
from builds.operations import daily
from tests import factories

pytestmark = pytest.mark.django_db
Role = KitRole.Role


@pytest.fixture(autouse=True)
def only_our_part_of_the_day(monkeypatch):
    """Sessions and rows of a queue that the tests do without are deleted by commands of their packages."""
    monkeypatch.setattr(daily, "call_command", lambda *_words, **_options: None)


@pytest.fixture
def owner():
    designer = factories.make_designer()
    factories.give_address(designer, "owner@kits.example")
    return designer


@pytest.fixture
def kit(owner):
    return factories.make_revision(designer=owner).kit


@pytest.fixture
def other():
    person = factories.make_builder()
    factories.give_address(person, "other@kits.example")
    return person


def browser_of(person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def answer(person, offer, do):
    return browser_of(person).post(reverse("guides:answer-offer", args=[offer.pk]), {"do": do})


def actions(kit) -> list[str]:
    return list(Event.objects.filter(kit=kit.key).order_by("pk").values_list("action", flat=True))


def is_in(kit, person) -> bool:
    return kit.designers.filter(pk=person.pk).exists()


@pytest.mark.lengthy
@pytest.mark.parametrize("role", [Role.OWNER, Role.EDITOR, Role.READER])
def test_an_offer_gives_no_access_until_it_is_accepted(kit, owner, other, role, mailoutbox):
    page = reverse("guides:people", args=[kit.key])
    browser_of(owner).post(page, {"name": other.display_name, "role": role})
    board = reverse("review:dashboard", args=[kit.key, "A"])
    assert not is_in(kit, other) and browser_of(other).get(board).status_code in (403, 404)
    (letter,) = mailoutbox
    assert letter.to == ["other@kits.example"] and reverse("guides:offers") in letter.body
    assert kit.name in browser_of(other).get(reverse("guides:offers")).content.decode()
    answer(other, kit.offers.get(), "accept")
    assert find_role(other, kit) == role and browser_of(other).get(board).status_code == 200
    assert actions(kit) == ["role-offered", "offer-accepted"] and mailoutbox[1].to == ["owner@kits.example"]


def test_a_declined_offer_changes_nothing_and_is_on_record(kit, owner, other, mailoutbox):
    offer = offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    answer(other, offer, "decline")
    answer(other, offer, "accept")  # too late
    assert not is_in(kit, other) and not KitRole.objects.filter(person=other).exists()
    assert actions(kit) == ["role-offered", "offer-declined"]
    assert [m.to for m in mailoutbox] == [["other@kits.example"], ["owner@kits.example"]]


@pytest.mark.parametrize("do", ["", "owner", "ACCEPT", "\x00"])
def test_an_answer_that_is_none_leaves_the_offer_open(kit, owner, other, do):
    offer = offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    assert answer(other, offer, do).status_code == 302
    assert KitOffer.objects.open().get() == offer and not is_in(kit, other)


def test_nobody_answers_or_sees_an_offer_to_somebody_else(kit, owner, other):
    offer = offers.offer_to(kit, owner, other.display_name, Role.OWNER)
    stranger = factories.make_designer()
    for do in ("accept", "decline"):
        assert answer(stranger, offer, do).status_code == 404
        assert answer(owner, offer, do).status_code == 404
    assert kit.name not in browser_of(stranger).get(reverse("guides:offers")).content.decode()
    assert KitOffer.objects.open().exists() and not is_in(kit, stranger)


@pytest.mark.parametrize("wish", ["owner", "hand-over"])
def test_nobody_becomes_an_owner_without_accepting(kit, owner, other, wish):
    factories.join_kit(kit=kit, owner=owner, person=other, role=Role.READER)
    change = reverse("guides:change-person", args=[kit.key, other.pk])
    browser_of(owner).post(change, {"do": wish})
    assert (find_role(other, kit), find_role(owner, kit)) == (Role.READER, Role.OWNER)
    assert closing.why_not_closed(owner), "the kit would be left to nobody"
    answer(other, KitOffer.objects.open().get(), "accept")
    assert find_role(other, kit) == Role.OWNER
    assert find_role(owner, kit) == (Role.EDITOR if wish == "hand-over" else Role.OWNER)


def test_a_withdrawn_offer_lets_nobody_in(kit, owner, other, mailoutbox):
    offer = offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    withdraw = reverse("guides:withdraw-offer", args=[kit.key, offer.pk])
    assert browser_of(other).post(withdraw).status_code in (403, 404)
    assert browser_of(owner).post(withdraw).status_code == 302
    answer(other, offer, "accept")
    assert not is_in(kit, other) and actions(kit) == ["role-offered", "offer-withdrawn"]
    assert [m.to for m in mailoutbox] == [["other@kits.example"]] * 2


def test_an_offer_lapses_and_the_record_says_so(kit, owner, other, mailoutbox):
    offer = offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    KitOffer.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    answer(other, offer, "accept")
    assert not is_in(kit, other)
    assert daily.run()["offers lapsed"] == 1 and daily.run()["offers lapsed"] == 0
    assert actions(kit) == ["role-offered", "offer-lapsed"] and mailoutbox[-1].to == ["owner@kits.example"]
    assert offers.offer_to(kit, owner, other.display_name, Role.READER).pk != offer.pk


def test_a_lapsed_offer_makes_way_for_another_before_the_day_is_over(kit, owner, other):
    offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    KitOffer.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    offers.offer_to(kit, owner, other.display_name, Role.READER)
    assert actions(kit) == ["role-offered", "offer-lapsed", "role-offered"]


def test_a_second_offer_waits_until_the_first_is_answered(kit, owner, other):
    page = reverse("guides:people", args=[kit.key])
    data = {"name": other.display_name, "role": "reader"}
    assert [browser_of(owner).post(page, data).status_code for _ in range(2)] == [302, 422]
    assert KitOffer.objects.count() == 1


@pytest.mark.parametrize("leaves", ["removed", "demoted", "closed"])
def test_an_offer_ends_with_the_ownership_of_whoever_made_it(kit, owner, other, leaves):
    second = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=second, role=Role.OWNER)
    offer = offers.offer_to(kit, second, other.display_name, Role.OWNER)
    _leave(kit, owner, second, leaves)
    answer(other, offer, "accept")
    assert not is_in(kit, other)
    offer.refresh_from_db()
    assert offer.end == KitOffer.End.WITHDRAWN


def test_an_owner_who_was_demoted_behind_the_records_back_lets_nobody_in(kit, owner, other):
    offer = offers.offer_to(kit, owner, other.display_name, Role.OWNER)
    KitRole.objects.create(kit=kit, person=owner, role=Role.EDITOR)
    assert not offers.accept(other, offer.pk) and not is_in(kit, other)


def test_a_closed_account_takes_no_kit(kit, owner, other):
    offer = offers.offer_to(kit, owner, other.display_name, Role.OWNER)
    closing.close(other)
    offer.refresh_from_db()
    assert offer.end == KitOffer.End.WITHDRAWN and not is_in(kit, other)


def test_an_offer_accepted_twice_is_accepted_once(kit, owner, other):
    offer = offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    assert [offers.accept(other, offer.pk) for _ in range(2)] == [True, False]
    assert actions(kit).count("offer-accepted") == 1


@pytest.mark.parametrize("leaves", ["removed", "reads only", "closed"])
def test_unused_invitations_end_with_the_leave_of_whoever_made_them(kit, owner, leaves):
    second = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=second, role=Role.EDITOR)
    links = {person: _invite(kit, person) for person in (second, owner)}
    _leave(kit, owner, second, leaves)
    assert Client().get(links[second]).status_code == 404
    assert Client().get(links[owner]).status_code == 200, "only theirs end"
    assert Invitation.objects.usable().count() == 1


def test_an_editor_made_an_owner_keeps_their_invitations(kit, owner):
    second = factories.make_designer()
    factories.join_kit(kit=kit, owner=owner, person=second, role=Role.EDITOR)
    link = _invite(kit, second)
    assert offers.accept(second, offers.offer(kit, owner, second, Role.OWNER).pk)
    assert Client().get(link).status_code == 200


def test_whoever_is_demoted_or_removed_gets_an_email(kit, owner, other, mailoutbox):
    factories.join_kit(kit=kit, owner=owner, person=other, role=Role.EDITOR)
    mailoutbox.clear()
    co_designers.change(kit, owner, other, Role.READER)
    co_designers.remove(kit, owner, other)
    assert [m.to for m in mailoutbox] == [["other@kits.example"]] * 2
    assert all(kit.name in m.body for m in mailoutbox)


def test_an_offer_shows_where_whoever_it_is_for_begins(kit, owner, other):
    start = reverse("bench:builds")
    assert reverse("guides:offers") not in browser_of(other).get(start).content.decode()
    offers.offer_to(kit, owner, other.display_name, Role.EDITOR)
    assert reverse("guides:offers") in browser_of(other).get(start).content.decode()


def _leave(kit, owner, person, how) -> None:
    if how == "removed":
        co_designers.remove(kit, owner, person)
    elif how == "closed":
        assert closing.close(person)
    else:
        co_designers.change(kit, owner, person, Role.EDITOR if how == "demoted" else Role.READER)


def _invite(kit, maker) -> str:
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=maker)
    build = factories.make_build(revision=kit.revisions.get(), invitation=invitation)
    type(build).objects.filter(pk=build.pk).update(builder=None)
    return reverse("accounts:invitation", args=[token])
