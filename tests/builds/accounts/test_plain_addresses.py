"""Addresses with characters that are no text: refused before a database is asked."""

import pytest
from django.core.exceptions import BadRequest
from django.http import Http404
from django.test import RequestFactory

from builds.accounts.plain_addresses import plain_addresses
from tests import factories


def never(request):
    raise AssertionError("it was let through")


@pytest.mark.parametrize(
    "path", ["/review/kit/%00/", "/kits/kit/A/pictures/%00", "/builds/1/pictures/a%1Bb", "/x%7F/", "/x%0A/"]
)
def test_a_path_that_is_no_text_is_found_nowhere(path):
    with pytest.raises(Http404):
        plain_addresses(never)(RequestFactory().get(path))


@pytest.mark.parametrize("query", ["stage=%00", "%00=1", "a=b&kind=x%01", "state=\x7f"])
def test_a_query_that_is_no_text_is_refused(query):
    with pytest.raises(BadRequest):
        plain_addresses(never)(RequestFactory().get(f"/?{query}"))


@pytest.mark.parametrize(
    "address", ["/review/kit/A/?stage=Ω%20é", "/?words=a%0D%0Ab%09", "/%ED%A0%80/", "/?a=%FF", "/%C2%A0/"]
)
def test_an_address_within_the_limits_is_let_through(address):
    assert plain_addresses(lambda request: "let through")(RequestFactory().get(address)) == "let through"


@pytest.mark.django_db
def test_the_site_answers_with_its_own_pages(client):
    revision = factories.make_revision()
    client.force_login(revision.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    for name in ("stage", "state", "cause", "kind"):
        answer = client.get(f"/review/{revision.kit.key}/A/troubles/?{name}=%00")
        assert answer.status_code == 400 and "could not be read" in answer.content.decode()
    answer = client.get(f"/review/{revision.kit.key}/%00/")
    assert answer.status_code == 404 and "Nothing is kept at this address" in answer.content.decode()


@pytest.mark.parametrize("number", [2**63, 10**19, 10**4000])
def test_a_number_that_no_row_can_have_is_no_address(number):
    with pytest.raises(Http404):
        plain_addresses(never)(RequestFactory().get(f"/review/builds/1/deviations/{number}/"))


@pytest.mark.parametrize("number", ["0", "1", "0001", str(2**63 - 1), "0" * 30 + "7"])
def test_a_number_that_a_row_might_have_is_asked_for(number):
    assert plain_addresses(lambda request: "let through")(RequestFactory().get(f"/builds/{number}/")) == "let through"
