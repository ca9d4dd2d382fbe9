"""The revision loop: a finding becomes an edit of the next draft, its change list, and a proof."""

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Snag, Tick
from builds.guides.models import Check, Revision, Stage
from builds.guides.revisions import issue
from builds.review.changes import decide
from builds.review.changes.open_findings import open_findings
from builds.review.changes.proof import change_proofs, stage_proofs
from builds.review.models import Decision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def revision(designer):
    """Band 270 to 330 V; eight builds read about 345 V at the first check, and 300 V at the second."""
    made = factories.make_revision(designer=designer, issued=False)
    Stage.objects.filter(revision=made).update(cautions=["lethal-voltage"])
    Revision.objects.filter(pk=made.pk).update(state="issued", issued_at=timezone.now())
    made.refresh_from_db()
    first, second, *_ = factories.checks_of(revision=made)
    for n in range(8):
        build = factories.make_build(revision=made)
        factories.add_readings(
            rows=[(build, first, [(343.0 + n % 4, "out of band")]), (build, second, [(298.0 + n % 4, "in band")])]
        )
        Tick.objects.create(build=build, step=first.stage.steps.first())
    return made


@pytest.fixture
def desk(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def at(name, revision, *more):
    return reverse(f"review:{name}", args=[revision.kit.key, revision.letter, *more])


def first_check(revision):
    return factories.checks_of(revision=revision)[0]


def accept(revision, designer, **figures):
    return decide.accept_check(
        revision,
        first_check(revision),
        figures or {"expected": "345 V", "low": "335 V", "high": "355 V"},
        reason="It reads higher.",
        by=designer,
    )


def test_a_figure_that_is_off_is_found_and_a_new_one_proposed(revision):
    row, *others = open_findings(revision)
    assert (row.finding.kind, others) == ("figure off", [])
    assert row.proposal.low < 343 and row.proposal.high > 346
    assert row.figures["expected"].startswith("34")


def test_accepting_writes_the_draft_and_keeps_the_link(revision, designer):
    made = accept(revision, designer)
    row = Check.objects.get(stage__revision=made.draft, key="check-1-1")
    assert (row.expected, row.low, row.high, row.band) == ("345 V", "335 V", "355 V", "")
    assert made.draft.cloned_from == revision
    assert {e["field"] for e in made.edits} == {"expected", "low", "high", "band"}
    assert accept(revision, designer, expected="346 V", low="336 V", high="356 V").draft == made.draft


def test_changing_ones_mind_takes_the_edit_out_again(revision, designer):
    made = accept(revision, designer)
    decide.decline_change(
        revision, "rejected", check=first_check(revision), reason="The circuit says otherwise.", by=designer
    )
    row = Check.objects.get(stage__revision=made.draft, key="check-1-1")
    assert (row.expected, row.band, row.low) == ("300 V", "10%", "")
    assert Decision.objects.get().state == "rejected"


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"expected": "345 V", "low": "355 V", "high": "335 V"}, "is above its upper limit"),
        ({"expected": "3x", "low": "1 V", "high": "2 V"}, "not a unit"),
        ({"expected": "395 V", "low": "390 V", "high": "410 V"}, "stop limit"),
    ],
)
def test_figures_that_contradict_each_other_are_refused_with_what_was_typed(desk, revision, figures, said):
    answer = desk.post(
        at("decide-check", revision, first_check(revision).pk), {**figures, "state": "accepted", "reason": "Because."}
    )
    assert answer.status_code == 422
    assert said in answer.content.decode()
    text = answer.content.decode()
    assert "Because." in text and all(f'name="{name}" value="{value}"' in text for name, value in figures.items())
    assert not Decision.objects.exists()
    assert not Revision.objects.filter(cloned_from=revision).exists()


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"reason": "a\0b"}, "Reason: Null characters"),
        ({"expected": "3" * 31}, "Expected: Ensure"),
        ({"low": "0" * 5000 + "1 V", "high": "2 V"}, "Band from: Ensure"),
    ],
)
def test_what_the_database_cannot_keep_is_refused_in_words(desk, revision, typed, said):
    answer = desk.post(at("decide-check", revision, first_check(revision).pk), {"state": "accepted", **typed})
    assert answer.status_code == 422 and said in answer.content.decode()


def test_the_words_typed_for_a_step_are_kept_with_a_refusal_and_only_in_that_form(desk, revision):
    stage = revision.stages.first()
    build = revision.builds.first()
    one, other = (
        Snag.objects.create(
            build=build,
            stage=stage,
            step=stage.steps.first(),
            kind="words",
            severity="slowed",
            words=phrase,
            by=build.builder,
        )
        for phrase in ("Which way round?", "Too dark.")
    )
    typed = {"state": "rejected", "reason": " ", "text": "Cathode to + first."}
    text = desk.post(at("decide-snag", revision, one.pk), typed).content.decode()
    assert text.count("Cathode to + first.") == 1
    assert f'id="text-snag-{one.pk}" name="text" rows="3">Cathode' in text
    assert f'id="text-snag-{other.pk}" name="text" rows="3">Do thing' in text


@pytest.mark.lengthy
def test_rejecting_needs_a_reason(desk, revision):
    answer = desk.post(at("decide-check", revision, first_check(revision).pk), {"state": "rejected", "reason": " "})
    assert answer.status_code == 422
    assert "Give a reason" in answer.content.decode()
    assert desk.post(at("decide-check", revision, first_check(revision).pk), {"state": "burn"}).status_code == 404


def test_a_builder_is_told_that_the_snag_was_answered(revision, designer):
    build = revision.builds.first()
    step = first_check(revision).stage.steps.first()
    snag = Snag.objects.create(
        build=build, stage=step.stage, step=step, kind="words", words="Which end?", by=build.builder
    )
    made = decide.accept_snag(revision, snag, "The long lead goes to pin 3.", reason="It did not say", by=designer)
    assert not snag.messages.exists()
    issue(made.draft)
    snag.refresh_from_db()
    assert snag.state == "answered"
    assert f"Answered in revision {made.draft.letter}" in snag.messages.get().words


def test_what_was_issued_stays_decided(revision, designer):
    issue(accept(revision, designer).draft)
    with pytest.raises(decide.Refused, match="can no longer change"):
        accept(revision, designer, expected="1 V", low="0 V", high="2 V")


@pytest.mark.lengthy
def test_the_next_revision_shows_whether_it_worked(desk, revision, designer):
    after = issue(accept(revision, designer).draft)
    row = Check.objects.get(stage__revision=after, key="check-1-1")
    assert "No build of the new revision" in change_proofs(after)[0].sentence
    for _ in range(6):
        factories.add_readings(rows=[(factories.make_build(revision=after), row, [(345.0, "in band")])])
    proof = change_proofs(after)[0]
    assert proof.sentence.startswith("It worked: 0 of 8")
    stage = stage_proofs(revision, after)[0]
    assert (stage.first_pass.before.successes, stage.first_pass.after.successes) == (8, 6)
    body = desk.get(at("changes", after)).content.decode()
    assert "It worked" in body and "Newcombe" in body


@pytest.mark.lengthy
def test_the_page_lists_findings_and_decisions(desk, revision, designer):
    assert "differ from the guide and its circuit" in desk.get(at("findings", revision)).content.decode()
    answer = desk.post(
        at("decide-check", revision, first_check(revision).pk),
        {"state": "accepted", "expected": "345 V", "low": "335 V", "high": "355 V", "reason": "Eight builds."},
    )
    assert answer.status_code == 302
    assert "Accepted" in desk.get(at("findings", revision)).content.decode()


@pytest.mark.lengthy
def test_findings_take_the_same_queries_for_more_builds(desk, revision, django_assert_num_queries):
    desk.get(at("findings", revision))
    for queries in (25, 33, 33):  # eight more where a check is worked out anew, however many builds read it
        with django_assert_num_queries(queries):
            desk.get(at("findings", revision))
        factories.add_readings(
            rows=[(factories.make_build(revision=revision), first_check(revision), [(344.0, "out of band")])]
        )
