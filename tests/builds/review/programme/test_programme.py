"""The programme's numbers, and the release gate."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import CheckStatus, Erratum, ErratumSeen, Halt, Sitting, Snag, StageVisit, Tick
from builds.bench.readings.taking import take_reading
from builds.guides.models import Stage
from builds.reports.gather import gather
from builds.review.changes.proof import stage_proofs
from builds.review.models import ReleaseCriteria, Triage
from builds.review.programme.release import judge_release
from builds.review.programme.stages import programme_yield, stage_lines
from builds.review.programme.times import medians_by_stage, minutes_at_work
from builds.review.programme.waiting import list_waiting, pareto, snag_ages
from tests import factories

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 5, 1, 12, tzinfo=UTC)


@pytest.fixture
def revision():
    return factories.make_revision(stages=2, checks=2, steps=2)


def begun(revision, **fields):
    return factories.make_build(revision=revision, started_at=NOON, **fields)


def through(build, stage_key, readings, minutes=30):
    """A build that has done a stage: `readings` are what it typed for each check, a list for re-takes."""
    stage = build.revision.stages.get(key=stage_key)
    StageVisit.objects.create(build=build, stage=stage, opened_at=NOON, done_at=NOON + timedelta(minutes=minutes))
    for check, typed in zip(stage.checks.all(), readings, strict=True):
        for n, one in enumerate(typed if isinstance(typed, list) else [typed]):
            take_reading(build, check, one, by=build.builder, mains_volts=230.0, at=NOON + timedelta(minutes=10 + n))


def test_first_pass_counts_builds_that_have_done_the_stage_without_a_miss(revision):
    through(begun(revision), "stage-1", ["300", "300"])
    through(begun(revision), "stage-1", ["300", ["200", "300"]])
    half = begun(revision)
    StageVisit.objects.create(build=half, stage=revision.stages.get(key="stage-1"), opened_at=NOON)
    line = stage_lines([revision])[0]
    assert (line.began, line.done, line.inside) == (3, 2, 1)
    assert (line.right.successes, line.right.n) == (1, 2)
    assert stage_lines([revision])[1].right is None


def test_stages_of_two_revisions_are_one_line_by_their_key(revision):
    other = factories.make_revision(kit=revision.kit, letter="B", stages=3, checks=2, steps=2)
    through(begun(revision), "stage-1", ["300", "300"])
    through(begun(other), "stage-1", ["300", "300"])
    lines = stage_lines([revision, other])
    assert len(lines) == 3 and lines[0].done == 2


def test_breaks_are_not_work():
    moments = [NOON, NOON + timedelta(minutes=5), NOON + timedelta(hours=20), NOON + timedelta(hours=20, minutes=10)]
    assert minutes_at_work(moments) == 15
    assert minutes_at_work([NOON]) == 0


def test_minutes_come_from_ticks_and_readings(revision):
    build = begun(revision)
    through(build, "stage-1", ["300", "300"])
    Tick.objects.create(
        build=build, step=revision.stages.get(key="stage-1").steps.first(), at=NOON + timedelta(minutes=18)
    )
    assert stage_lines([revision])[0].minutes[0] == pytest.approx(18)


def test_every_page_counts_minutes_the_same_way(revision):
    """Opened thirty hours before the work began: the break is in none of them."""
    build = begun(revision)
    through(build, "stage-1", ["300", "300"])
    StageVisit.objects.update(opened_at=NOON - timedelta(hours=30))
    Tick.objects.create(
        build=build, step=revision.stages.get(key="stage-1").steps.first(), at=NOON + timedelta(minutes=18)
    )
    reported = medians_by_stage(revision)
    assert reported == {"stage-1": pytest.approx(8)}
    assert stage_lines([revision])[0].minutes[0] == reported["stage-1"] == gather(revision).minutes["stage-1"]
    assert stage_proofs(revision, revision)[0].minutes == (reported["stage-1"], reported["stage-1"])


def test_rolled_yield_waits_for_every_stage_with_checks(revision):
    build = begun(revision)
    through(build, "stage-1", ["300", "300"])
    assert programme_yield(stage_lines([revision])).share is None
    through(build, "stage-2", ["300", ["200", "300"]])
    assert programme_yield(stage_lines([revision])).share == 0.0
    through(begun(revision), "stage-2", ["300", "300"])
    assert programme_yield(stage_lines([revision])).share == 0.5
    assert programme_yield([]).share is None


def test_a_stage_without_checks_is_not_waited_for(revision):
    bare = factories.make_revision(stages=1, checks=2, issued=False)
    Stage.objects.create(revision=bare, position=2, key="box", title="Into its box")
    through(begun(bare), "stage-1", ["300", "300"])
    assert programme_yield(stage_lines([bare])).share == 1.0


def test_one_line_a_stuck_build_with_the_gravest_reason(revision):
    build = begun(revision)
    through(build, "stage-1", ["200", "300"])
    held = list_waiting([revision])
    assert [s.build for s in held] == [build] and held[0].code == "out of band"
    Snag.objects.create(
        build=build, stage=revision.stages.first(), kind="other", severity="stopped", words="Smoke", by=build.builder
    )
    assert [s.code for s in list_waiting([revision])] == ["answer"]
    build.finished_at = timezone.now()
    build.save()
    assert list_waiting([revision]) == []


def test_a_build_at_a_halted_stage_is_stuck_and_one_before_it_is_not(revision):
    waiting, before, past = begun(revision), begun(revision), begun(revision)
    through(waiting, "stage-1", ["300", "300"])
    for key in ("stage-1", "stage-2"):
        through(past, key, ["300", "300"])
    halt = Halt.objects.create(stage=revision.stages.get(key="stage-2"), reason="C4 may be backwards")
    held = list_waiting([revision])
    assert [(s.code, s.build, s.since) for s in held] == [("halt", waiting, halt.at)]
    assert "C4 may be backwards" in held[0].why
    halt.lifted_at = timezone.now()
    halt.save()
    assert list_waiting([revision]) == [] and before.pk


def test_a_correction_not_confirmed_holds_the_builds_that_came_to_it(revision):
    there, past, before = begun(revision), begun(revision), begun(revision)
    for build in (there, past):
        through(build, "stage-1", ["300", "300"])
    through(past, "stage-2", ["300", "300"])
    row = Erratum.objects.create(revision=revision, stage=revision.stages.get(key="stage-2"), words="R8 is 1k5")
    assert {(s.code, s.build) for s in list_waiting([revision])} == {("erratum", there), ("erratum", past)}
    ErratumSeen.objects.create(erratum=row, build=there)
    assert [s.build for s in list_waiting([revision])] == [past]
    row.withdrawn_at = timezone.now()
    row.save()
    assert list_waiting([revision]) == [] and before.pk


def test_a_reading_too_close_to_call_waits_for_a_second(revision):
    build, check = begun(revision), factories.checks_of(revision=revision)[0]
    factories.add_reading(build=build, check=check, value=330.0, outcome="too close to call")
    (held,) = list_waiting([revision])
    assert held.code == "too close to call"
    assert held.link == reverse("review:deviation", args=[build.pk, check.pk])
    CheckStatus.objects.update(passed=True)
    assert list_waiting([revision]) == []


def test_who_is_stuck_takes_no_more_queries_for_more_builds(revision, django_assert_num_queries):
    Halt.objects.create(stage=revision.stages.get(key="stage-2"), reason="Wait")
    for n in (1, 4):
        for _ in range(n):
            through(begun(revision), "stage-1", ["300", "300"])
        with django_assert_num_queries(8):
            assert list_waiting([revision])


def test_a_quiet_build_is_asked_after(revision):
    build = begun(revision)
    Sitting.objects.create(build=build, seen_at=timezone.now() - timedelta(days=9))
    assert list_waiting([revision])[0].code == "quiet"
    Sitting.objects.update(seen_at=timezone.now())
    assert list_waiting([revision]) == []


def test_snags_have_an_age_and_causes_an_order(revision):
    build = begun(revision)
    snags = [
        Snag.objects.create(
            build=build,
            stage=revision.stages.first(),
            kind="other",
            words="x",
            by=build.builder,
            at=timezone.now() - timedelta(days=n),
        )
        for n in (3, 8, 1)
    ]
    assert [days for _snag, days in snag_ages([revision]).waiting] == [8, 3, 1]
    for snag, cause in zip(snags, ("part", "part", "wording"), strict=True):
        Triage.objects.create(snag=snag, cause=cause)
    lines = [(line.label, line.n, round(line.together, 2)) for line in pareto([revision])]
    assert lines == [("part", 2, 0.67), ("guide wording", 1, 1.0)]


def test_the_gate_says_what_is_missing(revision):
    for _ in range(4):
        through(begun(revision, finished_at=timezone.now()), "stage-1", ["300", "300"])
    through(begun(revision), "stage-1", ["300", ["200", "300"]])
    criteria = ReleaseCriteria(kit=revision.kit, builds_done=6, readings_each=5, first_pass=60, coverage=50)
    done, right, danger, readings, _coverage = judge_release(revision, stage_lines([revision]), criteria).criteria
    assert not done.met and done.missing.startswith("2 more builds")
    assert not right.met and "more build" in right.missing
    assert danger.met
    assert not readings.met and "2 checks" in readings.status


def test_an_open_danger_snag_keeps_the_gate_shut(revision):
    build = begun(revision)
    snag = Snag.objects.create(
        build=build, stage=revision.stages.first(), kind="other", severity="danger", words="x", by=build.builder
    )
    criteria = ReleaseCriteria(kit=revision.kit)
    assert not judge_release(revision, [], criteria).criteria[2].met
    snag.state = Snag.State.CLOSED
    snag.save()
    assert judge_release(revision, [], criteria).criteria[2].met


def test_criteria_are_added_and_a_wrong_one_keeps_the_form(client):
    designer = factories.make_designer()
    revision = factories.make_revision(designer=designer)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("review:release", args=[revision.kit.key, "A"])
    form = {"builds_done": 3, "first_pass": 70, "confidence": 90, "readings_each": 3, "coverage": 60, "no_danger": "on"}
    assert client.post(address, form).status_code == 302
    assert client.post(address, form | {"first_pass": 50}).status_code == 302
    assert [c.first_pass for c in revision.kit.release_criteria.all()] == [50, 70]
    wrong = client.post(address, form | {"coverage": 140, "builds_done": 17})
    assert wrong.status_code == 422 and b'value="17"' in wrong.content
    assert revision.kit.release_criteria.count() == 2


def test_the_programme_page_shows_stages_and_their_share_of_builds(client):
    designer = factories.make_designer()
    revision = factories.make_revision(designer=designer)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    through(begun(revision), "stage-1", ["300", "300", ["200", "300"]])
    page = client.get(reverse("review:programme", args=[revision.kit.key]) + "?revision=A&revision=Z").content.decode()
    assert "Stage 1" in page and "0 of 1" in page
    assert revision.kit.name in client.get(reverse("review:programmes")).content.decode()


def test_danger_stands_first_among_the_snags_and_the_page_has_the_way_to_the_others(client):
    designer = factories.make_designer()
    revision = factories.make_revision(designer=designer)
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    build = begun(revision)
    for n, severity in enumerate(("cosmetic", "danger", "slowed")):
        Snag.objects.create(
            build=build,
            stage=revision.stages.first(),
            kind="other",
            severity=severity,
            words=f"It was {severity}.",
            by=build.builder,
            at=NOON + timedelta(days=n),
        )
    page = client.get(reverse("review:programme", args=[revision.kit.key])).content.decode()
    listed = page[page.index('id="snags"') :]
    assert listed.index("It was danger.") < listed.index("It was slowed.") < listed.index("It was cosmetic.")
    here = page[: page.index('aria-current="page"')].rsplit("<a ", 1)[1]
    assert here.startswith(f'href="{reverse("review:programme", args=[revision.kit.key])}"')
    assert reverse("review:release", args=[revision.kit.key, "A"]) in page
    factories.make_revision(kit=(bare := factories.make_kit(designer=designer)), issued=False)
    empty = client.get(reverse("review:programme", args=[bare.key])).content.decode()
    assert reverse("guides:kits") in empty and "aria-current" not in empty
