"""Making builds and their one-use links."""

import re

import pytest
from django.core import mail
from django.urls import reverse

from builds.accounts.models import Event, Invitation, hash_token
from builds.bench.models import Build
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer(client):
    person = make.make_designer()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return person


@pytest.fixture
def revision(designer):
    return make.make_revision(designer=designer)


def builds_page(revision):
    return reverse("review:builds", args=[revision.kit.key, revision.letter])


def token_in(response):
    match = re.search(r"/invitation/([\w-]+)/", response.content.decode())
    return match and match[1]


def test_the_link_is_shown_once_with_its_code_and_only_its_hash_is_kept(client, revision):
    response = client.post(builds_page(revision), {"serial": "0001"})
    token = token_in(response)
    assert "<svg" in response.content.decode() and "style=" not in response.content.decode()
    assert Build.objects.get().invitation.token_hash == hash_token(token)
    assert token_in(client.get(builds_page(revision))) is None


def test_a_serial_number_is_used_once_a_revision(client, revision):
    client.post(builds_page(revision), {"serial": "0001"})
    assert client.post(builds_page(revision), {"serial": " 0001 "}).status_code == 422
    assert Build.objects.count() == Invitation.objects.count() == 1


def test_a_draft_cannot_be_built(client, designer):
    draft = make.make_revision(designer=designer, issued=False)
    assert client.post(builds_page(draft), {"serial": "0001"}).status_code == 422
    assert not Build.objects.exists() and not Invitation.objects.exists()


def test_renewing_stops_the_link_before_and_revoking_stops_the_link(client, revision):
    first = token_in(client.post(builds_page(revision), {"serial": "0001"}))
    build = Build.objects.get()
    second = token_in(client.post(reverse("review:renew", args=[build.pk])))
    usable = Invitation.objects.usable()
    assert not usable.with_token(first).exists() and usable.with_token(second).exists()
    client.post(reverse("review:revoke", args=[build.pk]))
    assert not Invitation.objects.usable().exists()


def test_a_builder_gets_a_password_link_that_replaces_the_one_before(client, revision):
    build = make.make_build(revision=revision)
    first, second = [token_in(client.post(reverse("review:renew", args=[build.pk]))) for _ in range(2)]
    usable = Invitation.objects.usable().filter(purpose="password", person=build.builder)
    assert first != second and [i.token_hash for i in usable] == [hash_token(second)]


def test_a_fellow_designers_password_is_not_given_away(client, revision):
    build = make.make_build(revision=revision, builder=make.make_designer())
    assert token_in(client.post(reverse("review:renew", args=[build.pk]), follow=True)) is None
    assert not Invitation.objects.exists()


def test_links_are_not_made_for_another_designers_builds(client, designer):
    build = make.make_build()
    assert client.post(reverse("review:renew", args=[build.pk])).status_code == 404
    assert client.post(reverse("review:revoke", args=[build.pk])).status_code == 404
    assert not Invitation.objects.exists()


def test_no_link_is_made_for_a_builder_of_another_designers_kit(client, revision):
    """Whoever sets the password reads all that the person builds, the other designer's kit too."""
    build = make.make_build(revision=revision)
    make.make_build(builder=build.builder)
    assert token_in(client.post(reverse("review:renew", args=[build.pk]), follow=True)) is None
    assert not Invitation.objects.exists()


def test_a_builder_is_told_of_each_password_link(client, revision):
    build = make.make_build(revision=revision)
    type(build.builder).objects.filter(pk=build.builder_id).update(email="b@kits.example")
    client.post(reverse("review:renew", args=[build.pk]))
    assert [m.to for m in mail.outbox] == [["b@kits.example"]]
    assert "/invitation/" not in mail.outbox[0].body
    assert Event.objects.filter(action="password-link", kit=revision.kit.key).count() == 1


def test_a_builder_is_taken_off_a_build_and_the_readings_stay(client, revision):
    build = make.make_build(revision=revision)
    builder = build.builder
    make.add_reading(build=build, check=make.checks_of(revision=revision)[0])
    assert client.get(reverse("review:remove-builder", args=[build.pk])).status_code == 200
    client.post(reverse("review:remove-builder", args=[build.pk]))
    build.refresh_from_db()
    assert build.builder is None and build.readings.get().by == builder
    client.force_login(builder)
    assert client.get(reverse("bench:build", args=[build.pk])).status_code == 404
