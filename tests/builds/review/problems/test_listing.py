"""The list of all problems: filters and pages, snags first, merged snags left out."""

import pytest
from django.urls import reverse

from builds.bench.models import Snag
from builds.review.models import Triage
from builds.review.problems.listing import PAGE, Filter, count_states, count_undecided, list_problems
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.lengthy]
EVERY = Filter()


@pytest.fixture
def revision():
    revision = factories.make_revision(stages=2, checks=3)
    checks = factories.checks_of(revision=revision)
    for n in range(40):
        build = factories.make_build(revision=revision, serial=f"{n:02d}")
        for check in checks[:3]:
            factories.add_reading(build=build, check=check, value=350, outcome="out of band")
        factories.add_reading(build=build, check=checks[3], value=300)
    return revision


def report(build, stage, **more):
    fields = {"kind": "other", "words": "Which end?"} | more
    return Snag.objects.create(build=build, stage=stage, by=build.builder, **fields)


def total(revision, **expected):
    return list_problems(revision, Filter(**expected))[1]


def test_pages_together_are_the_whole_list_each_problem_once(revision):
    build = revision.builds.first()
    snags = [report(build, revision.stages.first(), words=str(n)) for n in range(5)]
    Snag.objects.filter(pk=snags[0].pk).update(merged_into=snags[1])
    pages = [list_problems(revision, EVERY, page) for page in (1, 2, 3, 4, 5)]
    rows = [(problem.is_snag, problem.row.pk) for result, _ in pages for problem in result]
    assert [n for _, n in pages] == [124] * 5 and len(rows) == len(set(rows)) == 124
    assert [len(result) for result, _ in pages] == [PAGE] * 4 + [24]
    assert [is_snag for is_snag, _ in rows] == [True] * 4 + [False] * 120


def test_what_is_gravest_comes_first(revision):
    build, checks = revision.builds.last(), factories.checks_of(revision=revision)
    for severity in ("cosmetic", "danger", "slowed"):
        report(build, revision.stages.first(), words=severity, severity=severity)
    factories.add_reading(build=build, check=checks[2], value=420, outcome="switch off")
    result, _n = list_problems(revision, EVERY)
    assert [problem.row.words for problem in result if problem.is_snag] == ["danger", "slowed", "cosmetic"]
    assert result[3].row.outcome == "switch off"


def test_filters_ask_the_triage_of_each_problem(revision):
    builds, check = list(revision.builds.all()), factories.checks_of(revision=revision)[0]
    Triage.objects.create(build=builds[0], check_row=check, cause="figure", state="no-change")
    Triage.objects.create(build=builds[1], check_row=check, cause="part")
    assert total(revision, state="no-change") == 1 and total(revision, state="cause-found") == 1
    assert total(revision, state="open") == 118
    (problem,), _n = list_problems(revision, Filter(cause="part"))
    assert problem.row.build == builds[1] and problem.triage.cause == "part"
    assert total(revision, stage="stage-2") == 0 and total(revision, kind="words") == 0


def test_deviations_that_were_corrected_are_told_from_those_still_out(revision):
    factories.add_reading(build=revision.builds.first(), check=factories.checks_of(revision=revision)[0])
    assert total(revision, now="corrected") == 1 and total(revision, now="out") == 119
    (problem,), _n = list_problems(revision, Filter(now="corrected"))
    assert problem.is_corrected


def test_states_are_counted_under_the_other_filters(revision):
    build, check = revision.builds.first(), factories.checks_of(revision=revision)[0]
    Triage.objects.create(build=build, check_row=check, cause="part")
    report(build, revision.stages.last())
    counts = count_states(revision, Filter(state="closed"))
    assert counts["open"] == 120 and counts["cause-found"] == 1 and counts["closed"] == 0
    assert count_states(revision, Filter(stage="stage-2"))["open"] == 1


def test_a_deviation_that_was_corrected_does_not_wait_for_the_designer(revision):
    before = count_undecided(revision)["open"]
    factories.add_reading(build=revision.builds.first(), check=factories.checks_of(revision=revision)[0])
    assert count_undecided(revision)["open"] == before - 1


@pytest.mark.parametrize("page", ["0", "-3", "x", "9999999999", "", "²"])
def test_a_page_that_is_none_is_the_first_or_empty_and_no_error(revision, page, client):
    client.force_login(revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("review:problems", args=[revision.kit.key, "A"]), {"page": page}).status_code == 200


def test_the_old_address_leads_to_the_list_with_its_filters(revision, client):
    client.force_login(revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    old = reverse("review:troubles", args=[revision.kit.key, "A"])
    answer = client.get(f"{old}?state=new&stage=stage-1", follow=True)
    assert answer.redirect_chain[0][0].endswith("/problems/?state=new&stage=stage-1")
    assert answer.context["wanted"] == Filter(state="open", stage="stage-1")
