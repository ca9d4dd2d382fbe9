"""Who is told of what: designers of their own kits, builders of their own build, and nobody of anybody else's words."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.models import Message, Snag
from builds.bench.readings.taking import take_reading
from builds.notifications.models import Email, Notification
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    designer, other = factories.make_designer(), factories.make_designer()
    one, two = factories.make_builder(), factories.make_builder()
    for n, person in enumerate((designer, other, one, two)):
        factories.give_address(person, f"p{n}@kits.example")
    revision = factories.make_revision(designer=designer)
    factories.make_revision(designer=other)
    return designer, other, one, two, revision


def sign_in(client, person):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")


def report(client, build, words, severity="slowed"):
    sign_in(client, build.builder)
    stage = build.revision.stages.first()
    client.post(
        reverse("bench:new-snag", args=[build.pk, stage.key]),
        {
            "kind": "words",
            "severity": severity,
            "words": words,
            "entry_key": uuid4(),
            "about": f"step:{stage.steps.first().key}",
        },
    )
    return build.snags.get()


def test_a_stop_reading_is_told_to_the_kits_designer_at_once_and_to_nobody_else(cast):
    designer, _other, one, _two, revision = cast
    build = factories.make_build(revision=revision, builder=one)
    check = factories.checks_of(revision=revision)[0]
    take_reading(build, check, "300", by=one)
    assert not Notification.objects.exists()
    take_reading(build, check, "450", by=one)
    assert [(n.person, n.letter is not None) for n in Notification.objects.all()] == [(designer, True)]
    assert "read 450" in Email.objects.get().subject


@pytest.mark.parametrize(
    ("severity", "at_once"), [("danger", True), ("stopped", True), ("slowed", False), ("cosmetic", False)]
)
def test_snags_are_told_at_once_where_they_are_grave(client, cast, severity, at_once):
    designer, _other, one, _two, revision = cast
    report(client, factories.make_build(revision=revision, builder=one), "The words.", severity)
    assert [n.person for n in Notification.objects.all()] == [designer]
    assert Email.objects.exists() == at_once


@pytest.mark.lengthy
def test_an_answer_reaches_every_builder_whose_snag_was_merged_and_nobodys_words_travel(client, cast):
    designer, _other, one, two, revision = cast
    first = report(client, factories.make_build(revision=revision, builder=one), "SECRET OF ONE")
    second = report(client, factories.make_build(revision=revision, builder=two), "SECRET OF TWO")
    Message.objects.create(snag=first, by=one, words="MORE OF ONE")
    sign_in(client, designer)
    assert client.post(reverse("review:merge", args=[second.pk]), {"into": first.pk}).status_code == 302
    client.post(
        reverse("review:snag", args=[first.pk]),
        {
            "words": "Plus goes to pin 3.",
            "state": "open",
            "entry_key": uuid4(),
            "triage-cause": "wording",
            "triage-state": "new",
            "triage-planned_change": "",
        },
    )
    second.refresh_from_db()
    assert second.state == "answered"
    assert {n.person for n in Notification.objects.filter(key__startswith="answer")} == {one, two}
    assert not [x for x in Email.objects.filter(person=two) if "OF ONE" in x.body]
    sign_in(client, two)
    page = client.get(reverse("bench:snag", args=[second.build_id, second.pk])).content.decode()
    assert "Plus goes to pin 3." in page and "SECRET OF TWO" in page and "OF ONE" not in page
    assert client.get(reverse("bench:snag", args=[first.build_id, first.pk])).status_code == 404


@pytest.mark.lengthy
def test_a_merged_snag_counts_once_and_can_be_taken_apart(client, cast):
    designer, _other, one, two, revision = cast
    first = report(client, factories.make_build(revision=revision, builder=one), "The same")
    second = report(client, factories.make_build(revision=revision, builder=two), "The same again")
    sign_in(client, designer)
    client.post(reverse("review:merge", args=[second.pk]), {"into": first.pk})
    assert list(Snag.objects.own()) == [first]
    assert "The same again" in client.get(reverse("review:snag", args=[first.pk])).content.decode()
    client.post(reverse("review:take-apart", args=[second.pk]))
    assert set(Snag.objects.own()) == {first, second}


@pytest.mark.lengthy
def test_chains_do_not_arise_and_nonsense_is_refused(client, cast):
    designer, other, one, two, revision = cast
    snags = [
        report(client, factories.make_build(revision=revision, builder=b), "x")
        for b in (one, two, factories.make_builder())
    ]
    foreign = report(client, factories.make_build(revision=other.kits.get().revisions.get()), "foreign")
    sign_in(client, designer)
    merge = lambda a, b: client.post(reverse("review:merge", args=[a.pk]), {"into": b}).status_code  # noqa: E731
    assert merge(snags[0], snags[1].pk) == 302 and merge(snags[1], snags[2].pk) == 302
    assert set(Snag.objects.filter(merged_into=snags[2])) == {snags[0], snags[1]}
    assert [merge(snags[2], into) for into in (snags[0].pk, snags[2].pk, foreign.pk, "", "x", "9" * 30)] == [422] * 6
    sign_in(client, one)
    assert merge(snags[0], snags[2].pk) == 403


def test_a_halt_is_told_to_those_under_way_and_not_to_those_who_are_done(client, cast):
    designer, _other, one, two, revision = cast
    factories.make_build(revision=revision, builder=one)
    done = factories.make_build(revision=revision, builder=two)
    type(done).objects.filter(pk=done.pk).update(finished_at=done.made_at)
    sign_in(client, designer)
    kit = [revision.kit.key, revision.letter]
    client.post(
        reverse("review:halt", args=kit), {"stage": revision.stages.first().pk, "reason": "A bad batch of fuses."}
    )
    assert [n.person for n in Notification.objects.all()] == [one] and "bad batch" in Email.objects.get().body


def test_the_snags_page_shows_what_it_is_about_as_it_was_in_that_revision(client, cast):
    designer, _other, one, _two, revision = cast
    snag = report(client, factories.make_build(revision=revision, builder=one), "Which end?")
    step = snag.step
    for person, name, args in ((one, "bench:snag", [snag.build_id, snag.pk]), (designer, "review:snag", [snag.pk])):
        sign_in(client, person)
        page = client.get(reverse(name, args=args)).content.decode()
        assert step.text in page and "From revision A" in page
