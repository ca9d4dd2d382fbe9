"""The change list is written down when a revision is issued, stays as it is, and answers whoever reported what it
mends."""

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse

from builds.bench.models import Erratum, Snag
from builds.bench.snags import merging
from builds.guides.models import Revision, Stage, Step
from builds.guides.revisions import clone, issue
from builds.review.changes import decide
from builds.review.changes.record import list_changes
from builds.review.models import IssuedChanges
from tests import factories

pytestmark = pytest.mark.django_db
FIGURES = {"expected": "345 V", "low": "335 V", "high": "355 V"}


@pytest.fixture
def revision():
    made = factories.make_revision(issued=False)
    Stage.objects.filter(revision=made).update(cautions=["lethal-voltage"])
    return issue(Revision.objects.get(pk=made.pk))


@pytest.fixture
def designer(revision):
    return revision.kit.designers.first()


@pytest.fixture
def desk(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def snag_on(revision, **about):
    build = factories.make_build(revision=revision)
    return Snag.objects.create(
        build=build,
        stage=revision.stages.first(),
        kind="words",
        words=f"Trouble of {build.serial}.",
        by=build.builder,
        **about,
    )


def first_check(revision):
    return factories.checks_of(revision=revision)[0]


def page(desk, revision, name="changes"):
    return desk.get(reverse(f"review:{name}", args=[revision.kit.key, revision.letter])).content.decode()


def accepted(revision, designer, **more):
    return decide.accept_check(
        revision, first_check(revision), FIGURES, reason="It reads higher.", by=designer, evidence="8 builds", **more
    ).draft


@pytest.mark.lengthy
def test_what_happens_after_issue_changes_no_list(desk, revision, designer):
    draft = accepted(revision, designer)
    Step.objects.filter(stage__revision=draft, key="step-1-1").update(text="By hand.")
    Erratum.objects.create(revision=revision, stage=revision.stages.first(), words="Pinned before.", by=designer)
    after = issue(draft)
    kept, shown = list_changes(after), page(desk, after)
    assert (
        "This list was recorded" in shown
        and "<ins>By hand</ins>" in shown
        and "Pinned before." in shown
        and "8 builds" in shown
    )
    Erratum.objects.update(words="Told otherwise.")
    Erratum.objects.create(revision=revision, stage=revision.stages.first(), words="Pinned later.", by=designer)
    decide.decline_change(
        revision, "deferred", check=factories.checks_of(revision=revision)[1], reason="Put off later.", by=designer
    )
    assert list_changes(after) == kept
    later = page(desk, after)
    assert "Pinned before." in later and not any(
        x in later for x in ("Pinned later", "Put off later", "Told otherwise")
    )


@pytest.mark.lengthy
def test_a_draft_shows_the_list_as_it_stands(desk, revision, designer):
    draft = accepted(revision, designer)
    decide.decline_change(
        revision, "deferred", check=factories.checks_of(revision=revision)[1], reason="Put off later.", by=designer
    )
    assert "Put off later." in page(desk, draft) and "can still be changed" in page(desk, draft)


def test_the_database_refuses_to_rewrite_a_list(revision, designer):
    issue(accepted(revision, designer))
    with pytest.raises(DatabaseError, match="stays as it is"), transaction.atomic():
        IssuedChanges.objects.update(listed={})


@pytest.mark.lengthy
def test_whoever_reported_a_snag_on_a_check_whose_finding_was_accepted_is_told(desk, revision, designer):
    snag = snag_on(revision, check_row=first_check(revision))
    draft = accepted(revision, designer)
    assert not snag.messages.exists()
    after = issue(draft)
    snag.refresh_from_db()
    said = snag.messages.get().words
    assert (
        snag.state == "answered"
        and f"Answered in revision {after.letter}" in said
        and "It now says: 345 V, 335 to 355 V" in said
    )
    (change,) = list_changes(after).changes
    assert [(s.id, s.serial) for s in change.snags] == [(snag.pk, snag.build.serial)]
    assert f'{reverse("review:snag", args=[snag.pk])}">{snag.build.serial}</a>' in page(desk, after)
    address = reverse("review:changes", args=[after.kit.key, after.letter])
    assert address in desk.get(reverse("review:snag", args=[snag.pk])).content.decode()


@pytest.mark.lengthy
def test_everybody_who_stumbled_over_a_rewritten_step_is_told_once(revision, designer):
    step = revision.stages.first().steps.first()
    one, other, merged, closed, rejected, elsewhere = (
        *(snag_on(revision, step=step) for _ in range(5)),
        snag_on(revision, step=revision.stages.first().steps.last()),
    )
    merging.merge(merged, one)
    Snag.objects.filter(pk=closed.pk).update(state="closed")
    decide.decline_change(revision, "rejected", snag=rejected, reason="It says so.", by=designer)
    issue(decide.accept_snag(revision, one, "The long lead.", reason="", by=designer).draft)
    reported = {s.pk: s.messages.count() for s in Snag.objects.all()}
    assert reported == {one.pk: 1, other.pk: 1, merged.pk: 0, closed.pk: 0, rejected.pk: 0, elsewhere.pk: 0}
    states = dict(Snag.objects.values_list("pk", "state"))
    assert [states[s.pk] for s in (one, other, merged, closed, rejected, elsewhere)] == [
        "answered",
        "answered",
        "answered",
        "closed",
        "open",
        "open",
    ]


@pytest.mark.lengthy
def test_a_snag_about_a_whole_stage_is_answered_by_its_own_decision_only(revision, designer):
    one, other = snag_on(revision), snag_on(revision)
    issue(
        decide.accept_snag(revision, one, {"intro": "Read **all** of it first."}, reason="Said now.", by=designer).draft
    )
    assert one.messages.count() == 1 and other.messages.count() == 0
    assert "It now says: “Read all of it first.”" in one.messages.get().words


@pytest.mark.lengthy
def test_a_draft_begun_before_the_newest_revision_says_so(desk, revision, designer):
    old = clone(revision)
    after = issue(clone(revision))
    assert f"Revision {after.letter} has been issued since" in page(desk, old)
    assert "has been issued since" not in page(desk, clone(after))
