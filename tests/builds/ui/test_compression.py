"""Pages are compressed, save where a compressed length could give a secret away (the BREACH attack of 2013)."""

import gzip

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db
GZIP = {"Accept-Encoding": "gzip, deflate"}


@pytest.fixture
def designer_client():
    client, revision = Client(), factories.make_revision()
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    return client, revision


def test_a_page_is_compressed_to_a_third(designer_client):
    client, _revision = designer_client
    answer = client.get("/kits/", headers=GZIP)
    assert answer["Content-Encoding"] == "gzip" and "Accept-Encoding" in answer["Vary"]
    assert len(answer.content) < len(gzip.decompress(answer.content)) / 2


def test_the_length_of_the_same_page_is_blurred(designer_client):
    client, _revision = designer_client
    lengths = {len(client.get("/kits/", headers=GZIP).content) for _ in range(12)}
    assert len(lengths) > 3


def test_the_token_that_pages_repeat_is_masked_anew_each_time(designer_client):
    client, _revision = designer_client
    pages = [gzip.decompress(client.get("/safety/", headers=GZIP).content).decode() for _ in range(2)]
    tokens = [page.split('X-CSRFToken": "')[1].split('"')[0] for page in pages]
    assert len(tokens[0]) == 64 and tokens[0] != tokens[1]


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_another_site_makes_the_browser_ask_for_is_never_compressed(site, designer_client):
    client, _revision = designer_client
    assert "Content-Encoding" not in client.get("/kits/", headers={**GZIP, "Sec-Fetch-Site": site})
    assert "Content-Encoding" in client.get("/kits/", headers={**GZIP, "Sec-Fetch-Site": "same-origin"})


def test_a_page_that_shows_an_invitations_link_is_never_compressed(designer_client):
    client, revision = designer_client
    where = reverse("review:builds", args=[revision.kit.key, revision.letter])
    made = client.post(where, {"serial": "X-1"}, headers=GZIP)
    assert "/invitation" in made.content.decode() and "Content-Encoding" not in made
    again = client.post(reverse("review:renew", args=[revision.builds.get().pk]), headers=GZIP)
    assert "/invitation" in again.content.decode() and "Content-Encoding" not in again
    assert "Content-Encoding" in client.get(where, headers=GZIP)


def test_pictures_are_not_packed_again(designer_client, client):
    from builds.bench.photos.storage import save_photo
    from builds.review.demo.photos import draw_photo

    build = factories.make_build()
    photo = save_photo(
        draw_photo("a.jpg", "X", "x"), build=build, stage=build.revision.stages.first(), by=build.builder
    )
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("bench:photo", args=[build.pk, photo.pk, "thumb"]), headers=GZIP)
    assert answer.status_code == 200 and "Content-Encoding" not in answer
