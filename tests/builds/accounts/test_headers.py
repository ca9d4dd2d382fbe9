"""What a browser, a proxy and other sites may keep of a page."""

import re
from pathlib import Path

import pytest
from django.urls import reverse

from builds.accounts.models import Invitation
from tests import factories
from tests.access.headers import faults_of

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


REFUSALS = (  # each by a part of the site that answers before the page would
    ("a host that is not ours", "get", "/sign-in/", {"headers": {"Host": "evil.example"}}, 400),
    ("a file that is not there", "get", "/static/nothing.css", {}, 404),
    ("an address that is not there", "get", "/nothing/", {}, 404),
    ("a method that no page takes", "put", "/sign-in/", {}, 405),
)


@pytest.mark.parametrize(
    ("method", "address", "how", "status"), [case[1:] for case in REFUSALS], ids=[c[0] for c in REFUSALS]
)
def test_a_refusal_has_the_same_headers_as_a_page(client, settings, method, address, how, status):
    settings.ALLOWED_HOSTS = ["testserver"]
    answer = getattr(client, method)(address, **how)
    assert (answer.status_code, faults_of(answer, is_private=False)) == (status, [])


@pytest.fixture
def kits_example(settings):
    """The site's configured address, with a proxy that passes on whatever host it is asked for."""
    settings.SITE_URL, settings.ALLOWED_HOSTS = "https://kits.example", ["*"]


EVIL = {"Host": "evil.example", "X-Forwarded-Host": "evil.example"}


def test_links_have_the_sites_own_address_whatever_host_is_asked_for(client, kits_example):
    revision = factories.make_revision()
    client.force_login(revision.kit.designers.get())
    page = reverse("review:builds", args=[revision.kit.key, "A"])
    answer = client.post(page, {"serial": "0001"}, headers=EVIL)
    assert "https://kits.example/invitation/" in answer.content.decode()
    assert "evil.example" not in answer.content.decode()
    assert Invitation.objects.count() == 1


def test_a_mailed_link_has_the_sites_own_address_whatever_host_is_asked_for(client, kits_example, mailoutbox):
    """Whoever asks for another's link with a host of their own would be sent the token by the other's click."""
    factories.give_address(factories.make_builder(), "builder@kits.example")
    client.post(reverse("accounts:forgotten"), {"email": "builder@kits.example"}, headers=EVIL)
    (letter,) = mailoutbox
    assert "https://kits.example/invitation/" in letter.body and "evil.example" not in str(letter.message())


def test_a_password_link_has_the_sites_own_address_whatever_host_is_asked_for(client, kits_example):
    build = factories.make_build()
    client.force_login(build.revision.kit.designers.get())
    page = client.post(reverse("review:renew", args=[build.pk]), headers=EVIL).content.decode()
    assert "https://kits.example/invitation/" in page and "evil.example" not in page


def test_a_worksheet_leads_to_the_sites_own_address_whatever_host_is_asked_for(client, kits_example):
    """Its codes are scanned at the bench weeks later."""
    build = factories.make_build()
    client.force_login(build.builder)
    answer = client.get(reverse("reports:worksheet", args=[build.pk]), headers=EVIL)
    addresses = [stage.address for stage, _code in answer.context["stages"]]
    assert addresses and all(address.startswith("https://kits.example/builds/") for address in addresses)
    assert "evil.example" not in answer.content.decode()


def test_no_module_but_one_asks_a_request_for_its_host():
    """Only sign-in does, to see that the page it leads on to is of this site."""
    asks = re.compile(r"build_absolute_uri|get_host\(|HTTP_HOST|request\.headers\[.Host")
    found = [path.name for path in Path("builds").rglob("*.py") if asks.search(path.read_text())]
    assert found == ["signing_in.py"]
