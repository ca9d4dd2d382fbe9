"""The build's page: what is next, what is shut and why, and which readings are out."""

from uuid import uuid4

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import gating
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Build, Tick
from builds.guides.models import Check, Stage
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(checks=2, steps=1, stages=4))


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def page(phone, build, name="build", *more):
    return phone.get(reverse(f"bench:{name}", args=[build.pk, *more])).content.decode()


def read(build, number, value=300.0, outcome="in band"):
    for check in factories.checks_of(revision=build.revision):
        if check.stage.position == number:
            factories.add_reading(build=build, check=check, value=value, outcome=outcome)


def do(build, *numbers):
    for stage in Stage.objects.filter(revision=build.revision, position__in=numbers):
        Tick.objects.bulk_create([Tick(build=build, step=step) for step in stage.steps.all()])
        read(build, stage.position)


def test_a_gate_is_explained_once_and_not_under_every_stage_behind_it(phone, build):
    text = page(phone, build)
    assert text.count("is a gate") == 1 and text.count("Closed for the reason given above.") == 2


def test_a_shut_stage_leads_to_the_gate_that_shuts_it(phone, build):
    text = page(phone, build, "stage", "stage-3")
    assert "Go to Stage 1" in text and reverse("bench:stage", args=[build.pk, "stage-1"]) in text


def test_a_build_that_only_wants_making_safe_says_so_as_what_is_next(phone, build):
    do(build, 1, 2)
    acknowledge(open_sitting(build), Stage.objects.get(revision=build.revision, position=2), 230.0)
    assert "Make safe, then Stage 3" in page(phone, build)


PIECE = {"ref": "M1", "kind": "test resistor", "value": "100k", "tolerance": "1%"}
CHECK_METER = "Check your meter first."


@pytest.mark.parametrize("is_live", [False, True])
def test_the_next_stage_of_a_kit_with_power_comes_before_what_can_wait(client, is_live):
    """A meter's check leads before there is power; then the next stage stands in a phone's first screen."""
    build = factories.make_build(revision=factories.make_revision(checks=2, steps=1, stages=2, parts=(PIECE,)))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    if is_live:
        do(build, 1)
        acknowledge(open_sitting(build), Stage.objects.get(revision=build.revision, position=2), 230.0)
    text = page(client, build)
    assert text.count(CHECK_METER) == 1 and ("This kit has had power" in text) is is_live
    assert (text.index('class="card next') < text.index(CHECK_METER)) is is_live
    make_safe = reverse("bench:make-safe", args=[build.pk])
    assert text.count(f'href="{make_safe}') == 1  # in the bar at the foot, with power or without


def test_a_kit_with_power_and_nothing_left_to_do_offers_to_make_it_safe(phone, build):
    do(build, 1, 2, 3, 4)
    acknowledge(open_sitting(build), Stage.objects.get(revision=build.revision, position=4), 230.0)
    Build.objects.filter(pk=build.pk).update(finished_at=timezone.now())
    text = page(phone, build)
    assert "This kit has had power" in text and reverse("bench:make-safe", args=[build.pk]) in text


def test_a_reading_that_is_out_is_told_with_whether_it_is_conceded(phone, build):
    check = factories.checks_of(revision=build.revision)[0]
    factories.add_reading(build=build, check=check, value=200.0, outcome="out of band")
    text = page(phone, build)
    assert "1 out of band" in text and "conceded" not in text and "0 of 2 checks" in text
    gating.concede(build, check, by=None, reason="Fine here.")
    assert "1 out of band, conceded" in page(phone, build)


def test_a_stage_in_which_a_stop_stands_says_switch_off_and_not_out_of_band(build):
    stage = build.revision.stages.get(position=1)
    read(build, 1, value=480.0, outcome="switch off")
    states = gating.stage_states(Build.objects.get(pk=build.pk))
    assert [state.has_stop for state in states] == [state.stage == stage for state in states]
    line = render_to_string("bench/_stage_line.html", {"line": states[0], "number": 1, "build": build})
    assert "o-off" in line and "o-out" not in line


def test_an_optional_check_is_not_counted_but_holds_the_stage_up_while_it_is_out():
    build = factories.make_build(revision=factories.make_revision(checks=2, steps=1, issued=False))
    Check.objects.filter(key="check-1-2").update(optional=True)
    do(build, 1)
    state = gating.stage_states(build)[0]
    assert (state.passed, state.checks, state.complete) == (1, 1, True)
    factories.add_reading(
        build=build, check=factories.checks_of(revision=build.revision)[1], value=200.0, outcome="out of band"
    )
    state = gating.stage_states(build)[0]
    assert (state.passed, state.checks, state.complete) == (1, 1, False)
    assert "1 check to pass" in state.remaining_label


def test_a_signed_off_build_no_longer_asks_for_a_meter_check(phone, client):
    revision = factories.make_revision(
        parts=({"ref": "TR1", "kind": "test resistor", "value": "100k", "tolerance": "1%"},)
    )
    row = factories.make_build(revision=revision)
    client.force_login(row.builder, backend="django.contrib.auth.backends.ModelBackend")
    assert "Check your meter first" in page(client, row)
    Build.objects.filter(pk=row.pk).update(finished_at=timezone.now())
    assert "Check your meter first" not in page(client, row)


@pytest.mark.parametrize(("typed", "is_above"), [("75", True), ("-75", True), ("59.9", False), ("-59.9", False)])
def test_a_reading_below_the_limit_that_is_not_safe_says_that_the_meter_may_be_off(phone, build, typed, is_above):
    answer = phone.post(reverse("bench:make-safe", args=[build.pk]), {"typed": typed, "entry_key": str(uuid4())})
    page = answer.content.decode()
    assert answer.status_code == 422 and "is not safe" in page
    assert ("the limit is 60 V DC" in page, "what your meter may be off by" in page) == (is_above, not is_above)


def test_made_safe_and_not_safe_say_the_unit(phone, build):
    address = reverse("bench:make-safe", args=[build.pk])
    refused = phone.post(address, {"typed": "75", "entry_key": str(uuid4())}).content.decode()
    assert "75 V is not safe" in refused
    assert (
        "Made safe at 1.2 V."
        in phone.post(address, {"typed": "1.2", "entry_key": str(uuid4())}, follow=True).content.decode()
    )


@pytest.mark.lengthy
def test_done_steps_fold_and_the_stage_says_what_is_next_at_its_head(phone, build):
    text = page(phone, build, "stage", "stage-1")
    assert "step-fold" not in text and text.index("Next: step 1") < text.index('id="work"')
    do(build, 1)
    read(build, 1, 200.0, "out of band")
    text = page(phone, build, "stage", "stage-1")
    assert "step-fold" in text and "Next reading: Check 1.1" in text


def test_a_signed_off_build_takes_nothing_more_and_says_so(phone, build):
    Build.objects.filter(pk=build.pk).update(finished_at=timezone.now())
    address = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    answer = phone.post(address, {"typed": "302", "entry_key": str(uuid4())})
    assert answer.status_code == 409 and "signed off" in answer.content.decode() and "302" in answer.content.decode()
    assert not build.readings.exists()
    assert phone.post(reverse("bench:tick", args=[build.pk, "stage-1", "step-1-1"]), {"done": "yes"}).status_code == 409
    text = page(phone, build, "check", "stage-1", "check-1-1")
    assert "id_typed" not in text and "report a snag" in text


@pytest.mark.lengthy
def test_a_session_is_ended_only_where_one_runs(phone, build):
    ends = reverse("bench:end-sitting", args=[build.pk])
    assert ends not in page(phone, build)
    open_sitting(build)
    assert ends in page(phone, build)
    assert ends not in phone.post(ends, follow=True).content.decode()
    assert not build.sittings.filter(ended_at=None).exists()
