"""A reading that was in band until the valve under it was changed: every page, paper, export and program that says
where the check stands says that too. Lists of what was read, attempt by attempt, keep what was said then."""

import csv
import io
import re
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from builds.operations.api.tokens import make
from tests import factories
from tests.dangers.test_every_page_says_the_same import words

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
SAID = "out of date"
TYPED = "301.7 V"
READINGS = {"check-2-1": TYPED, "check-2-2": "302.9 V", "check-1-1": "303.1 V", "check-1-2": "304.3 V"}
BENCH = ("bench:stage", "bench:grid", "bench:readings", "bench:charts", "bench:map", "reports:build-record")
DESK = (
    "review:build",
    "review:charts",
    "review:deviation",
    "review:dashboard",
    "review:map",
    "reports:build-record",
)
HISTORY = {"bench:readings", "review:build", "review:deviation"}  # beside where it stands, each attempt as judged then


@pytest.fixture
def build():
    valve = {"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83", "base": "B9A"}}
    revision = factories.make_revision(stages=2, checks=2, steps=0, gate=False, parts=(valve,), issued=False)
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(red="V1.1")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    acknowledge(open_sitting(build), revision.stages.get(key="stage-2"), 230.0)
    for key, typed in READINGS.items():
        assert take_reading(build, check(build, key), typed, by=build.builder, mains_volts=230.0).outcome == "in band"
    return build


def check(build, key="check-2-1"):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def signed_in(person):
    client = Client()
    client.force_login(person, backend=BACKEND)
    return client


def change_the_valve(build):
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    for more in ({}, {"why": "doubt", "make": "Northlight"}):
        row = {"ref": "V1", "make": "Kestrel", "entry_key": uuid4(), **more}
        assert signed_in(build.builder).post(reverse("bench:valves", args=[build.pk]), row).status_code == 302


def text_of(build, name, person) -> str:
    kit, stage = [build.revision.kit.key, build.revision.letter], [build.pk, "stage-2"]
    args = {
        "bench:stage": stage,
        "bench:grid": stage,
        "bench:charts": [build.pk, "voltage"],
        "review:charts": [build.pk, "voltage"],
        "review:deviation": [build.pk, check(build).pk],
        "review:dashboard": kit,
        "review:map": kit,
    }.get(name, [build.pk])
    answer = signed_in(person).get(reverse(name, args=args))
    assert answer.status_code == 200, (name, answer.status_code)
    return words(answer)


def places(build):
    designer = build.revision.kit.designers.get()
    return [(name, build.builder) for name in BENCH] + [(name, designer) for name in DESK]


@pytest.mark.lengthy
def test_every_place_that_says_where_the_check_stands_says_that_the_valve_was_changed(build):
    assert not any(SAID in text_of(build, name, person) for name, person in places(build) if name != "review:deviation")
    change_the_valve(build)
    acknowledge(open_sitting(build), build.revision.stages.get(key="stage-2"), 230.0)
    for name, person in places(build):
        text = text_of(build, name, person)
        assert SAID in text, name
        right = len(re.findall(re.escape(TYPED) + r"(?: 270 to 330 V)? ✓ in band", text))
        assert right <= (name in HISTORY), (name, right)


@pytest.mark.lengthy
def test_exports_and_programs_are_told(build):
    designer = build.revision.kit.designers.get()
    change_the_valve(build)
    kit = [build.revision.kit.key, build.revision.letter]
    answer = signed_in(designer).get(reverse("reports:csv", args=kit))
    rows = csv.DictReader(io.StringIO(b"".join(answer).decode("utf-8-sig")))
    assert {row["typed"]: row["outdated"] for row in rows} == {
        t: "yes" if t == TYPED else "no" for t in READINGS.values()
    }
    token = make(designer, "a program", ["read"])
    for address in (
        reverse("operations:api-readings", args=[build.pk]),
        reverse("operations:api-revision-readings", args=kit),
    ):
        got = Client().get(address, headers={"Authorization": f"Bearer {token}"}).json()["items"]
        assert {row["typed"]: row["outdated"] for row in got} == {t: t == TYPED for t in READINGS.values()}


@pytest.mark.lengthy
def test_a_new_reading_is_outdated_no_longer(build):
    change_the_valve(build)
    acknowledge(open_sitting(build), build.revision.stages.get(key="stage-2"), 230.0)
    take_reading(build, check(build), "301.2 V", by=build.builder, mains_volts=230.0)
    for name, person in places(build):
        if name not in HISTORY:
            assert SAID not in text_of(build, name, person), name
