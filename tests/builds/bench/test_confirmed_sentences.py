"""A check that a second reading too close to call has passed asks for no further reading in the same breath."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.gates import gating
from tests import factories

pytestmark = pytest.mark.django_db
AGAIN, CONFIRMED = "Measure again, ", "A second reading confirms it, so this check passes."


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=1, checks=1, steps=0))


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def answered(phone, build, htmx, typed="330"):
    headers = {"HX-Request": "true"} if htmx else {}
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    answer = phone.post(address, {"typed": typed, "unit": "V", "entry_key": str(uuid4())}, headers=headers)
    if answer.status_code == 302:
        answer = phone.get(answer["Location"])
    return answer.content.decode()


@pytest.mark.lengthy
@pytest.mark.parametrize("htmx", [True, False])
def test_the_first_asks_for_a_second_and_the_second_for_no_third(phone, build, htmx):
    first, second = (answered(phone, build, htmx) for _ in range(2))
    assert AGAIN in first and CONFIRMED not in first
    assert CONFIRMED in second and AGAIN not in second
    assert "cannot tell" in second and second.count(CONFIRMED) == (2 if htmx else 1)  # shown, and spoken once


@pytest.mark.lengthy
def test_a_conceded_reading_says_so_and_orders_nothing(phone, build):
    answered(phone, build, False, "345")
    check = factories.checks_of(revision=build.revision)[0]
    gating.concede(build, check, by=None, reason="The transformer of this lot is strong.")
    text = phone.get(reverse("bench:check", args=[build.pk, "stage-1", check.key])).content.decode()
    assert "conceded this reading in writing" in text and "Check the probe points" not in text
