"""A reading in band, and a figure worked out from it past its stop limit: every door says to switch off."""

import json
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates.gating import find_power
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Build, MadeSafe, PowerOn, Reading
from builds.bench.offline.judging import rules_for
from builds.bench.readings.context import build_context
from builds.guides.models import Check, Revision
from builds.operations.api.tokens import make
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
SOOTHING = ("This is right", "in band", "Next reading", "Continue")


@pytest.fixture
def build(client):
    """11 V across 8 Ω are 15 W; the kit may give 12 W at most, though 11 V lie in the band of the volts."""
    revision = factories.make_revision(gate=False, checks=0, steps=0, issued=False)
    stage = revision.stages.get(key="stage-2")
    common = {"stage": stage, "mains_exponent": 0.0}
    Check.objects.create(
        position=1, key="out", title="out", measure="ac volts", red="a", low="4 V", high="12 V", **common
    )
    Check.objects.create(
        position=2,
        key="power",
        title="Output power",
        measure="output power",
        red="",
        at_least="2 W",
        stop_above="12 W",
        formula={"of": ["out"], "load": "8R"},
        **common,
    )
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    client.force_login(build.builder, backend=BACKEND)
    return build


def live(build):
    acknowledge(open_sitting(build), build.revision.stages.get(key="stage-2"), 230.0)


def is_stopped(client, build, answer):
    """The stop is on record, and the way on leads to its page and to nothing that sounds well."""
    assert Reading.objects.get(check_row__key="power").outcome == "switch off"
    assert find_power(Build.objects.get(pk=build.pk)).stop_unanswered
    while answer.status_code == 302:
        answer = client.get(answer["Location"])
    page = answer.content.decode()
    assert answer.resolver_match.url_name == "stop" and "Switch off" in page
    return not any(word in page for word in SOOTHING)


@pytest.mark.parametrize("name", ["bench:reading", "bench:grid-reading"])
def test_a_typed_reading_whose_figure_stops_leads_to_the_stop(client, build, name):
    live(build)
    data = {"typed": "11.00", "unit": "V", "entry_key": str(uuid4())}
    assert is_stopped(client, build, client.post(reverse(name, args=[build.pk, "stage-2", "out"]), data))


@pytest.mark.parametrize("name", ["bench:reading", "bench:grid-reading"])
def test_the_same_without_a_page_load(client, build, name):
    live(build)
    data = {"typed": "11.00", "unit": "V", "entry_key": str(uuid4())}
    url = reverse(name, args=[build.pk, "stage-2", "out"])
    answer = client.post(url, data, headers={"HX-Request": "true"})
    assert "This is right" not in answer.content.decode()
    assert is_stopped(client, build, client.get(answer["HX-Redirect"] if "HX-Redirect" in answer else url[:-9]))
    assert "HX-Redirect" in answer or "Switch off" in answer.content.decode()


def test_a_sheet_whose_figure_stops_leads_to_the_stop(client, build):
    at = timezone.localtime() - timedelta(minutes=2)
    data = {"entry_key": str(uuid4()), "day": f"{at:%Y-%m-%d}", "read": "on", "mains": "230"}
    data |= {"out-typed": "11.00", "out-unit": "V", "out-at": f"{at:%H:%M}"}
    assert is_stopped(client, build, client.post(reverse("bench:sheet", args=[build.pk, "stage-2"]), data))


def test_a_program_is_told_that_the_figure_stops(client, build):
    live(build)
    answer = client.post(
        reverse("operations:api-post-reading", args=[build.pk, "stage-2", "out"]),
        json.dumps({"typed": "11.00", "unit": "V", "entry_key": str(uuid4())}),
        content_type="application/json",
        headers={"Authorization": f"Bearer {make(build.builder, 'a meter', ['write-readings'])}"},
    )
    told = answer.json()
    assert answer.status_code == 201 and told["switch_off"] is True
    assert "witch off" in told["text"] and "This is right" not in told["text"]


def test_a_phone_alone_calls_no_reading_right_that_a_figure_may_stop(build):
    check = Check.objects.select_related("stage__revision").get(key="out")
    assert rules_for(build_context(build, check, None))["powers"] == {}  # it is kept, and not judged
    [figure] = [row for row in check.stage.checks.all() if row.key == "power"]
    figure.stop_above = ""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("builds.bench.offline.judging.figures_resting_on", lambda _check: [figure])
        assert rules_for(build_context(build, check, None))["powers"]  # a figure without a stop limit hinders nothing


def test_a_figure_within_its_limit_stops_nothing(client, build):
    live(build)
    data = {"typed": "9.00", "unit": "V", "entry_key": str(uuid4())}
    client.post(reverse("bench:reading", args=[build.pk, "stage-2", "out"]), data)
    assert Reading.objects.get(check_row__key="power").outcome == "in band"
    assert not find_power(Build.objects.get(pk=build.pk)).stop_unanswered


def test_a_phone_is_told_of_the_stop_when_it_sends_the_reading_later(client, build):
    live(build)
    key = str(uuid4())
    headers = {"Entry-Key": key, "Entry-Age": "30", "Outbox": "yes"}
    for _again in range(2):  # as a bad line makes it
        data = {"typed": "11.00", "unit": "V", "entry_key": key}
        answer = client.post(reverse("bench:reading", args=[build.pk, "stage-2", "out"]), data, headers=headers)
        assert (answer.status_code, answer["Entry-Kept"], answer["Entry-Outcome"]) == (204, key, "x")


def test_a_phone_is_told_of_the_stop_when_it_sends_the_sheet_later(client, build):
    at, key = timezone.localtime() - timedelta(minutes=2), str(uuid4())
    data = {"entry_key": key, "day": f"{at:%Y-%m-%d}", "read": "on", "mains": "230"}
    data |= {"out-typed": "11.00", "out-unit": "V", "out-at": f"{at:%H:%M}"}
    headers = {"Entry-Key": key, "Outbox": "yes"}
    answer = client.post(reverse("bench:sheet", args=[build.pk, "stage-2"]), data, headers=headers)
    assert (answer["Entry-Kept"], answer["Entry-Outcome"]) == (key, "x")


def test_a_figure_of_a_reading_that_is_over_range_since_passes_no_longer(client, build):
    """As where the designer concedes the reading itself: the figure would stand on the reading before it."""
    live(build)
    for typed, passed in (("9.00", True), ("OL", False), ("9.00", True)):
        data = {"typed": typed, "unit": "V", "entry_key": str(uuid4())}
        client.post(reverse("bench:reading", args=[build.pk, "stage-2", "out"]), data)
        assert build.statuses.get(check_row__key="power").passed == passed, typed
        MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
        PowerOn.objects.create(build=build)
