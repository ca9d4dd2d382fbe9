"""What a browser, a proxy and other sites may keep of a page."""

import pytest
from django.urls import reverse

from builds.accounts.models import Invitation
from tests import factories

pytestmark = pytest.mark.django_db


def test_no_signed_in_page_is_stored(client):
    client.force_login(factories.make_builder())
    answer = client.get(reverse("bench:builds"))
    assert "no-store" in answer["Cache-Control"]
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "geolocation=()" in answer["Permissions-Policy"] and "camera=(self)" in answer["Permissions-Policy"]


def test_a_public_page_may_be_stored_and_not_embedded(client):
    answer = client.get(reverse("accounts:safety"))
    assert "no-store" not in answer.get("Cache-Control", "")
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"


def test_links_have_the_sites_own_address_whatever_host_is_asked_for(client, settings):
    settings.SITE_URL, settings.ALLOWED_HOSTS = "https://kits.example", ["*"]
    revision = factories.make_revision()
    client.force_login(revision.kit.designers.get())
    page = reverse("review:builds", args=[revision.kit.key, "A"])
    answer = client.post(page, {"serial": "0001"}, headers={"Host": "evil.example"})
    assert "https://kits.example/invitation/" in answer.content.decode()
    assert "evil.example" not in answer.content.decode()
    assert Invitation.objects.count() == 1
