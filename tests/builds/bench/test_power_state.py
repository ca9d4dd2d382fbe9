"""What power does to a build: no way leads hands in past a made-safe reading. Each test is named after its danger."""

from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.bench.gates import gating, sittings
from builds.bench.gates.facts import load_facts
from builds.bench.models import Build, Erratum, Halt, MadeSafe, PartSwap, PowerOn, Reading
from builds.bench.offline.power_then import was_live
from builds.bench.readings.taking import take_reading
from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import read_guide
from builds.guides.models import Check, Revision
from tests import factories

pytestmark = pytest.mark.django_db


def at(name, build, *more):
    return reverse(f"bench:{name}", args=[build.pk, *more])


def check_of(build, key):
    return Check.objects.select_related("stage").get(stage__revision=build.revision, key=key)


def read(build, key, typed, **more):
    return take_reading(build, check_of(build, key), typed, by=build.builder, **more)


def power(build):
    return gating.find_power(build, load_facts(build))


def state(build, key):
    return next(s for s in gating.stage_states(build) if s.stage.key == key)


def make_safe(phone, build, typed="3"):
    return phone.post(at("make-safe", build), {"typed": typed, "entry_key": str(uuid4())})


def power_on(build, stage_key="stage-2"):
    """The builder acknowledges a powered stage's cautions: from here on the kit may be live."""
    sittings.acknowledge(sittings.open_sitting(build), build.revision.stages.get(key=stage_key), 230.0)


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=3, checks=2, steps=1, gate=False))


@pytest.fixture
def phone(build):
    made = Client()
    made.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return made


def test_a_stop_on_an_unpowered_stage_counts_as_live(build):
    """Volts where there should be none: the kit has power, whatever the stage says."""
    read(build, "check-1-1", "300")
    assert not power(build).needs_made_safe
    read(build, "check-1-2", "450")
    assert power(build).needs_made_safe and power(build).stop_unanswered


def test_a_halted_stage_is_never_shown_as_done(build):
    for key in ("check-1-1", "check-1-2"):
        read(build, key, "300")
    step = build.revision.stages.get(key="stage-1").steps.get()
    build.ticks.create(step=step)
    assert state(build, "stage-1").state == "done"
    Halt.objects.create(stage=step.stage, reason="C1 is rated too low.")
    halted = state(build, "stage-1")
    assert halted.state == "shut" and halted.reasons
    Halt.objects.update(lifted_at=timezone.now())
    assert state(build, "stage-1").state == "done"


@pytest.mark.parametrize(
    ("typed", "is_safe"),
    [("59.0", True), ("59.9", False), ("60", False), ("60.0", False), ("-60", False), ("−59.0", True), ("59", False)],
)
def test_sixty_volts_exactly_is_not_safe(phone, build, typed, is_safe):
    """IEC 62368-1:2018, table 4: ES1 ends at 60 V DC; safe is what lies below it whatever this meter's ±(0.5 % + 2
    digits) hides."""
    power_on(build)
    answer = make_safe(phone, build, typed)
    assert MadeSafe.objects.get().is_safe is is_safe
    assert answer.status_code == (302 if is_safe else 422)
    assert power(build).needs_made_safe is not is_safe


def test_a_slip_confirms_nothing_when_a_concession_is_worked_out_again(build):
    """Two entries of one look at the meter are one reading, not two that agree."""
    check = check_of(build, "check-1-1")
    for _attempt in (1, 2):
        factories.add_reading(build=build, check=check, value=330.0, outcome="too close to call")
    assert gating.refresh_status(build, check).passed  # two readings in earnest do confirm each other
    Reading.objects.filter(build=build, attempt=2).update(is_slip=True)
    assert not gating.refresh_status(build, check).passed
    gating.concede(build, check, by=None, reason="Seen on the prototype too.")
    assert build.statuses.get(check_row=check).passed


def test_a_new_sitting_does_not_forget_that_the_kit_had_power(phone, build):
    power_on(build)
    phone.post(at("end-sitting", build))
    assert power(build).needs_made_safe
    sittings.open_sitting(build)
    assert power(build).needs_made_safe and state(build, "stage-3").state == "shut"


def test_power_after_a_made_safe_reading_is_power_again(phone, build):
    power_on(build)
    make_safe(phone, build)
    assert not power(build).needs_made_safe
    read(build, "check-2-1", "300")
    assert power(build).needs_made_safe


@pytest.fixture
def mixed():
    """A powered stage in which valves go in after a reading: reading, hands in, reading; then an unpowered stage."""
    revision = factories.make_revision(stages=3, checks=2, steps=2, gate=False, issued=False)
    powered = revision.stages.get(key="stage-2")
    order = ("step-2-1", "check-2-1", "step-2-2", "check-2-2")
    for place, key in enumerate(order):
        powered.steps.filter(key=key).update(place=place)
        powered.checks.filter(key=key).update(place=place)
    powered.steps.filter(key="step-2-2").update(hands_in=True)
    revision.stages.get(key="stage-3").steps.filter(key="step-3-1").update(hands_in=True)
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    power_on(build)
    sittings.acknowledge(sittings.open_sitting(build), revision.stages.get(key="stage-3"), None)
    return build


def tick(client, build, key="step-2-2", stage="stage-2", done="yes", **headers):
    return client.post(at("tick", build, stage, key), {"done": done}, **headers)


def ticked(build, key="step-2-2"):
    return build.ticks.filter(step__key=key).exists()


@pytest.fixture
def hand(mixed):
    made = Client()
    made.force_login(mixed.builder, backend="django.contrib.auth.backends.ModelBackend")
    return made


def switch_on(client, build, key="", stage="stage-2"):
    """The one tap before live work goes on."""
    return client.post(at("switch-on", build, stage), {"check": key, "entry_key": str(uuid4())})


def read_live(client, build, key, typed="300"):
    switch_on(client, build, key)
    return post_reading(client, build, key, typed)


def post_reading(client, build, key, typed="300", stage="stage-2"):
    return client.post(at("reading", build, stage, key), {"typed": typed, "entry_key": str(uuid4())})


def test_valves_do_not_go_in_while_power_is_on_record(mixed, hand):
    tick(hand, mixed, "step-2-1")
    post_reading(hand, mixed, "check-2-1")
    answer = tick(hand, mixed)
    assert answer.status_code == 409 and not ticked(mixed)
    assert f"{at('make-safe', mixed)}?back=stage-2/step-2-2" in answer.content.decode()
    answer = tick(hand, mixed, headers={"HX-Request": "true"})
    assert answer.status_code == 422 and not ticked(mixed) and at("make-safe", mixed) in answer.content.decode()
    make_safe(hand, mixed, "75")
    assert tick(hand, mixed).status_code == 409  # a reading that is still too high opens nothing
    make_safe(hand, mixed, "3")
    assert tick(hand, mixed).status_code == 302 and ticked(mixed)


def test_a_kit_made_safe_that_is_found_charged_again_takes_no_hands(mixed, hand):
    """Left plugged in, or charged by its own dielectric: the last look across the reservoir says so, and it counts."""
    tick(hand, mixed, "step-2-1")
    post_reading(hand, mixed, "check-2-1")
    make_safe(hand, mixed, "3")
    assert make_safe(hand, mixed, "310").status_code == 422
    assert tick(hand, mixed).status_code == 409 and not ticked(mixed)
    assert state(mixed, "stage-3").state == "shut"
    make_safe(hand, mixed, "3")
    assert tick(hand, mixed).status_code == 302 and ticked(mixed)


def test_a_reservoir_found_charged_counts_though_no_power_is_on_record(build, phone):
    make_safe(phone, build, "310")
    assert power(build).needs_made_safe and state(build, "stage-1").state == "shut"
    assert was_live(build, timezone.now())


def test_the_page_offers_no_tick_for_a_step_that_puts_hands_in_while_live(mixed, hand):
    tick(hand, mixed, "step-2-1")
    post_reading(hand, mixed, "check-2-1")
    page = hand.get(at("stage", mixed, "stage-2")).content.decode()
    assert at("tick", mixed, "stage-2", "step-2-2") not in page
    assert f"{at('make-safe', mixed)}?back=stage-2/step-2-2" in page
    answer = hand.post(at("make-safe", mixed), {"typed": "3", "entry_key": str(uuid4()), "back": "stage-2/step-2-2"})
    assert answer["Location"] == at("stage", mixed, "stage-2") + "#step-step-2-2"
    assert at("tick", mixed, "stage-2", "step-2-2") in hand.get(at("stage", mixed, "stage-2")).content.decode()


def test_made_safe_leads_back_to_no_page_of_another_site(mixed, hand):
    for back in ("//elsewhere.example/", "https://elsewhere.example", "stage-9/step-9-9", "stage-2/../../x"):
        answer = hand.post(at("make-safe", mixed), {"typed": "3", "entry_key": str(uuid4()), "back": back})
        assert answer["Location"] in (at("build", mixed), at("stage", mixed, "stage-2"))


def test_a_reading_behind_a_step_that_puts_hands_in_is_not_taken_before_it(mixed, hand):
    """Valves fitted without making safe would show up here first."""
    answer = post_reading(hand, mixed, "check-2-2", "311")
    assert answer.status_code == 409 and not mixed.readings.exists()
    assert "311" in answer.content.decode()  # what was typed is shown, to be noted down
    assert 'name="typed"' not in hand.get(at("check", mixed, "stage-2", "check-2-2")).content.decode()


def test_power_after_the_hands_were_in_locks_the_next_such_step_again(mixed, hand):
    make_safe(hand, mixed)
    assert read_live(hand, mixed, "check-2-1").status_code == 302  # power is on again
    assert tick(hand, mixed).status_code == 409


def test_a_second_switching_on_leaves_its_trace_before_any_reading(mixed, hand):
    """Made safe, switched on again, nothing read yet: no hand goes in, no valve is swapped, no part changed."""
    tick(hand, mixed, "step-2-1")
    post_reading(hand, mixed, "check-2-1")
    make_safe(hand, mixed)
    swap = PartSwap.objects.create(build=mixed, ref="R1", action="rewire")
    assert switch_on(hand, mixed).status_code == 302 and power(mixed).needs_made_safe
    assert PowerOn.objects.filter(why="again", stage__key="stage-2").count() == 1
    assert tick(hand, mixed).status_code == 409 and hand.post(at("swapped", mixed, swap.pk)).status_code == 409
    make_safe(hand, mixed)
    assert tick(hand, mixed).status_code == 302


@pytest.mark.lengthy
@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_no_live_reading_is_taken_of_a_kit_made_safe_until_it_is_switched_on_again(mixed, hand, headers):
    tick(hand, mixed, "step-2-1")
    make_safe(hand, mixed)
    page = hand.get(at("check", mixed, "stage-2", "check-2-1")).content.decode()
    assert 'name="typed"' not in page and at("switch-on", mixed, "stage-2") in page
    assert at("switch-on", mixed, "stage-2") in hand.get(at("stage", mixed, "stage-2")).content.decode()
    entry = {"typed": "311", "entry_key": str(uuid4())}
    answer = hand.post(at("reading", mixed, "stage-2", "check-2-1"), entry, headers=headers)
    assert answer.status_code == 409 and "311" in answer.content.decode() and not mixed.readings.exists()
    went = switch_on(hand, mixed, "check-2-1")
    assert went["Location"] == at("check", mixed, "stage-2", "check-2-1")
    assert 'name="typed"' in hand.get(went["Location"]).content.decode()
    assert post_reading(hand, mixed, "check-2-1").status_code == 302


def test_switching_on_is_put_on_record_once_a_tap_and_never_changed(mixed, hand):
    make_safe(hand, mixed)
    entry = {"check": "", "entry_key": str(uuid4())}
    for _tap in range(2):
        assert hand.post(at("switch-on", mixed, "stage-2"), entry).status_code == 302
    row = PowerOn.objects.get(why="again")
    make_safe(hand, mixed)
    hand.post(at("switch-on", mixed, "stage-2"), entry)  # the browser's Back: the page is old, the kit stays off
    assert not power(mixed).needs_made_safe and PowerOn.objects.filter(why="again").count() == 1
    with pytest.raises(DatabaseError), transaction.atomic():
        PowerOn.objects.filter(pk=row.pk).update(at=timezone.now())


def test_no_switching_on_without_cautions_nor_in_a_stage_without_power(mixed, hand):
    make_safe(hand, mixed)
    assert switch_on(hand, mixed, stage="stage-1").status_code == 404
    hand.post(at("end-sitting", mixed))
    assert switch_on(hand, mixed)["Location"] == at("cautions", mixed, "stage-2")
    assert not power(mixed).needs_made_safe


@pytest.mark.lengthy
def test_while_a_stop_stands_only_the_check_it_stands_on_is_read_live(mixed, hand):
    make_safe(hand, mixed)
    tick(hand, mixed, "step-2-1")
    read_live(hand, mixed, "check-2-1", "450")
    make_safe(hand, mixed)
    mixed.ticks.create(step=mixed.revision.stages.get(key="stage-2").steps.get(key="step-2-2"))
    assert at("switch-on", mixed, "stage-2") not in hand.get(at("stage", mixed, "stage-2")).content.decode()
    for query in ("", "?measure=1"):
        page = hand.get(at("check", mixed, "stage-2", "check-2-2") + query).content.decode()
        assert 'name="typed"' not in page and at("switch-on", mixed, "stage-2") not in page
    for key in ("", "check-2-2"):
        switch_on(hand, mixed, key)
        assert not power(mixed).needs_made_safe
    assert post_reading(hand, mixed, "check-2-2").status_code == 409
    assert 'name="typed"' not in hand.get(at("check", mixed, "stage-2", "check-2-1") + "?measure=1").content.decode()
    assert read_live(hand, mixed, "check-2-1", "300").status_code == 302
    assert post_reading(hand, mixed, "check-2-2").status_code == 302  # read well: live work goes on


def test_a_new_session_puts_no_power_on_record_while_a_stop_stands(mixed, hand):
    read(mixed, "check-2-1", "450")
    make_safe(hand, mixed)
    hand.post(at("end-sitting", mixed))
    assert hand.post(at("cautions", mixed, "stage-2"), {"read": "on", "mains": "230"}).status_code == 302
    assert not power(mixed).needs_made_safe


@pytest.mark.parametrize("ended", ["finished_at", "given_up_at"])
def test_no_cautions_and_no_power_once_a_build_is_ended(mixed, hand, ended):
    Build.objects.filter(pk=mixed.pk).update(**{ended: timezone.now()})
    before = PowerOn.objects.count()
    assert hand.get(at("cautions", mixed, "stage-2")).status_code == 302
    assert hand.post(at("cautions", mixed, "stage-2"), {"read": "on", "mains": "230"}).status_code in (302, 409)
    switch_on(hand, mixed)
    assert PowerOn.objects.count() == before


def test_an_erratum_is_confirmed_before_the_cautions_open_live_work(mixed, hand):
    hand.post(at("end-sitting", mixed))
    stage = mixed.revision.stages.get(key="stage-2")
    erratum = Erratum.objects.create(revision=mixed.revision, stage=stage, words="C1 is shown the wrong way round.")
    before = PowerOn.objects.count()
    assert hand.get(at("cautions", mixed, "stage-2"))["Location"] == at("stage", mixed, "stage-2")
    assert hand.post(at("cautions", mixed, "stage-2"), {"read": "on"})["Location"] == at("errata", mixed, "stage-2")
    assert PowerOn.objects.count() == before
    hand.post(at("confirm-erratum", mixed, erratum.pk))
    assert hand.get(at("cautions", mixed, "stage-2")).status_code == 200


def test_finishing_a_powered_stage_unlocks_nothing(mixed, hand):
    tick(hand, mixed, "step-2-1")
    read_live(hand, mixed, "check-2-1")
    make_safe(hand, mixed)
    tick(hand, mixed)
    read_live(hand, mixed, "check-2-2")
    assert state(mixed, "stage-2").state == "done"
    assert tick(hand, mixed, "step-3-1", "stage-3").status_code == 409 and not ticked(mixed, "step-3-1")
    make_safe(hand, mixed)
    tick(hand, mixed, "step-3-1", "stage-3")
    assert ticked(mixed, "step-3-1")


def test_a_finished_stage_does_not_let_a_step_be_ticked_again_while_live(mixed, hand):
    """A stage that is done stays open to look at; its tick, once taken back, needs a made-safe reading like any."""
    make_safe(hand, mixed)
    for key in ("step-3-1", "step-3-2"):
        tick(hand, mixed, key, "stage-3")
    for key in ("check-3-1", "check-3-2"):
        post_reading(hand, mixed, key, stage="stage-3")
    assert state(mixed, "stage-3").state == "done"
    power_on(mixed)
    assert tick(hand, mixed, "step-3-1", "stage-3", done="no").status_code == 302 and not ticked(mixed, "step-3-1")
    assert tick(hand, mixed, "step-3-1", "stage-3").status_code == 409 and not ticked(mixed, "step-3-1")


def test_no_hand_goes_in_after_a_stop_before_the_kit_is_made_safe(mixed, hand):
    make_safe(hand, mixed)
    tick(hand, mixed, "step-2-1")
    read_live(hand, mixed, "check-2-1", "450")
    answer = tick(hand, mixed)
    assert answer["Location"] == at("stop", mixed) and not ticked(mixed)
    make_safe(hand, mixed)
    answer = tick(hand, mixed)  # made safe, yet the reading that stopped has not passed
    assert answer.status_code == 409 and not ticked(mixed)


def test_a_new_sitting_ticks_no_step_that_the_old_one_could_not(mixed, hand):
    tick(hand, mixed, "step-2-1")
    post_reading(hand, mixed, "check-2-1")
    hand.post(at("end-sitting", mixed))
    hand.post(at("cautions", mixed, "stage-2"), {"read": "on", "mains": "230"})
    assert tick(hand, mixed).status_code == 409 and not ticked(mixed)


def test_plug_in_and_play_does_not_come_before_the_checks_put_first(mixed, hand):
    """An order of the guide is kept: a step waits for the checks before it."""
    make_safe(hand, mixed)
    tick(hand, mixed, "step-2-1")
    answer = tick(hand, mixed)
    assert answer.status_code == 409 and at("check", mixed, "stage-2", "check-2-1") in answer.content.decode()
    read_live(hand, mixed, "check-2-1", "200")  # out of band
    make_safe(hand, mixed)
    assert tick(hand, mixed).status_code == 409
    read_live(hand, mixed, "check-2-1", "300")
    make_safe(hand, mixed)
    assert tick(hand, mixed).status_code == 302 and ticked(mixed)


def test_the_tick_of_a_step_done_before_is_repeated_without_a_refusal(mixed, hand):
    """A slow phone sends twice; nothing is done anew, so nothing is refused."""
    tick(hand, mixed, "step-2-1")
    read_live(hand, mixed, "check-2-1")
    make_safe(hand, mixed)
    tick(hand, mixed)
    read_live(hand, mixed, "check-2-2")
    assert tick(hand, mixed).status_code == 302 and mixed.ticks.filter(step__key="step-2-2").count() == 1


@pytest.mark.lengthy
@pytest.mark.parametrize("kit", ["five-watt", "line-preamp"])
def test_the_demonstration_guides_end_with_earth_and_isolation_before_play(kit):
    stage = next(s for s in read_guide(demo_zip(kit), "guide.zip")["stage"] if s["key"] == "sign-off")
    order = stage["order"]
    assert max(order.index("final-earth"), order.index("final-isolation")) < order.index("play")


@pytest.mark.lengthy
@pytest.mark.parametrize("kit", ["five-watt", "line-preamp"])
def test_the_demonstration_guides_mark_the_steps_that_fit_valves(kit):
    stages = read_guide(demo_zip(kit), "guide.zip")["stage"]
    valves = {p["ref"] for p in read_guide(demo_zip(kit), "guide.zip")["part"] if p.get("pins") and p.get("base")}
    fitting = [
        s for g in stages if g.get("power") == "on" for s in g.get("step", []) if valves & set(s.get("parts", []))
    ]
    assert fitting and all(step.get("hands_in") for step in fitting)


def test_a_part_is_not_changed_after_a_move_while_power_is_on_record(mixed, hand):
    swap = PartSwap.objects.create(build=mixed, ref="R1", action="rewire")
    answer = hand.post(at("swapped", mixed, swap.pk))
    swap.refresh_from_db()
    assert answer.status_code == 409 and swap.done_at is None and at("make-safe", mixed) in answer.content.decode()
    make_safe(hand, mixed)
    hand.post(at("swapped", mixed, swap.pk))
    swap.refresh_from_db()
    assert swap.done_at is not None


def test_a_valve_is_not_swapped_while_power_is_on_record():
    """Its first note may be made through the glass; a swap says that hands were in."""
    part = {"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83"}}
    build = factories.make_build(revision=factories.make_revision(parts=(part,)))
    client = Client()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    power_on(build)

    def note(**fields):
        return client.post(at("valves", build), {"ref": "V1", "entry_key": str(uuid4()), **fields})

    assert note(make="Northlight").status_code == 302
    assert note(make="Kestrel", why="doubt").status_code == 422 and build.valves.count() == 1
    assert note(make="North Light", why="slip").status_code == 302  # a correction touches nothing
    make_safe(client, build)
    assert note(make="Kestrel", why="doubt").status_code == 302 and build.valves.count() == 3


def late(phone, build, stage, key, age):
    """As an outbox sends it: switched on again `age` seconds ago."""
    return phone.post(
        at("switch-on", build, stage),
        {"entry_key": key},
        headers={"HX-Request": "true", "Outbox": "yes", "Entry-Key": key, "Entry-Age": str(age)},
    )


def test_power_put_on_while_a_phone_had_no_signal_is_on_record_when_and_once(client):
    """Made safe, then on again on the phone: hands that followed the made-safe reading alone would meet live parts. A
    stop that came in meanwhile, on another phone, does not keep it off the record."""
    build = factories.make_build(revision=factories.make_revision(stages=2, checks=2, gate=False))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    key, before = str(uuid4()), timezone.now()
    stage = build.revision.stages.get(key="stage-2")
    sittings.acknowledge(sittings.open_sitting(build), stage, 230.0, live=False)
    sittings.switch_on(build, stage, "again", by=None, entry_key=uuid4(), at=before - timezone.timedelta(minutes=30))
    read(build, "check-2-1", "470", at=before - timezone.timedelta(minutes=20))
    make_safe(client, build)
    MadeSafe.objects.update(at=before - timezone.timedelta(minutes=10))
    assert not power(build).needs_made_safe
    for _ in range(2):
        answer = late(client, build, "stage-2", key, 120)
        assert answer["Entry-Kept"] == key
    made = PowerOn.objects.get(entry_key=key)
    assert abs((before - made.at).total_seconds() - 120) < 30 and power(build).needs_made_safe
