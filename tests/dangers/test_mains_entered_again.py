"""A reading kept on a phone is judged by the mains it was read at, whatever is entered before it is sent."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import sittings
from builds.bench.models import Sitting
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(client):
    """Begun two hours ago at 230 V, with power on; a good kit reads 270 V to 330 V there, with the mains."""
    revision = factories.make_revision(stages=2, checks=2, gate=False, issued=False)
    revision.stages.filter(key="stage-1").delete()
    Check.objects.update(mains_exponent=1.0)
    build = factories.make_build(revision=revision)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    enter(build, 230.0)
    Sitting.objects.update(begun_at=timezone.now() - timedelta(hours=2))
    return client, build


def enter(build, volts: float | None):
    sittings.acknowledge(sittings.open_sitting(build), build.revision.stages.get(), volts)


def post(bench, typed: str, age: int | None = None, check: str = "check-2-1"):
    client, build = bench
    key = str(uuid4())
    headers = {} if age is None else {"HX-Request": "true", "Outbox": "yes", "Entry-Key": key, "Entry-Age": str(age)}
    address = reverse("bench:reading", args=[build.pk, "stage-2", check])
    client.post(address, {"typed": typed, "unit": "V", "entry_key": key}, headers=headers)
    return build.readings.get(entry_key=key)


def test_a_reading_that_waited_is_judged_by_the_mains_of_then(bench):
    """345 V is out at 230 V and would be in band at 250 V."""
    enter(bench[1], 250.0)
    late = post(bench, "345.0", age=600)
    assert (late.mains_volts, late.outcome) == (230.0, "out of band")
    now = post(bench, "345.0", check="check-2-2")
    assert (now.mains_volts, now.outcome) == (250.0, "in band")


def test_a_mains_that_was_left_blank_stays_blank_for_what_waited(bench):
    Sitting.objects.update(mains_volts=None)
    enter(bench[1], 250.0)
    assert post(bench, "300.0", age=600).mains_volts is None
    assert post(bench, "300.0", check="check-2-2").mains_volts == 250.0


@pytest.mark.parametrize("volts", [230.0, None])
def test_the_same_mains_again_is_the_same_sitting(bench, volts):
    enter(bench[1], volts)
    assert bench[1].sittings.count() == 1 and bench[1].sittings.get().mains_volts == 230.0


def test_cautions_that_were_read_need_not_be_read_again_for_another_mains(bench):
    client, build = bench
    enter(build, 250.0)
    assert [row.mains_volts for row in build.sittings.all()] == [230.0, 250.0]
    assert client.get(reverse("bench:stage", args=[build.pk, "stage-2"])).status_code == 200
