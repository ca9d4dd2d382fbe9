"""One state a problem, whatever was recorded about it, and the same on every page."""

import pytest
from django.urls import reverse

from builds.bench.models import CheckStatus, Snag
from builds.guides.revisions import clone
from builds.review.changes.decide import accept_check, accept_snag, decline_change
from builds.review.models import Decision, Triage
from builds.review.problems.state import (
    ProblemState,
    finding_state,
    with_decision_state,
    with_deviation_state,
    with_snag_state,
)
from tests import factories

pytestmark = pytest.mark.django_db
FIGURES = {"expected": "346 V", "low": "336 V", "high": "356 V"}


@pytest.fixture
def revision():
    return factories.make_revision(stages=1, checks=2, steps=1)


@pytest.fixture
def designer(revision):
    return revision.kit.designers.first()


@pytest.fixture
def check(revision):
    return factories.checks_of(revision=revision)[0]


@pytest.fixture
def build(revision, check):
    build = factories.make_build(revision=revision)
    factories.add_reading(build=build, check=check, value=350, outcome="out of band")
    return build


@pytest.fixture
def snag(build, check):
    return Snag.objects.create(
        build=build, stage=check.stage, check_row=check, kind="reading", words="Too high", by=build.builder
    )


def deviation_state(build):
    return with_deviation_state(CheckStatus.objects.filter(build=build)).get().problem_state


def snag_state(snag):
    return with_snag_state(Snag.objects.filter(pk=snag.pk)).get().problem_state


def triage(build, check, **fields):
    return Triage.objects.create(build=build, check_row=check, **fields)


def test_a_problem_without_any_record_is_open(build, snag):
    assert deviation_state(build) == snag_state(snag) == ProblemState.OPEN


@pytest.mark.parametrize(
    ("fields", "state"),
    [
        ({"cause": "unknown"}, "open"),
        ({"cause": "part"}, "cause-found"),
        ({"cause": "part", "planned_change": "Say 1.5 kΩ."}, "change-planned"),
        ({"cause": "part", "planned_change": "Say 1.5 kΩ.", "state": "done"}, "closed"),
        ({"cause": "workmanship", "state": "no-change"}, "no-change"),
    ],
)
def test_a_triage_says_how_far_a_problem_has_come(build, check, snag, fields, state):
    triage(build, check, **fields)
    Triage.objects.create(snag=snag, **fields)
    assert deviation_state(build) == snag_state(snag) == state


def test_an_accepted_change_is_planned_until_it_is_issued(build, check, snag, revision, designer):
    draft = accept_check(revision, check, FIGURES, reason="Builds agree", by=designer).draft
    assert deviation_state(build) == snag_state(snag) == ProblemState.CHANGE_PLANNED
    type(draft).objects.filter(pk=draft.pk).update(state="issued", issued_at=draft.made_at)
    assert deviation_state(build) == snag_state(snag) == ProblemState.ANSWERED


@pytest.mark.parametrize(("aside", "state"), [("rejected", "no-change"), ("deferred", "deferred")])
def test_a_deferred_problem_is_shown_as_deferred(build, check, snag, revision, designer, aside, state):
    decline_change(revision, aside, check=check, reason="Mains was high.", by=designer)
    assert deviation_state(build) == snag_state(snag) == state


def test_what_is_said_of_one_build_counts_for_more_than_the_decision_on_its_check(build, check, revision, designer):
    accept_check(revision, check, FIGURES, reason="Builds agree", by=designer)
    triage(build, check, cause="workmanship", state="no-change")
    assert deviation_state(build) == ProblemState.NO_CHANGE


def test_a_snags_own_decision_counts_for_more_than_that_on_its_check(check, snag, revision, designer):
    decline_change(revision, "rejected", check=check, reason="No.", by=designer)
    accept_snag(revision, snag, FIGURES, reason="It was off.", by=designer)
    assert snag_state(snag) == ProblemState.CHANGE_PLANNED


def test_a_cause_does_not_undo_an_answer_and_a_plan_goes_beyond_it(snag):
    Snag.objects.filter(pk=snag.pk).update(state="answered")
    row = Triage.objects.create(snag=snag, cause="wording")
    assert snag_state(snag) == ProblemState.ANSWERED
    row.planned_change = "Say which end."
    row.save()
    assert snag_state(snag) == ProblemState.CHANGE_PLANNED


def test_a_closed_snag_is_closed_whatever_else_is_known(snag):
    Snag.objects.filter(pk=snag.pk).update(state="closed")
    Triage.objects.create(snag=snag, cause="wording", planned_change="Say which end.")
    assert snag_state(snag) == ProblemState.CLOSED


def test_a_deferred_finding_is_deferred_whatever_was_planned(build, check, revision, designer):
    triage(build, check, cause="part", planned_change="Pack 1.5 kΩ.")
    decline_change(revision, "deferred", check=check, reason="Later.", by=designer)
    decision = with_decision_state(Decision.objects.all()).get()
    assert finding_state(decision, causes=["part"]) == ProblemState.DEFERRED
    assert finding_state(decision, planned="Pack 1.5 kΩ.") == deviation_state(build) == ProblemState.DEFERRED
    assert finding_state(None) == ProblemState.OPEN and finding_state(None, causes=["part"]) == ProblemState.CAUSE_FOUND


def test_a_change_in_a_draft_that_was_deleted_is_not_issued(build, check, revision, designer):
    Decision.objects.create(revision=revision, check_row=check, state="accepted", draft=None, by=designer)
    assert deviation_state(build) == ProblemState.CHANGE_PLANNED


@pytest.mark.lengthy
def test_every_page_shows_the_same_state(client, build, check, snag, revision, designer):
    clone(revision)
    triage(build, check, cause="figure", planned_change="Say 346 V.")
    Triage.objects.create(snag=snag, cause="figure", planned_change="Say 346 V.")
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    kit = [revision.kit.key, revision.letter]
    pages = [
        reverse("review:problems", args=kit),
        reverse("review:build", args=[build.pk]),
        reverse("review:check", args=[*kit, check.pk]),
        reverse("review:snag", args=[snag.pk]),
        reverse("review:deviation", args=[build.pk, check.pk]),
        reverse("review:findings", args=kit),
        reverse("reports:summary", args=kit),
    ]
    label = str(ProblemState.CHANGE_PLANNED.label)
    for page in pages:
        assert label in client.get(page).content.decode(), page
