"""Designers who tap twice, or two designers at once: one draft, one decision, nobody sees an error."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from builds.bench.models import Snag
from builds.guides.models import Revision, Stage, Step
from builds.guides.revisions import issue
from builds.review.changes import decide
from builds.review.models import Decision, IssuedChanges
from tests import factories
from tests.clearing import clear_though_frozen

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.lengthy]
TAPS = 4


@pytest.fixture(autouse=True)
def cleared(transactional_db):
    yield
    clear_though_frozen()


@pytest.fixture
def revision():
    made = factories.make_revision(issued=False)
    Stage.objects.filter(revision=made).update(cautions=["lethal-voltage"])
    return issue(Revision.objects.get(pk=made.pk))


def at_once(designer, posts: list[tuple[str, dict]]) -> list[int]:
    """The status of every post, all sent in the same moment by clients of their own."""
    together, clients = Barrier(len(posts)), [Client() for _ in posts]
    for client in clients:
        if designer:
            client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")

    def send(client, post):
        client.raise_request_exception = False
        together.wait()
        try:
            return client.post(*post).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(len(posts)) as pool:
        return list(pool.map(send, clients, posts))


def at(name, revision, *more):
    return reverse(name, args=[revision.kit.key, revision.letter, *more])


def drafts(revision):
    return Revision.objects.filter(kit=revision.kit, state="draft").count()


def test_an_acceptance_tapped_four_times_is_one(revision):
    check = factories.checks_of(revision=revision)[0]
    typed = {"state": "accepted", "expected": "345 V", "low": "335 V", "high": "355 V", "reason": "High."}
    post = (at("review:decide-check", revision, check.pk), typed)
    assert at_once(revision.kit.designers.first(), [post] * TAPS) == [302] * TAPS
    assert drafts(revision) == 1 and len(Decision.objects.get().edits) == 4


def test_four_acceptances_at_once_go_into_one_draft(revision):
    stage, build = revision.stages.first(), factories.make_build(revision=revision)
    checks = factories.checks_of(revision=revision)[:2]
    snags = [
        Snag.objects.create(build=build, stage=stage, step=step, kind="words", words="W", by=build.builder)
        for step in stage.steps.all()
    ]
    posts = [(at("review:decide-check", revision, c.pk), {"state": "accepted", "expected": "345 V"}) for c in checks]
    posts += [
        (at("review:decide-snag", revision, s.pk), {"state": "accepted", "text": f"New {s.step.key}."}) for s in snags
    ]
    assert at_once(revision.kit.designers.first(), posts) == [302] * 4
    assert drafts(revision) == 1 and Decision.objects.filter(state="accepted").count() == 4
    assert Step.objects.filter(stage__revision__state="draft", text__startswith="New ").count() == 2


def test_new_draft_tapped_four_times_makes_one(revision):
    assert at_once(revision.kit.designers.first(), [(at("guides:clone", revision), {})] * TAPS) == [302] * TAPS
    assert drafts(revision) == 1


def test_issue_tapped_four_times_writes_one_list(revision):
    draft = decide.accept_check(
        revision, factories.checks_of(revision=revision)[0], {"expected": "345 V"}, reason="", by=None
    ).draft
    assert (
        at_once(revision.kit.designers.first(), [(at("guides:issue", draft), {"reason": "A trial."})] * TAPS)
        == [302] * TAPS
    )
    assert IssuedChanges.objects.filter(revision=draft).count() == 1


def test_an_acceptance_is_refused_in_words_once_its_draft_was_issued(revision):
    check, designer = factories.checks_of(revision=revision)[0], revision.kit.designers.first()
    draft = decide.accept_check(revision, check, {"expected": "345 V"}, reason="", by=designer).draft
    issue(draft)
    post = (at("review:decide-check", revision, check.pk), {"state": "accepted", "expected": "346 V"})
    assert at_once(designer, [post] * 2) == [422, 422]
