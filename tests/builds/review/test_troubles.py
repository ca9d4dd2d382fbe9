"""The list of all troubles: filters and pages, deviations first, merged snags left out."""

import pytest
from django.urls import reverse

from builds.bench.models import Snag
from builds.review.models import Triage
from builds.review.troubles import PAGE, troubles
from tests import factories

pytestmark = pytest.mark.django_db


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


def test_pages_together_are_the_whole_list_each_trouble_once(revision):
    build = revision.builds.first()
    snags = [
        Snag.objects.create(build=build, stage=revision.stages.first(), kind="other", words=str(n), by=build.builder)
        for n in range(5)
    ]
    Snag.objects.filter(pk=snags[0].pk).update(merged_into=snags[1])
    pages = [troubles(revision, page) for page in (1, 2, 3)]
    rows = [(what, row.pk) for found, _ in pages for what, row, _ in found]
    assert [total for _, total in pages] == [124] * 3 and len(rows) == len(set(rows)) == 124
    assert [len(found) for found, _ in pages] == [PAGE, 24, 0]
    assert [what for what, _ in rows] == ["snag"] * 4 + ["deviation"] * 120


def test_what_is_gravest_comes_first(revision):
    build, checks = revision.builds.last(), factories.checks_of(revision=revision)
    for severity in ("cosmetic", "danger", "slowed"):
        Snag.objects.create(
            build=build,
            stage=revision.stages.first(),
            kind="other",
            words=severity,
            severity=severity,
            by=build.builder,
        )
    factories.add_reading(build=build, check=checks[2], value=420, outcome="switch off")
    found, _n = troubles(revision)
    assert [row.words for what, row, _t in found if what == "snag"] == ["danger", "slowed", "cosmetic"]
    assert found[3][1].outcome == "switch off"


def test_filters_ask_the_triage_of_each_trouble(revision):
    builds, check = list(revision.builds.all()), factories.checks_of(revision=revision)[0]
    Triage.objects.create(build=builds[0], check_row=check, cause="figure", state="decided")
    Triage.objects.create(build=builds[1], check_row=check, cause="part", state="new")
    assert troubles(revision, state="decided")[1] == 1 and troubles(revision, state="new")[1] == 119
    ((_what, row, triage),) = troubles(revision, cause="part")[0]
    assert row.build == builds[1] and triage.cause == "part"
    assert troubles(revision, stage="stage-2")[1] == 0 and troubles(revision, kind="words")[1] == 0


@pytest.mark.parametrize("page", ["0", "-3", "x", "9999999999", ""])
def test_a_page_that_is_none_is_the_first_or_empty_and_no_error(revision, page, client):
    client.force_login(revision.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("review:troubles", args=[revision.kit.key, "A"]), {"page": page}).status_code == 200
