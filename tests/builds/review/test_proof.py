"""Did it work: who came to a step, and who reported a snag on it, before and after."""

import pytest
from django.urls import reverse

from builds.bench.models import Snag, StageVisit, Tick
from builds.guides.models import Revision, Stage
from builds.guides.revisions import issue
from builds.review.changes import decide
from builds.review.changes.proof import change_proofs, stage_proofs
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.lengthy]


def step_of(revision):
    return revision.stages.first().steps.first()


def builds(revision, *, clean=0, snagged=0, ticked=False):
    """Builds that ticked the first step cleanly, and others that reported a snag on it, `ticked` or not."""
    step = step_of(revision)
    for n in range(clean + snagged):
        build = factories.make_build(revision=revision)
        if n < clean or ticked:
            Tick.objects.create(build=build, step=step)
        if n >= clean:
            Snag.objects.create(
                build=build, stage=step.stage, step=step, kind="words", words="Which end?", by=build.builder
            )


@pytest.fixture
def before():
    """Three builds ticked the step cleanly; three reported a snag on it and never ticked it."""
    made = factories.make_revision()
    Stage.objects.filter(revision=made, power="off").exists()
    builds(made, clean=3, snagged=3)
    return made


@pytest.fixture
def after(before):
    designer = before.kit.designers.first()
    draft = decide.accept_snag(before, Snag.objects.first(), "The long lead.", reason="", by=designer).draft
    Stage.objects.filter(revision=draft).update(cautions=["lethal-voltage"])
    return issue(Revision.objects.get(pk=draft.pk))


def test_a_build_that_stuck_at_the_step_and_never_ticked_it_counts_once(after):
    builds(after, clean=4)
    (proof,) = change_proofs(after)
    assert (proof.difference.before.successes, proof.difference.before.n) == (3, 6)
    assert proof.sentence.startswith("Too few builds to say: 3 of 6 without a snag before, 4 of 4 after")


def test_a_change_is_called_an_improvement_when_both_tests_agree(after, before):
    builds(before, snagged=9, ticked=True)
    builds(after, clean=12)
    (proof,) = change_proofs(after)
    assert proof.sentence.startswith("It worked: 3 of 15 without a snag before, 12 of 12 after (likely difference +")
    assert proof.sentence.endswith("p < 0.001).") and "in band first" not in proof.sentence


def test_a_change_for_the_worse_is_called_so(after, before):
    builds(before, clean=9)
    builds(after, snagged=9, ticked=True)
    assert change_proofs(after)[0].sentence.startswith("It made things worse: 12 of 15 without a snag before, 0 of 9")


def test_a_change_that_did_nothing_is_never_called_one_that_worked(after, before):
    """Half of the builds before, half after: at so few builds nobody can say, and it is said so."""
    builds(after, clean=3, snagged=3, ticked=True)
    assert change_proofs(after)[0].sentence.startswith("Too few builds to say: 3 of 6 without a snag before, 3 of 6")


def test_nothing_is_said_before_a_build_came(after):
    assert change_proofs(after)[0].sentence == "No build of the new revision has reached it yet."


def test_the_snag_rate_of_a_stage_has_its_interval_and_p(after, before, client):
    for revision, n in ((before, 4), (after, 8)):
        for build in (factories.make_build(revision=revision) for _ in range(n)):
            StageVisit.objects.create(build=build, stage=revision.stages.first())
    (first, *_) = stage_proofs(before, after)
    assert [(x.successes, x.n) for x in (first.snag_free.before, first.snag_free.after)] == [(4, 7), (8, 8)]
    client.force_login(before.kit.designers.first(), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("review:changes", args=[after.kit.key, after.letter])).content.decode()
    # Fisher's exact test on 4 of 7 and 8 of 8: (7 choose 3)/(15 choose 3) = 35/455, and no other table is as rare
    assert f"{35 / 455:.3f}" in page
