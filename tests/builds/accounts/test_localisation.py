"""Language and time zone of a person's pages: their own choice first, then the browser's, and nothing made up."""

import pytest
from django.urls import reverse

from builds.accounts.localisation import find_time_zone
from builds.accounts.models import Person

pytestmark = pytest.mark.django_db


@pytest.fixture
def person(client):
    person = Person.objects.create_person("Builder 07", "long enough 1")
    client.force_login(person)
    return person


@pytest.mark.parametrize(
    ("chosen", "cookie", "used"),
    [
        ("Europe/Berlin", "America/New_York", "Europe/Berlin"),
        ("", "America/New_York", "America/New_York"),
        ("", "Nowhere/Land", "UTC"),
        ("", "../../etc/passwd", "UTC"),
        ("", "", "UTC"),
    ],
)
def test_the_time_zone_is_the_persons_then_the_browsers_then_the_sites(chosen, cookie, used):
    assert find_time_zone(Person(time_zone=chosen), cookie) == used


def language_of(response) -> str:
    return response.headers["Content-Language"]


@pytest.mark.lengthy
def test_the_browsers_language_counts_until_the_person_chooses_one(client, person):
    address = reverse("accounts:preferences")
    assert language_of(client.get(address, headers={"accept-language": "de-AT,en;q=0.5"})) == "de"
    assert language_of(client.get(address, headers={"accept-language": "en-US"})) == "en-gb"
    client.post(address, {"language": "en-gb", "time_zone": ""})
    assert language_of(client.get(address, headers={"accept-language": "de"})) == "en-gb"


@pytest.mark.parametrize("data", [{"language": "tlh"}, {"time_zone": "Nowhere/Land"}])
def test_a_language_or_time_zone_that_is_not_listed_is_refused(client, person, data):
    answer = client.post(reverse("accounts:preferences"), data)
    assert answer.status_code == 422
    person.refresh_from_db()
    assert (person.language, person.time_zone) == ("", "")


def test_the_chosen_language_and_time_zone_are_saved(client, person):
    client.post(reverse("accounts:preferences"), {"language": "de", "time_zone": "Europe/Berlin"})
    person.refresh_from_db()
    assert (person.language, person.time_zone) == ("de", "Europe/Berlin")
