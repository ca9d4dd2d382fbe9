"""Two posts in the same moment, of one phone or of two people: each thing happens once, and nobody sees an error."""

from collections import Counter
from uuid import uuid4

import pytest
from django.urls import reverse

from builds.accounts.models import Event, Invitation, Person
from builds.accounts.signing_in import PASSWORD_BACKEND
from builds.bench.gates import gating
from builds.bench.models import Build, MadeSafe, Reading
from builds.guides import offers
from builds.guides.models import KitRole, find_role
from tests import factories
from tests.builds.review.test_at_once import at_once, cleared

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.concurrent]
__all__ = ["cleared"]  # a fixture
TAPS = 4


@pytest.fixture
def build() -> Build:
    return factories.make_build()


def reading_of(build, typed="300", key=None):
    check = factories.checks_of(revision=build.revision)[0]
    address = reverse("bench:reading", args=[build.pk, check.stage.key, check.key])
    return address, {"typed": typed, "unit": "V", "entry_key": key or str(uuid4())}


@pytest.mark.lengthy
def test_a_reading_sent_four_times_at_once_is_one(build):
    answers = at_once(build.builder, [reading_of(build, key=str(uuid4()))] * TAPS)
    assert Reading.objects.count() == 1 and set(answers) == {302}


@pytest.mark.lengthy
def test_other_content_under_the_same_key_is_asked_about_and_never_doubled(build):
    key = str(uuid4())
    answers = at_once(build.builder, [reading_of(build, typed, key) for typed in ("300", "301", "302", "303")])
    assert Reading.objects.count() == 1, answers
    assert Counter(answers)[302] == 1 and all(status in (302, 200, 409, 422) for status in answers)


@pytest.mark.lengthy
def test_readings_of_several_keys_at_once_are_all_kept_in_a_row(build):
    at_once(build.builder, [reading_of(build, typed) for typed in ("299", "300", "301", "302")])
    assert sorted(Reading.objects.values_list("attempt", flat=True)) == [1, 2, 3, 4]


@pytest.mark.lengthy
def test_a_reading_with_power_and_made_safe_at_once_leave_no_kit_safe_that_was_read_later(client):
    revision = factories.make_revision(stages=2, checks=1, steps=0)
    build, (cold, hot) = factories.make_build(revision=revision), factories.checks_of(revision=revision)
    factories.add_reading(build=build, check=cold)
    client.force_login(build.builder, backend=PASSWORD_BACKEND)
    client.post(reverse("bench:cautions", args=[build.pk, "stage-2"]), {"read": "on", "mains": "230"})
    entry = {"typed": "300", "unit": "V", "entry_key": str(uuid4())}
    reading = reverse("bench:reading", args=[build.pk, "stage-2", hot.key]), entry
    safe = reverse("bench:make-safe", args=[build.pk]), {"typed": "0.5", "unit": "V", "entry_key": str(uuid4())}
    answers = at_once(build.builder, [reading, safe])
    assert all(status < 500 for status in answers), answers
    made_safe, read = MadeSafe.objects.get(), Reading.objects.filter(check_row=hot).first()
    is_read_later = read is not None and read.at > made_safe.at
    assert gating.find_power(build).needs_made_safe is is_read_later


@pytest.mark.lengthy
def test_of_two_people_with_one_invitation_one_gets_the_build_and_no_account_is_left_over():
    invitation, token = Invitation.make(Invitation.Purpose.BUILD, made_by=factories.make_designer())
    build = factories.make_build(invitation=invitation)
    Build.objects.filter(pk=build.pk).update(builder=None)
    before = Person.objects.count()
    form = {"password": "quite another 77", "password_again": "quite another 77", "mains_volts": "230"}
    form |= {"mains_hertz": "50", "preset": "handheld", "read_cautions": "on"}
    posts = [(reverse("accounts:invitation", args=[token]), form | {"display_name": f"New {n}"}) for n in range(TAPS)]
    answers = at_once(None, posts)
    assert Counter(answers)[302] >= 1 and all(status in (302, 404) for status in answers), answers
    assert Person.objects.count() == before + 1
    build.refresh_from_db()
    assert build.builder.display_name.startswith("New ")


@pytest.mark.lengthy
def test_a_link_for_a_new_password_used_twice_at_once_sets_one(build):
    person = build.builder
    token = Invitation.make(Invitation.Purpose.PASSWORD, person=person)[1]
    passwords = [f"quite another {n}" for n in range(TAPS)]
    posts = [(reverse("accounts:invitation", args=[token]), {"password": p, "password_again": p}) for p in passwords]
    answers = at_once(None, posts)
    assert Counter(answers)[302] == 1 and all(status in (302, 404) for status in answers), answers
    assert Event.objects.filter(person=person, action="password-reset").count() == 1


@pytest.mark.lengthy
def test_an_offer_accepted_four_times_at_once_is_accepted_once():
    owner, other = factories.make_designer(), factories.make_builder()
    kit = factories.make_kit(designer=owner)
    offer = offers.offer_to(kit, owner, other.display_name, KitRole.Role.OWNER)
    post = (reverse("guides:answer-offer", args=[offer.pk]), {"do": "accept"})
    assert at_once(other, [post] * TAPS) == [302] * TAPS
    assert find_role(other, kit) == KitRole.Role.OWNER
    assert Event.objects.filter(kit=kit.key, action="offer-accepted").count() == 1
