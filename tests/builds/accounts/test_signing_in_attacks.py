"""Signing in by a link of somebody else's making: no way out to another site, no session they know, no page they
poisoned. Shapes of redirects: OWASP, Unvalidated Redirects and Forwards; how browsers read `\\` and white space in an
address: WHATWG URL Standard, 4.4."""

from urllib.parse import quote

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests import factories
from tests.builds.accounts.test_account import SIGN_IN, code_of, is_in, person, phone, switch_on

pytestmark = pytest.mark.django_db
__all__ = ["person", "phone"]  # fixtures
ELSEWHERE = (
    *("//evil.example", "///evil.example", "/\\evil.example", "\\\\evil.example", "https:evil.example"),
    *("https://evil.example/", "http:///evil.example", " https://evil.example", "/\t/evil.example", "/\n/evil.example"),
    *("javascript:alert(1)", "data:text/html,x", "//testserver@evil.example", "https://testserver.evil.example/"),
    *(
        "http://testserver:80@evil.example/",
        "////evil.example/%2e%2e",
        "\x00//evil.example",
        "//[::1",
        "ftp://testserver/",
    ),
)


def sign_in(client: Client, following: str, *, as_field: bool) -> str:
    """Where somebody is sent who signs in from this link."""
    page, data = reverse("accounts:sign-in"), dict(SIGN_IN)
    if as_field:
        data["next"] = following
    else:
        page += "?next=" + quote(following)
    answer = client.post(page, data)
    return answer.get("Location", "")


def stays(location: str) -> bool:
    return location.startswith("/") and not location.startswith(("//", "/\\", "/\t", "/\n"))


@pytest.mark.parametrize("as_field", [True, False], ids=["field", "query"])
@pytest.mark.parametrize("following", ELSEWHERE)
def test_signing_in_leads_to_no_other_site(person, following, as_field):
    location = sign_in(Client(), following, as_field=as_field)
    assert "evil" not in location and (stays(location) or not location)


@pytest.mark.parametrize("following", ELSEWHERE)
def test_nor_does_signing_in_with_a_code(person, phone, following):
    switch_on(person, phone)
    client = Client()
    if sign_in(client, following, as_field=True) != reverse("accounts:second-factor-code"):
        return  # refused before the password was looked at
    location = client.post(reverse("accounts:second-factor-code"), {"code": code_of(person)})["Location"]
    assert "evil" not in location and stays(location)


def test_a_page_of_the_site_is_gone_to(person):
    assert sign_in(Client(), reverse("accounts:meters"), as_field=True) == reverse("accounts:meters")


@pytest.mark.parametrize("with_code", [False, True], ids=["password", "code"])
def test_a_session_that_somebody_knew_before_is_another_after_signing_in(person, phone, with_code):
    if with_code:
        switch_on(person, phone)
    victim = Client()
    victim.get(reverse("accounts:sign-in"))
    victim.session.save()
    known = victim.session.session_key or ""
    planted = Client()
    planted.cookies[settings.SESSION_COOKIE_NAME] = victim.cookies[settings.SESSION_COOKIE_NAME] = known or "a" * 32
    sign_in(victim, "/", as_field=True)
    if with_code:
        victim.post(reverse("accounts:second-factor-code"), {"code": code_of(person)})
    assert is_in(victim) and not is_in(planted)


def test_an_account_is_not_entered_over_another(person):
    """The page of whoever is signed in keeps nothing for who signs in after them on the same phone."""
    first = factories.make_builder(name="Builder 51")
    client = Client()
    client.force_login(first)
    key = client.session.session_key
    client.post(reverse("accounts:sign-out"))
    client.post(reverse("accounts:sign-in"), SIGN_IN)
    assert client.session.session_key != key and client.get(reverse("accounts:account")).context["user"] == person


@pytest.mark.parametrize(
    "headers",
    [
        {"X-Forwarded-Host": "evil.example"},
        {"X-Forwarded-Host": "evil.example", "X-Forwarded-Port": "1", "X-Forwarded-Prefix": "/evil.example"},
        {"Forwarded": "host=evil.example;proto=http"},
        {"X-Original-URL": "/evil.example", "X-Rewrite-URL": "/evil.example"},
        {"X-HTTP-Method-Override": "PUT", "X-Host": "evil.example"},
    ],
)
@pytest.mark.parametrize("page", ["accounts:sign-in", "accounts:safety", "accounts:forgotten", "accounts:glossary"])
def test_no_header_gets_into_a_page_that_a_cache_may_keep(page, headers):
    plain, forged = Client().get(reverse(page)), Client().get(reverse(page), headers=headers)
    assert forged.status_code == 200 and b"evil" not in forged.content
    assert "evil" not in str(forged.headers) and len(forged.content) == len(plain.content)


def test_a_host_that_is_not_the_sites_gets_no_page(settings):
    settings.ALLOWED_HOSTS = ["testserver"]
    for host in ("evil.example", "testserver.evil.example", "testserver@evil.example", "testserver:80@evil.example"):
        assert Client().get(reverse("accounts:sign-in"), headers={"Host": host}).status_code == 400
