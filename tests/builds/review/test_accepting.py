"""Accepting, with the edit that fits: figures, notes, hints, words of steps, parts and stages; never over somebody
else's edit."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Snag
from builds.guides.models import Check, Part, Revision, Stage, Step
from builds.guides.revisions import issue, new_draft
from builds.review.changes import decide
from builds.review.changes.drafts import find_base
from builds.review.models import Decision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def revision(designer):
    """Band 300 V ± 10 %; eight builds read about 345 V at the first check."""
    made = factories.make_revision(
        designer=designer,
        issued=False,
        parts=({"ref": "R1", "kind": "resistor", "value": "1k5", "detail": {"joins": ["ht", "chassis"]}},),
    )
    Stage.objects.filter(revision=made).update(cautions=["lethal-voltage"])
    Revision.objects.filter(pk=made.pk).update(state="issued", issued_at=timezone.now())
    made.refresh_from_db()
    first = factories.checks_of(revision=made)[0]
    for n in range(8):
        factories.add_readings(rows=[(factories.make_build(revision=made), first, [(343.0 + n % 4, "out of band")])])
    return made


@pytest.fixture
def desk(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def at(name, revision, *more):
    return reverse(f"review:{name}", args=[revision.kit.key, revision.letter, *more])


def first_check(revision):
    return factories.checks_of(revision=revision)[0]


def snag_on(revision, number=0, **about):
    build = revision.builds.all()[number]
    stage = revision.stages.first()
    return Snag.objects.create(
        build=build, stage=stage, kind="words", words=f"Trouble {number}.", by=build.builder, **about
    )


def form_of(page, action) -> dict:
    """The fields of one form as a browser would send them untouched."""
    form = re.search(rf'<form method="post" action="{re.escape(action)}".*?</form>', page, re.DOTALL)[0]
    result = dict(re.findall(r'<input [^>]*?name="([^"]+)"[^>]*?value="([^"]*)"', form))
    return result | dict(re.findall(r'<textarea [^>]*?name="([^"]+)"[^>]*>(.*?)</textarea>', form, re.DOTALL))


def sent(desk, revision, name, row, **changed):
    action = at(name, revision, row.pk)
    page = desk.get(at("findings", revision) + changed.pop("query", "")).content.decode()
    return desk.post(action, form_of(page, action) | {"state": "accepted"} | changed)


def draft_check(revision):
    return Check.objects.get(stage__revision=find_base(revision), key="check-1-1")


@pytest.mark.lengthy
def test_the_expected_figure_alone_is_changed_and_the_band_in_percent_stays(desk, revision):
    assert (
        sent(
            desk, revision, "decide-check", first_check(revision), expected="345 V", band="10%", low="", high=""
        ).status_code
        == 302
    )
    row = draft_check(revision)
    assert (row.expected, row.band, row.low, row.high) == ("345 V", "10%", "", "")


@pytest.mark.lengthy
def test_a_limit_on_one_side_can_be_accepted(desk, revision):
    answer = sent(
        desk, revision, "decide-check", first_check(revision), expected="", low="", high="", band="", at_least="270 V"
    )
    assert answer.status_code == 302
    assert (draft_check(revision).at_least, draft_check(revision).band) == ("270 V", "")


@pytest.mark.lengthy
def test_a_finding_is_accepted_with_a_note_hints_and_a_steps_words(desk, revision):
    check = first_check(revision)
    answer = sent(
        desk,
        revision,
        "decide-check",
        check,
        query=f"?words={check.pk}",
        expected="300 V",
        band="10%",
        low="",
        high="",
        note="Wait a minute.",
        hints="low: Is F2 whole?\r\noff, then check-1-2: Measure there.",
        **{"step-step-1-1": "Do thing 1, **slowly**."},
    )
    assert answer.status_code == 302
    row = draft_check(revision)
    assert (row.note, row.expected) == ("Wait a minute.", "300 V")
    assert row.hints == [
        {"when": "low", "text": "Is F2 whole?"},
        {"when": "off", "text": "Measure there.", "next": "check-1-2"},
    ]
    assert Step.objects.get(stage__revision=find_base(revision), key="step-1-1").text == "Do thing 1, **slowly**."
    assert [e["field"] for e in Decision.objects.get().edits] == ["note", "hints", "text"]


@pytest.mark.lengthy
def test_hints_that_do_not_say_when_are_refused_with_what_was_typed(desk, revision):
    answer = sent(desk, revision, "decide-check", first_check(revision), hints="Is F2 whole?")
    assert answer.status_code == 422
    assert "does not say when" in answer.content.decode() and "\nIs F2 whole?</textarea>" in answer.content.decode()
    assert not Decision.objects.exists()


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("about", "field", "text", "of"),
    [
        ("check_row", "title", "B+ with the valves in", Check),
        ("check_row", "note", "Clip the black lead on.", Check),
        ("part", "value", "1k8", Part),
        ("part", "note", "Brown grey red.", Part),
        ("", "intro", "Read all of it first.", Stage),
        ("step", "text", "Long lead up.", Step),
    ],
)
def test_a_snag_is_accepted_with_the_edit_that_fits(desk, revision, about, field, text, of):
    stage = revision.stages.first()
    row = {"check_row": first_check(revision), "part": revision.parts.get(), "step": stage.steps.first()}.get(about)
    snag = snag_on(revision, **({about: row} if about else {}))
    assert sent(desk, revision, "decide-snag", snag, **{field: text}).status_code == 302
    where = {"revision": find_base(revision)} if of in (Part, Stage) else {"stage__revision": find_base(revision)}
    assert getattr(of.objects.filter(**where).first(), field) == text
    page = desk.get(at("changes", find_base(revision))).content.decode()
    assert text.rstrip(".") in page


@pytest.mark.lengthy
@pytest.mark.parametrize(("value", "said"), [("a lot", "value"), ("", "value is missing")])
def test_a_parts_value_that_cannot_be_is_refused(desk, revision, value, said):
    snag = snag_on(revision, part=revision.parts.get())
    answer = sent(desk, revision, "decide-snag", snag, value=value)
    assert answer.status_code == 422 and said in answer.content.decode()


@pytest.mark.lengthy
def test_the_second_form_shows_what_the_first_decision_wrote(desk, revision):
    step = revision.stages.first().steps.first()
    one, other = snag_on(revision, 0, step=step), snag_on(revision, 1, step=step)
    sent(desk, revision, "decide-snag", one, text="Long lead up.")
    action = at("decide-snag", revision, other.pk)
    assert form_of(desk.get(at("findings", revision)).content.decode(), action)["text"] == "Long lead up."
    assert sent(desk, revision, "decide-snag", other).status_code == 302  # the same words answer both
    first, second = Decision.objects.order_by("pk")
    assert first.edits == second.edits and second.draft == first.draft


def test_words_two_decisions_want_stay_until_both_are_taken_back(revision, designer):
    step = revision.stages.first().steps.first()
    one, other = snag_on(revision, 0, step=step), snag_on(revision, 1, step=step)
    for snag in (one, other):
        made = decide.accept_snag(revision, snag, "Long lead up.", reason="", by=designer)

    def words():
        return Step.objects.get(stage__revision=made.draft, key=step.key).text

    decide.decline_change(revision, "rejected", snag=one, reason="No.", by=designer)
    assert words() == "Long lead up."
    decide.decline_change(revision, "rejected", snag=other, reason="No.", by=designer)
    assert words() == step.text


def test_an_edit_that_went_on_from_another_goes_back_to_before_both(revision, designer):
    step = revision.stages.first().steps.first()
    one, other = snag_on(revision, 0, step=step), snag_on(revision, 1, step=step)
    decide.accept_snag(revision, one, "Long lead up.", reason="", by=designer)
    made = decide.accept_snag(revision, other, "Long lead up, short lead down.", reason="", by=designer)
    for snag in (one, other):
        decide.decline_change(revision, "deferred", snag=snag, reason="Later.", by=designer)
    assert Step.objects.get(stage__revision=made.draft, key=step.key).text == step.text


@pytest.mark.lengthy
def test_a_form_that_was_filled_before_somebody_elses_edit_is_refused(desk, revision):
    step = revision.stages.first().steps.first()
    one, other = snag_on(revision, 0, step=step), snag_on(revision, 1, step=step)
    action = at("decide-snag", revision, other.pk)
    stale = form_of(desk.get(at("findings", revision)).content.decode(), action)
    sent(desk, revision, "decide-snag", one, text="Long lead up.")
    answer = desk.post(action, stale | {"text": "Short lead down.", "state": "accepted"})
    assert answer.status_code == 422 and "has changed since" in answer.content.decode()
    assert Decision.objects.get().snag == one


@pytest.mark.lengthy
def test_the_same_post_twice_is_one_acceptance_in_one_draft(desk, revision):
    action = at("decide-check", revision, first_check(revision).pk)
    typed = form_of(desk.get(at("findings", revision)).content.decode(), action) | {"state": "accepted"}
    assert [desk.post(action, typed).status_code for _ in range(2)] == [302, 302]
    assert Revision.objects.filter(kit=revision.kit).count() == 2 and len(Decision.objects.get().edits) == 4


@pytest.mark.lengthy
def test_accepting_without_a_change_is_refused(desk, revision):
    snag = snag_on(revision, part=revision.parts.get())
    answer = sent(desk, revision, "decide-snag", snag)
    assert answer.status_code == 422 and "already says that" in answer.content.decode()
    assert not Revision.objects.filter(state="draft").exists()


@pytest.mark.lengthy
def test_a_change_to_an_older_revision_goes_into_a_draft_of_the_newest(desk, revision, designer):
    second = issue(
        decide.accept_check(
            revision,
            first_check(revision),
            {"expected": "345 V", "low": "335 V", "high": "355 V"},
            reason="",
            by=designer,
        ).draft
    )
    snag = snag_on(revision, step=revision.stages.first().steps.first())
    answer = desk.post(
        at("decide-snag", revision, snag.pk), {"text": "Long lead up.", "state": "accepted"}, follow=True
    )
    draft = Decision.objects.get(snag=snag).draft
    assert draft.cloned_from == second and draft_check(revision).expected == "345 V"
    assert f"follows {second.letter}" in answer.content.decode()
    newer = f"Revision {second.letter} has been issued since"
    assert newer in desk.get(at("findings", revision)).content.decode()
    assert "has been issued since" not in desk.get(at("findings", second)).content.decode()


def test_a_second_tap_on_new_draft_makes_no_second_draft(desk, revision):
    address = reverse("guides:clone", args=[revision.kit.key, revision.letter])
    assert {desk.post(address)["Location"] for _ in range(2)} == {
        reverse("guides:revision", args=[revision.kit.key, "B"])
    }
    Step.objects.filter(stage__revision__letter="B").update(text="Mine.")
    assert new_draft(revision).letter == "C"


@pytest.mark.lengthy
def test_many_snags_come_a_page_at_a_time_and_a_decision_comes_back_to_its_page(desk, revision):
    step = revision.stages.first().steps.first()
    snags = [snag_on(revision, step=step) for _ in range(63)]  # the first is the earliest: it stands on the second page
    first, second = (desk.get(at("findings", revision) + f"?snags={n}").content.decode() for n in (1, 2))
    assert first.count('id="snag-') == 60 and second.count('id="snag-') == 3 and "Older snags" in first
    assert f'id="snag-{snags[0].pk}"' in second and "Older snags" not in second
    action = at("decide-snag", revision, snags[0].pk)
    assert f'id="snag-{snags[0].pk}"' in desk.post(action, {"state": "rejected", "reason": ""}).content.decode()
    assert desk.post(action, {"state": "rejected", "reason": "It says so."})["Location"].endswith(
        f"?snags=2#snag-{snags[0].pk}"
    )
    assert desk.get(at("findings", revision) + "?page=x&snags=x").status_code == 200
