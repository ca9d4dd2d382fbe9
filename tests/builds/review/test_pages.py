"""The designer's pages: who sees them, what they say, and how many queries they take."""

import re

import pytest
from django.urls import reverse

from builds.bench.models import CheckStatus, Concession, Message, Snag
from builds.review.models import Triage
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer():
    return make.make_designer()


@pytest.fixture
def revision(designer):
    return make.make_revision(designer=designer)


@pytest.fixture
def build(revision):
    return make.make_build(revision=revision, serial="<7>")


@pytest.fixture
def desk(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


def of(name, revision, *more):
    return reverse(f"review:{name}", args=[revision.kit.key, revision.letter, *more])


def addresses(revision, build, check, snag):
    return [
        of("dashboard", revision),
        of("builds", revision),
        of("problems", revision),
        of("check", revision, check.pk),
        reverse("review:build", args=[build.pk]),
        reverse("review:charts", args=[build.pk, "voltage"]),
        reverse("review:deviation", args=[build.pk, check.pk]),
        reverse("review:snag", args=[snag.pk]),
    ]


def report(build, stage, kind="reading", words="A bang", severity="danger"):
    return Snag.objects.create(build=build, stage=stage, kind=kind, words=words, severity=severity, by=build.builder)


@pytest.mark.lengthy
def test_pages_open_for_the_designer_and_not_for_strangers_or_the_builder(desk, revision, build):
    check = make.checks_of(revision=revision)[0]
    make.add_reading(build=build, check=check, value=350, outcome="out of band")
    pages = addresses(revision, build, check, report(build, check.stage))
    assert [desk.get(a).status_code for a in pages] == [200] * len(pages)
    for person, expected in ((make.make_designer(), 404), (build.builder, 403)):
        desk.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        assert {desk.get(a).status_code for a in pages} == {expected}


@pytest.mark.lengthy
def test_no_page_carries_a_style_attribute_or_an_inline_script(desk, revision, build):
    check = make.checks_of(revision=revision)[0]
    make.add_reading(build=build, check=check, value=350, outcome="out of band")
    for address in addresses(revision, build, check, report(build, check.stage)):
        body = desk.get(address).content.decode()
        assert not re.search(r"<[^>]*\sstyle=|<style|<script(?![^>]*src=)", body), address


def test_an_empty_dashboard_says_what_to_do_next(desk, revision):
    body = desk.get(of("dashboard", revision)).content.decode()
    assert "Make the first build" in body and of("builds", revision) in body


@pytest.mark.lengthy
def test_stops_and_open_danger_come_before_the_matrix(desk, revision, build):
    check = make.checks_of(revision=revision)[3]
    make.add_reading(build=build, check=check, value=420, outcome="switch off")
    make.add_reading(build=build, check=check)  # put right since: the stop is still worth seeing
    report(build, check.stage, words="It smoked")
    body = desk.get(of("dashboard", revision)).content.decode()
    assert 0 < body.index("420") < body.index('class="matrix') and body.index("It smoked") < body.index('class="matrix')
    assert "&lt;7&gt;" in body and "<7>" not in body


@pytest.mark.parametrize("query", ["?page=²", "?page=99999999", "?page=-1", "?sort=nonsense", "?stage=nowhere"])
def test_an_address_made_up_by_hand_still_opens(desk, revision, build, query):
    assert desk.get(of("dashboard", revision) + query).status_code == 200


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["dashboard", "problems", "builds"])
def test_queries_do_not_grow_with_the_builds(desk, revision, build, name, django_assert_max_num_queries):
    checks = make.checks_of(revision=revision)
    more = [make.make_build(revision=revision) for _ in range(6)]
    make.add_readings(rows=[(b, c, [(350.0, "out of band")]) for b in more for c in checks])
    with django_assert_max_num_queries(19):
        desk.get(of(name, revision))


def test_a_concession_needs_a_reason_and_passes_the_check(desk, revision, build):
    check = make.checks_of(revision=revision)[0]
    make.add_reading(build=build, check=check, value=335, outcome="out of band")
    address = reverse("review:concede", args=[build.pk, check.pk])
    desk.post(address, {"reason": "  "})
    assert not Concession.objects.exists() and not CheckStatus.objects.get().passed
    desk.post(address, {"reason": "The mains is high here."})
    assert CheckStatus.objects.get().passed and Concession.objects.get().by == revision.kit.designers.get()


def test_a_check_that_was_never_read_cannot_be_conceded(desk, revision, build):
    check = make.checks_of(revision=revision)[0]
    desk.post(reverse("review:concede", args=[build.pk, check.pk]), {"reason": "Never mind."})
    assert not Concession.objects.exists()


def test_a_reading_that_said_switch_off_cannot_be_conceded(desk, revision, build):
    check = make.checks_of(revision=revision)[0]
    make.add_reading(build=build, check=check, value=420, outcome="switch off")
    desk.post(reverse("review:concede", args=[build.pk, check.pk]), {"reason": "Never mind."})
    assert not Concession.objects.exists() and not CheckStatus.objects.get().passed


@pytest.mark.lengthy
def test_triage_of_a_deviation_is_kept_and_filters_the_list(desk, revision, build):
    check = make.checks_of(revision=revision)[0]
    make.add_reading(build=build, check=check, value=350, outcome="out of band")
    address = reverse("review:deviation", args=[build.pk, check.pk])
    assert desk.post(address, {"cause": "gremlins", "state": "new"}).status_code == 422
    assert not Triage.objects.exists()
    desk.post(address, {"cause": "figure", "state": "new", "planned_change": "Say 340 V."})
    assert Triage.objects.get().planned_change == "Say 340 V."
    assert check.title in desk.get(of("problems", revision) + "?cause=figure").content.decode()
    assert check.title not in desk.get(of("problems", revision) + "?cause=part").content.decode()


@pytest.mark.lengthy
def test_an_answer_sent_twice_is_one_message_and_the_snag_is_answered(desk, revision, build):
    snag = report(build, make.checks_of(revision=revision)[0].stage)
    sent = {
        "entry_key": "5f0f8c1e-6c0b-4f0e-9a51-5a2d8f2f3c11",
        "words": "Leave it off.",
        "state": "open",
        "triage-cause": "unknown",
        "triage-state": "new",
    }
    for _ in range(2):
        desk.post(reverse("review:snag", args=[snag.pk]), sent)
    snag.refresh_from_db()
    assert Message.objects.count() == 1 and snag.state == "answered"
    desk.post(reverse("review:snag", args=[snag.pk]), {**sent, "words": "", "triage-state": "no-change"})
    snag.refresh_from_db()
    assert snag.state == "closed"


def test_the_history_holds_ticks_and_made_safe_readings(desk, revision, build):
    build.ticks.create(step=revision.stages.first().steps.first())
    build.made_safes.create(typed="3.5 V", volts=3.5, is_safe=True)
    switched_on = build.power_ons.create(stage=revision.stages.last(), why="again")
    body = desk.get(reverse("review:build", args=[build.pk])).content.decode()
    assert "Step ticked" in body and "3.5 V" in body and str(switched_on) in body


@pytest.mark.lengthy
def test_a_checks_page_says_what_its_readings_mean_before_the_statistics_and_names_no_half_bands(desk, revision):
    check = make.checks_of(revision=revision)[0]
    make.add_readings(
        rows=[(make.make_build(revision=revision), check, [(v, "in band")]) for v in (290.0, 300.0, 310.0)]
    )
    stray = make.make_build(revision=revision)
    make.add_readings(rows=[(stray, check, [(412.0, "out of band")])])
    body = desk.get(of("check", revision, check.pk)).content.decode()
    assert "half-band" not in body and re.search(r"<text[^>]*>[^<]*412 V[^<]*</text>", body)
    assert body.index('class="notice"') < body.index('class="scale strip"') < body.index("How this was calculated")
    reported = desk.get(reverse("review:deviation", args=[stray.pk, check.pk])).content.decode()
    assert "Attempt 1:" in reported and "half-band" not in reported
