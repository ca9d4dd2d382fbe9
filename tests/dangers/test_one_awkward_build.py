"""One build with all that is awkward: too few digits, confirmed; a typing error, corrected; mains out of range; a stop,
made safe and read well again; a reading that stays out. Page, history, paper, table, program and letter say the same
of each reading."""

import csv
import io
import json
import re

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import CheckStatus, MadeSafe, PowerOn, Reading
from builds.bench.readings.taking import take_reading
from builds.guides.models import Check, Revision
from builds.operations.api.tokens import make
from tests import factories
from tests.dangers.test_every_page_says_the_same import words
from tests.shortcuts import send_waiting

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
LABELS = {
    "in band": "in band",
    "too close to call": "too close to call",
    "out of band": "out of band",
    "switch off": "SWITCH OFF",
}
# (check, typed, corrects the one before, outcome); bands by hand: 300 V ± 10 %, of the first ± 1 %, stop above 400 V
READINGS = [
    ("check-2-1", "302", False, "too close to call"),
    ("check-2-1", "302.0", False, "too close to call"),
    ("check-2-2", "30.17", False, "out of band"),
    ("check-2-2", "301.7", True, "in band"),
    ("check-2-3", "451.3", False, "switch off"),
    ("check-2-3", "303.1", False, "in band"),
    ("check-2-4", "341.9", False, "out of band"),
]
PASSED = {"check-2-1": True, "check-2-2": True, "check-2-3": True, "check-2-4": False}
OUTDATED_LABEL = "out of date"
MAINS = 180.0  # of a supply of 230 V: below what EN 50160 lets it fall to


@pytest.fixture
def build():
    revision = factories.make_revision(stages=2, checks=4, steps=0, gate=False, issued=False)
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(band="1%")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    factories.give_address(revision.kit.designers.get(), "designer@kits.example")
    acknowledge(open_sitting(build), revision.stages.get(key="stage-2"), MAINS)
    for key, typed, is_slip, _outcome in READINGS:
        row = Check.objects.select_related("stage__revision").get(stage__revision=revision, key=key)
        reading = take_reading(build, row, f"{typed} V", by=build.builder, mains_volts=MAINS, is_slip=is_slip)
        if reading.outcome == "switch off":
            MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
            PowerOn.objects.create(build=build, why="again")
    return build


def fetched(build, person, name, *args):
    client = Client()
    client.force_login(person, backend=BACKEND)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200, (name, answer.status_code)
    return answer


def said_after(text: str, typed: str) -> set[str]:
    """Every outcome that a text gives right after a reading."""
    label = re.compile("|".join(map(re.escape, LABELS.values())), re.IGNORECASE)
    places = re.finditer(rf"(?<![\d.]){re.escape(typed)} V(?![\d.])", text)
    result = (label.search(text, place.end(), place.end() + 60) for place in places)
    return {one[0].lower() for one in result if one}


def test_the_verdicts_are_those_worked_out_by_hand(build):
    kept = [(r.check_row.key, r.typed, r.is_slip, r.outcome) for r in Reading.objects.order_by("pk")]
    assert kept == [(key, f"{typed} V", is_slip, outcome) for key, typed, is_slip, outcome in READINGS]
    assert dict(CheckStatus.objects.values_list("check_row__key", "passed")) == PASSED
    assert not CheckStatus.objects.filter(stop__isnull=False).exists()


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["bench:readings", "review:build", "reports:build-record"])
def test_the_history_and_the_paper_say_the_same_of_each_reading(build, name):
    person = build.builder if name.startswith("bench") else build.revision.kit.designers.get()
    text = words(fetched(build, person, name, build.pk))
    for _key, typed, _is_slip, outcome in READINGS:
        assert said_after(text, typed) == {LABELS[outcome].lower()}, (name, typed)


@pytest.mark.lengthy
def test_the_table_and_the_program_say_the_same_of_each_reading(build):
    designer, kit = build.revision.kit.designers.get(), [build.revision.kit.key, build.revision.letter]
    table = csv.DictReader(io.StringIO(b"".join(fetched(build, designer, "reports:csv", *kit)).decode("utf-8-sig")))
    token = make(designer, "a program", ["read"])
    address = reverse("operations:api-readings", args=[build.pk])
    items = Client().get(address, headers={"Authorization": f"Bearer {token}"}).json()["items"]
    expected = sorted((f"{typed} V", outcome) for _key, typed, _is_slip, outcome in READINGS)
    assert sorted((row["typed"], row["outcome"]) for row in table) == expected
    assert sorted((row["typed"], row["outcome"]) for row in items) == expected


@pytest.mark.lengthy
def test_the_summary_and_the_dashboard_count_what_stands_and_no_more(build):
    """What was mended is no deviation that stands; the one that is out is in both."""
    designer, kit = build.revision.kit.designers.get(), [build.revision.kit.key, build.revision.letter]
    answer = fetched(build, designer, "reports:json", *kit)
    summary = json.loads(b"".join(answer) if answer.streaming else answer.content)
    assert {row["outcome"] for row in summary["deviations"] if row["check"] == "Check 2.4"} == {"out of band"}
    dashboard, page = (words(fetched(build, designer, name, *kit)) for name in ("review:dashboard", "reports:summary"))
    assert "Check 2.3 : 451.3 V" in dashboard and "corrected since" in dashboard
    assert dashboard.count("out of band") == 2 and "✗ +1.4 out of band" in dashboard  # a filter's, and Check 2.4's
    for shown in ("451 V, switch off", "303 V, in band", "342 V, out of band", "302 V, too close to call"):
        assert shown in page
    assert OUTDATED_LABEL not in page  # no valve of this build was changed


def test_the_letter_tells_of_the_stop_alone(build):
    send_waiting()
    reported = "\n".join(f"{letter.subject}\n{letter.body}" for letter in mail.outbox)
    assert "451.3 V" in reported and "303.1 V" not in reported and "30.17 V" not in reported
