"""Links that let somebody in are in no log: whoever reads logs is not whom they were sent to."""

import logging

import pytest
from django.conf import settings
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from builds.operations.logs import HideTokens
from tests import factories

pytestmark = pytest.mark.django_db
TOKEN = "Zx9-secret_of-the-link"


def addresses_with_tokens(patterns=None, before=""):
    for each in get_resolver().url_patterns if patterns is None else patterns:
        route = before + str(each.pattern)
        if isinstance(each, URLPattern):
            if "token>" in route:
                yield "/" + route.replace("<str:token>", TOKEN)
        else:
            yield from addresses_with_tokens(each.url_patterns, route)


def lines_of(address, caplog):
    caplog.handler.addFilter(HideTokens())
    with caplog.at_level(logging.INFO):
        Client().get(address)
        Client().post(address, {"display_name": ""})
        Client().post(address + "nothing/", {})
        Client().get(address, headers={"Host": "evil.example"})
    return caplog.text


def test_every_address_with_a_token_is_logged_without_it(caplog):
    addresses = list(addresses_with_tokens())
    assert len(addresses) == 3, addresses  # a new one: say so to the filter
    for address in addresses:
        text = lines_of(address, caplog)
        assert TOKEN not in text
    assert "/invitation/…/" in text


def test_a_mistake_in_the_form_of_an_invitation_does_not_log_its_link(caplog):
    revision = factories.make_revision()
    client = Client()
    client.force_login(revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    page = client.post(reverse("review:builds", args=[revision.kit.key, "A"]), {"serial": "0001"}).content.decode()
    token = page.split("/invitation/")[1].split("/")[0]
    assert len(token) > 20
    text = lines_of(f"/invitation/{token}/", caplog)
    assert "Unprocessable" in text and token not in text


def test_the_sites_handler_has_the_filter():
    assert settings.LOGGING["handlers"]["console"]["filters"] == ["no tokens"]
