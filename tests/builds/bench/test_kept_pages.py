"""Pages that a phone keeps beside the copy of a guide: it asks for them without knowing which of them a build has."""

import pytest
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db
WIRED = ({"ref": "R1", "kind": "resistor", "value": "10k", "detail": {"joins": ["a", "chassis"]}},)


def answers(client, parts=()) -> dict[str, tuple[int, str]]:
    """Status and type of each page that the phone is sent to, and of the schematic by its plain address."""
    build = factories.make_build(revision=factories.make_revision(parts=parts))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    pages = client.get(reverse("bench:notebook", args=[build.pk])).json()["pages"]
    schematic = reverse("bench:schematic-file", args=[build.pk])
    assert schematic in pages and len(pages) > 3
    result = {page: client.get(page, {"kept": "1"}) for page in pages} | {"plain": client.get(schematic)}
    named = {"schematic": result.pop(schematic), **result}
    return {page: (answer.status_code, answer.get("Content-Type", "")) for page, answer in named.items()}


@pytest.mark.lengthy
def test_a_phone_asks_for_no_page_that_is_missing_where_nothing_can_be_drawn(client):
    result = answers(client)
    assert result.pop("plain")[0] == 404  # a person who asks for it is told
    assert result.pop("schematic")[0] == 204
    assert {status for status, _type in result.values()} == {200}


@pytest.mark.lengthy
def test_a_phone_keeps_the_schematic_of_a_circuit_that_is_wired(client):
    result = answers(client, WIRED)
    assert result["schematic"] == result["plain"] == (200, "image/svg+xml")
