"""What a designer is asked to do next, the most urgent first; each step leads somewhere that opens."""

import pytest

from builds.bench.models import Snag
from builds.review.changes.decide import accept_check
from builds.review.models import Triage
from builds.review.next_steps import next_steps
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def revision(designer):
    return factories.make_revision(designer=designer, stages=1, checks=2)


def codes(revision):
    return [step.code for step in next_steps(revision)]


def test_a_draft_is_issued_first():
    assert codes(factories.make_revision(issued=False)) == ["issue"]


def test_an_issued_revision_without_builds_wants_its_first(revision):
    assert codes(revision) == ["first-build"]


def test_a_build_nobody_took_on_waits_for_its_invitation(revision):
    build = factories.make_build(revision=revision)
    type(build).objects.filter(pk=build.pk).update(builder=None)
    assert codes(revision) == ["invitations"]


def test_nothing_waiting_leads_to_the_release(revision):
    factories.make_build(revision=revision)
    assert codes(revision) == ["release"]


def test_problems_that_block_no_build_are_not_called_none(revision):
    """Open on the problems page all the same."""
    factories.make_build(revision=revision)
    assert "No open problems" not in next_steps(revision)[0].title


def test_danger_comes_before_all_else(revision, designer):
    build, check = factories.make_build(revision=revision), factories.checks_of(revision=revision)[0]
    factories.add_reading(build=build, check=check, value=420, outcome="switch off")
    Snag.objects.create(
        build=build, stage=check.stage, kind="other", severity="danger", words="Smoke", by=build.builder
    )
    steps = next_steps(revision)
    assert [step.code for step in steps] == ["danger", "find-causes"] and "2" in steps[0].title
    factories.add_reading(build=build, check=check, value=300)
    Snag.objects.update(state="closed")
    assert codes(revision) == ["release"]


@pytest.mark.lengthy
def test_a_known_cause_asks_for_a_decision_and_a_decision_for_the_issue(revision, designer):
    build, check = factories.make_build(revision=revision), factories.checks_of(revision=revision)[0]
    factories.add_reading(build=build, check=check, value=350, outcome="out of band")
    assert codes(revision) == ["find-causes"]
    Triage.objects.create(build=build, check_row=check, cause="figure")
    assert codes(revision) == ["decide"]
    accept_check(revision, check, {"expected": "350 V"}, reason="They agree.", by=designer)
    assert codes(revision) == ["issue-draft"]


@pytest.mark.lengthy
def test_every_step_leads_to_a_page_that_opens(revision, designer, client):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    build, check = factories.make_build(revision=revision), factories.checks_of(revision=revision)[0]
    factories.add_reading(build=build, check=check, value=420, outcome="switch off")
    for step in next_steps(revision):
        page = client.get(step.address.partition("#")[0])
        assert page.status_code == 200
        _, _, anchor = step.address.partition("#")
        assert not anchor or f'id="{anchor}"' in page.content.decode()
