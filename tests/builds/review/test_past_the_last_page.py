"""A page past the last one shows the last: a list that was longer when somebody linked to it, not an empty table."""

import pytest
from django.urls import reverse

from builds.bench.models import Snag
from builds.ui.paging import Pages
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("asked", "shown"), [(1, "ab"), (2, "c"), (3, "c"), (99999, "c")])
def test_a_page_past_the_last_is_the_last(asked, shown):
    pages = Pages(asked, 3, 2)
    assert "".join(pages.of(list("abc"))) == shown
    assert (pages.before, pages.after) == (("", "?page=2") if shown == "ab" else ("?page=1", ""))


def test_an_empty_list_has_one_page():
    assert (Pages(7, 0, 50).number, Pages(7, 0, 50).of([])) == (1, [])


@pytest.fixture
def kit():
    designer, builder = factories.make_designer(), factories.make_builder()
    revision = factories.make_revision(designer=designer, stages=1)
    build = factories.make_build(revision=revision, builder=builder)
    check = factories.checks_of(revision=revision)[0]
    factories.add_reading(build=build, check=check, value=3.0, outcome="out of band")
    Snag.objects.create(build=build, stage=check.stage, kind="fit", words="The tag is loose.")
    return designer, builder, revision, build


LISTS = (
    ("builds", "page"),
    ("dashboard", "page"),
    ("problems", "page"),
    ("findings", "page"),
    ("findings", "snags"),
    ("build", "page"),
    ("programmes", "page"),
    ("guides:kits", "page"),
    ("bench:builds", "page"),
)


@pytest.mark.parametrize(("name", "number"), LISTS)
def test_no_list_is_empty_past_its_last_page(client, kit, name, number):
    designer, builder, revision, build = kit
    client.force_login(builder if name == "bench:builds" else designer)
    of_revision = [revision.kit.key, revision.letter]
    args = {"build": [build.pk], "programmes": [], "guides:kits": [], "bench:builds": []}.get(name, of_revision)
    address = reverse(name if ":" in name else f"review:{name}", args=args)
    first, past = (client.get(address, query) for query in ({}, {number: "999"}))
    assert past.status_code == 200
    words = [answer.content.decode().split("<main")[1].count("<a ") for answer in (first, past)]
    assert words[0] == words[1] and past.context["pages"].number == 1
