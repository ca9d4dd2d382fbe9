"""231 V at the outlet, and the build is set up for 115 V mains: it may not be plugged in, and nothing is judged."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import PowerOn, Reading, Sitting
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"


def build_at(client, volts: int):
    build = factories.make_build(revision=factories.make_revision(gate=False, steps=0), mains_volts=volts)
    client.force_login(build.builder, backend=BACKEND)
    return build


def acknowledge(client, build, mains: str):
    url = reverse("bench:cautions", args=[build.pk, "stage-2"])
    return client.post(url, {"read": "on", "mains": mains, "entry_key": str(uuid4())})


@pytest.mark.parametrize(
    ("nominal", "mains"), [(115, "231"), (100, "117"), (120, "230.4"), (230, "258"), (110, "127"), (240, "277")]
)
def test_a_line_of_another_supply_puts_no_power_on_record(client, nominal, mains):
    build = build_at(client, nominal)
    got = acknowledge(client, build, mains)
    assert got.status_code == 422
    assert "Do not plug the kit in" in str(got.context["form"].errors["mains"])
    assert f'value="{mains}"' in got.content.decode()  # what was typed is kept
    assert not PowerOn.objects.exists() and not Sitting.objects.exclude(mains_volts=None).exists()


@pytest.mark.parametrize(
    ("nominal", "mains"), [(230, "253"), (230, "256"), (230, "197"), (240, "264"), (120, "132"), (100, "107")]
)
def test_a_line_that_an_outlet_may_have_is_taken(client, nominal, mains):
    build = build_at(client, nominal)
    assert acknowledge(client, build, mains).status_code == 302
    assert Sitting.objects.get(build=build, ended_at=None).mains_volts == float(mains)


def test_a_sheet_that_was_filled_at_another_supply_is_not_judged(client):
    """Read at 231 V, and entered after the build was set to 115 V: against the bands of the wrong tap."""
    build = build_at(client, 115)
    at = timezone.localtime() - timedelta(minutes=2)
    data = {"entry_key": str(uuid4()), "day": f"{at:%Y-%m-%d}", "read": "on", "mains": "231"}
    data |= {"check-2-1-typed": "310", "check-2-1-at": f"{at:%H:%M}"}
    got = client.post(reverse("bench:sheet", args=[build.pk, "stage-2"]), data)
    assert got.status_code == 422 and "mains" in got.context["form"].errors
    assert not Reading.objects.filter(check_row__stage__key="stage-2").exists()
