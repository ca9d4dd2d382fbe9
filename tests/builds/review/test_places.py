"""The designer's four places: every page of a revision belongs to one, and each leads on to the next."""

import pytest
from django.urls import reverse

from builds.review.templatetags.places import PLACES
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision(client):
    designer = factories.make_designer()
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return factories.make_revision(designer=designer)


def address(name, revision):
    kit = revision.kit.key
    return reverse(name, args=[kit] if name == "review:programme" else [kit, revision.letter])


@pytest.mark.parametrize("name", [name for place in PLACES for name, _title in place.pages])
def test_every_page_marks_itself_and_its_place(client, revision, name):
    body = client.get(address(name, revision)).content.decode()
    assert body.count('aria-current="page"') == 1 and body.count('aria-current="true"') >= 1
    assert f'<a href="{address(name, revision)}" aria-current="page">' in body


LEADING_ON = [
    (name, following)
    for place, following in zip(PLACES, PLACES[1:], strict=False)
    for name, _title in place.pages
    if name != "review:programme"  # its own revision's pages
]


@pytest.mark.parametrize(("name", "following"), LEADING_ON, ids=lambda value: getattr(value, "key", value))
def test_each_page_leads_on_to_the_next_place(client, revision, name, following):
    factories.make_build(revision=revision)
    body = client.get(address(name, revision)).content.decode()
    assert f'<p class="leads-on">\n    <a href="{address(following.pages[0][0], revision)}">' in body


@pytest.mark.parametrize("name", ["review:dashboard", "review:builds"])
def test_without_a_build_the_first_thing_to_do_is_to_make_one(client, revision, name):
    body = client.get(address(name, revision)).content.decode()
    assert 'class="leads-on"' not in body and address("review:builds", revision) in body


def test_no_page_belongs_to_two_places():
    names = [name for place in PLACES for name in [*(name for name, _title in place.pages), *place.inner]]
    assert len(names) == len(set(names))
    for place in PLACES:
        assert set(place.inner.values()) <= {name for name, _title in place.pages}
