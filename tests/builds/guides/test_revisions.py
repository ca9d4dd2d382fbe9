"""A revision's life: draft, issued and frozen, withdrawn, cloned."""

import pytest
from django.db import DatabaseError, transaction

from builds.guides.models import Check, Part, Revision, Stage, Step
from builds.guides.revisions import NotReady, clone, issue, next_letter, withdraw
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def issued():
    return factories.make_revision(issued=True)


def refused(action):
    with pytest.raises(DatabaseError, match="issued and frozen"), transaction.atomic():
        action()


def test_the_database_refuses_to_change_an_issued_guide(issued):
    stage = issued.stages.first()
    refused(lambda: Stage.objects.filter(pk=stage.pk).update(title="Changed"))
    refused(lambda: Check.objects.filter(stage=stage).update(expected="1 V"))
    refused(lambda: Step.objects.create(stage=stage, position=9, key="new", text="New"))
    refused(lambda: Step.objects.filter(stage=stage).update(hands_in=True))
    refused(lambda: Step.objects.filter(stage=stage).update(place=9))
    refused(lambda: stage.steps.first().delete())
    refused(lambda: Part.objects.create(revision=issued, position=9, ref="R9", kind="resistor"))
    refused(lambda: stage.checks.first().delete())
    refused(lambda: Revision.objects.filter(pk=issued.pk).update(name="Other"))
    refused(lambda: Revision.objects.filter(pk=issued.pk).update(state="draft"))


def test_a_row_cannot_be_moved_into_an_issued_guide(issued):
    draft = clone(issued)
    refused(lambda: Stage.objects.filter(revision=draft).update(revision=issued, key="smuggled"))


def test_a_draft_may_be_changed(issued):
    draft = clone(issued)
    assert Check.objects.filter(stage__revision=draft).update(expected="290 V") == 6


def test_a_clone_has_the_same_guide_and_the_next_letter(issued):
    draft = clone(issued)
    assert (draft.letter, draft.state, draft.cloned_from) == ("B", "draft", issued)
    assert [s.key for s in draft.stages.all()] == [s.key for s in issued.stages.all()]


def test_withdrawing_is_for_issued_revisions_only(issued):
    assert withdraw(issued).state == "withdrawn"
    with pytest.raises(NotReady):
        withdraw(issued)


def test_an_empty_guide_cannot_be_issued():
    revision = Revision.objects.create(kit=factories.make_kit(), letter="A", name="Empty")
    with pytest.raises(NotReady, match="at least one stage"):
        issue(revision)


@pytest.mark.parametrize(("last", "following"), [("A", "B"), ("Z", "AA"), ("AZ", "AAA"), ("2", "22")])
def test_the_next_revision_takes_the_next_letter(last, following):
    kit = factories.make_kit()
    Revision.objects.create(kit=kit, letter=last, name="x")
    assert next_letter(kit) == following
