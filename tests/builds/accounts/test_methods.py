"""A form that is refused, and an address that takes nothing but a form, say so by status and in words."""

import pytest
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db
BROWSER = {"Accept": "text/html,application/xhtml+xml"}


@pytest.mark.parametrize("typed", [("Builder 77", "wrong"), ("Nobody", "wrong"), ("", "")])
def test_a_refused_sign_in_is_422_like_every_refused_form_and_keeps_the_name(client, typed):
    """RFC 9110, 15.5.21: understood, and not acted on."""
    factories.make_builder(name="Builder 77")
    answer = client.post(reverse("accounts:sign-in"), dict(zip(("username", "password"), typed, strict=True)))
    assert answer.status_code == 422 and answer.context["form"]["username"].value() == typed[0]
    assert answer.context["form"].errors


def test_opening_an_address_that_only_takes_a_form_says_where_to_go(client):
    build = factories.make_build()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    answer = client.get(address, headers=BROWSER)
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert "Nothing to show here" in answer.content.decode() and f'href="{reverse("home")}"' in answer.content.decode()
    assert client.get(reverse("accounts:sign-out"), headers=BROWSER).content


def test_a_program_gets_the_bare_answer(client):
    client.force_login(factories.make_builder(), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(reverse("accounts:retire-meter", args=[1]), headers={"Accept": "application/json"})
    assert answer.status_code == 405 and not answer.content
