"""Who counts as a designer: whoever may make kits, and whoever designs one without that leave."""

import pytest
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision():
    return factories.make_revision()


def sign_in(client, person):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.lengthy
def test_a_designer_without_the_flag_sees_the_kit_and_only_that(client, revision):
    """A person who may not make kits was added to the designers of one."""
    person = factories.make_designer(may_design=False)
    other = factories.make_revision()
    revision.kit.designers.add(person)
    sign_in(client, person)
    for name in ("review:dashboard", "review:problems", "review:findings", "guides:revision"):
        assert client.get(reverse(name, args=[revision.kit.key, "A"])).status_code == 200, name
        assert client.get(reverse(name, args=[other.kit.key, "A"])).status_code == 404, name
    assert client.get(reverse("review:programmes")).status_code == 200


def test_a_designer_without_the_flag_may_change_the_kit(client, revision):
    person = factories.make_designer(may_design=False)
    revision.kit.designers.add(person)
    sign_in(client, person)
    posted = client.post(reverse("review:builds", args=[revision.kit.key, "A"]), {"serial": "0001"})
    assert posted.status_code == 200 and revision.builds.count() == 1


def test_somebody_with_neither_flag_nor_kit_is_refused(client, revision):
    sign_in(client, factories.make_designer(may_design=False))
    assert client.get(reverse("review:programmes")).status_code == 403
    assert client.get(reverse("review:dashboard", args=[revision.kit.key, "A"])).status_code == 403


def test_somebody_with_the_flag_and_no_kit_sees_an_empty_list_and_no_strangers_kit(client, revision):
    sign_in(client, factories.make_designer())
    page = client.get(reverse("review:programmes"))
    assert page.status_code == 200 and revision.kit.name not in page.content.decode()
    assert client.get(reverse("review:dashboard", args=[revision.kit.key, "A"])).status_code == 404
