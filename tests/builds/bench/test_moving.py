"""Moving a build to a later revision: what comes along, what is done again, and that nothing is lost."""

import pytest
from django.urls import reverse

from builds.bench.diagnosis.observations import observations
from builds.bench.gates import gating
from builds.bench.models import Build, MadeSafe, MoveOffer, Tick
from builds.bench.moves import moving
from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.models import Check, Part, Revision, Stage, Step
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def build(designer):
    revision = factories.make_revision(designer=designer, stages=3, checks=2, steps=2, issued=False)
    Part.objects.create(
        revision=revision, position=1, ref="R1", kind="resistor", value="1k", detail={"joins": ["a", "b"]}
    )
    revision.stages.filter(power="on").update(cautions=["discharge"])
    revision = revisions.issue(revision)
    result = factories.make_build(revision=revision)
    stage = revision.stages.get(key="stage-1")
    for step in stage.steps.all():
        Tick.objects.create(build=result, step=step)
    for check in stage.checks.all():
        take_reading(result, check, "285", by=result.builder)
    return result


def later(build, designer, change=lambda draft: None) -> Revision:
    draft = revisions.clone(build.revision)
    change(draft)
    return revisions.issue(draft)


def offered(build, revision, designer) -> MoveOffer:
    return MoveOffer.objects.create(build=build, revision=revision, by=designer)


def edit(model, key, **fields):
    def change(draft):
        where = {"revision": draft} if model in (Stage, Part) else {"stage__revision": draft}
        rows = model.objects.filter(**where, **({"ref": key} if model is Part else {"key": key}))
        assert rows.update(**fields) == 1

    return change


@pytest.mark.lengthy
def test_a_move_to_an_unchanged_guide_repeats_no_step(build, designer):
    new = moving.move(offered(build, later(build, designer), designer))
    states = gating.stage_states(new)
    assert states[0].state == "done" and states[0].complete
    assert moving.left_to_redo(new, build) == []
    assert not new.statuses.exists(), "what came along is no evidence for the new revision"
    assert build.readings.count() == 2, "and stays evidence for the old one"
    assert {o.place for o in observations(new)} == {"stage-1/check-1-1", "stage-1/check-1-2"}


def test_a_step_with_new_words_is_done_again(build, designer):
    revision = later(build, designer, edit(Step, "step-1-2", text="Do thing 2 the other way round."))
    plan = moving.make_plan(build, revision)
    assert [(a.text, "text has changed" in a.why) for a in plan.again] == [("Do thing 2 the other way round.", True)]
    new = moving.move(offered(build, revision, designer))
    assert [text for _stage, text in moving.left_to_redo(new, build)] == ["Do thing 2 the other way round."]
    assert not gating.stage_states(new)[0].complete


def test_a_reading_outside_the_new_band_is_taken_again(build, designer):
    plan = moving.make_plan(build, later(build, designer, edit(Check, "check-1-1", expected="330 V", band="5%")))
    assert "reading of 285 is outside the new band" in plan.again[0].why
    assert [row.check_row.key for row in plan.checks] == ["check-1-2"]


@pytest.mark.parametrize("fields", [{"red": "screen"}, {"measure": "resistance", "expected": "300", "stop_above": ""}])
def test_a_check_that_is_measured_otherwise_is_taken_again(build, designer, fields):
    plan = moving.make_plan(build, later(build, designer, edit(Check, "check-1-1", **fields)))
    assert "measured differently" in plan.again[0].why


@pytest.mark.lengthy
def test_a_changed_part_is_swapped_first_and_readings_it_bears_on_are_taken_again(build, designer, client):
    revision = later(build, designer, edit(Part, "R1", value="2k2"))
    plan = moving.make_plan(build, revision)
    assert [(p.ref, p.action, p.params["old"]["value"], p.params["new"]["value"]) for p in plan.parts] == [
        ("R1", "change", "1k", "2k2")
    ]
    assert all("changed part" in a.why for a in plan.again) and len(plan.again) == 2
    new = moving.move(offered(build, revision, designer))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("bench:build", args=[new.pk])).content.decode()
    assert "Change R1" in page and "Switch off. Unplug. Discharge." in page
    client.post(reverse("bench:swapped", args=[new.pk, new.part_swaps.get().pk]))
    assert "Change R1" not in client.get(reverse("bench:build", args=[new.pk])).content.decode()


@pytest.mark.lengthy
def test_no_move_with_charge_in_the_kit(build, designer):
    revision = later(build, designer)
    take_reading(
        build, build.revision.stages.get(key="stage-2").checks.first(), "285", by=build.builder, mains_volts=230.0
    )
    assert "made safe" in moving.obstacle(build, revision)
    with pytest.raises(ValueError, match="made safe"):
        moving.move(offered(build, revision, designer))
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    assert moving.obstacle(build, revision) == ""


@pytest.mark.lengthy
def test_no_move_back_to_a_draft_or_to_another_kit(build, designer):
    new = moving.move(offered(build, later(build, designer), designer))
    assert "only move to a later revision" in moving.obstacle(new, build.revision)
    assert "own kit" in moving.obstacle(build, factories.make_revision())
    assert "own kit" in moving.obstacle(build, revisions.clone(build.revision))


@pytest.mark.lengthy
def test_the_builder_decides_and_a_double_tap_moves_once(build, designer, client):
    revision = later(build, designer, edit(Step, "step-1-2", text="Otherwise."))
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    assert client.post(reverse("review:offer-move", args=[build.pk, revision.letter])).status_code == 302
    assert not Build.objects.filter(revision=revision).exists(), "an offer moves nothing"
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    assert "See what changes" in client.get(reverse("bench:build", args=[build.pk])).content.decode()
    assert "Otherwise." in client.get(reverse("bench:move", args=[build.pk])).content.decode()
    for _ in range(2):
        assert client.post(reverse("bench:take-move", args=[build.pk])).status_code == 302
    new = Build.objects.get(revision=revision)
    assert client.get(reverse("bench:build", args=[build.pk]))["Location"] == reverse("bench:build", args=[new.pk])
    check = reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"])
    client.post(check, {"typed": "1", "entry_key": "5b1a7c3e-0000-4000-8000-000000000009"})
    assert build.readings.count() == 2, "the old build takes no more"


@pytest.mark.lengthy
def test_a_declined_offer_is_gone(build, designer, client):
    offered(build, later(build, designer), designer)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    client.post(reverse("bench:decline-move", args=[build.pk]))
    assert client.get(reverse("bench:move", args=[build.pk])).status_code == 404
    assert client.post(reverse("bench:take-move", args=[build.pk])).status_code == 404
