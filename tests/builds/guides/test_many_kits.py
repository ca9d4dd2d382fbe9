"""Lists that grow with the years come in pages, and every kit and build is on one of them."""

import re

import pytest
from django.urls import reverse

from builds.guides.models import Kit
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


def pages_of(client, address) -> list[str]:
    """Following the way to the next page until there is none."""
    result, following = [], ""
    while True:
        page = client.get(address + following).content.decode()
        result.append(page)
        later = [link for link in re.findall(r'href="(\?page=\d+)"', page) if int(link[6:]) > len(result)]
        if not later:
            return result
        following = later[0]


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["guides:kits", "review:programmes"])
def test_every_kit_stands_once_on_the_pages_of_a_designer_with_many(client, name):
    designer, other = factories.make_designer(), factories.make_designer()
    for number in range(120):
        factories.make_revision(
            kit=factories.make_kit(designer=designer, key=f"mine-{number}"), stages=0, checks=0, steps=0
        )
    factories.make_revision(kit=factories.make_kit(designer=other, key="theirs"), stages=0)
    client.force_login(designer, backend=BACKEND)
    pages = pages_of(client, reverse(name))
    assert len(pages) == 3
    where = "<h2>" if name == "guides:kits" else None
    for kit in Kit.objects.exclude(key="theirs"):
        expected = f"{where}{kit.name}</h2>" if where else f">{kit.name}</a></h2>"
        assert sum(page.count(expected) for page in pages) == 1
    assert not any("theirs" in page for page in pages)


def test_a_page_past_the_last_is_answered(client):
    revision = factories.make_revision(stages=0)
    client.force_login(revision.kit.designers.get(), backend=BACKEND)
    for typed in ("99", "-1", "x", "²"):
        assert client.get(reverse("guides:kits"), {"page": typed}).status_code == 200


def test_every_build_of_a_builder_with_many_is_on_one_page(client):
    builder, revision = factories.make_builder(), factories.make_revision(stages=0)
    meter = factories.make_meter(owner=builder)
    made = [factories.make_build(revision=revision, builder=builder, meter=meter) for _n in range(60)]
    client.force_login(builder, backend=BACKEND)
    pages = pages_of(client, reverse("bench:builds"))
    assert len(pages) == 2
    for build in made:
        link = f'href="{reverse("bench:build", args=[build.pk])}"'
        assert sum(page.count(link) for page in pages) == 1
