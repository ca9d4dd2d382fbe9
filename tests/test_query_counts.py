"""How many queries each page of rows takes: exactly so many, however many rows there are."""

import pytest
from django.contrib.contenttypes.models import ContentType
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from builds.bench.gates.sittings import open_sitting
from builds.bench.models import Snag
from tests import factories

pytestmark = pytest.mark.django_db
# page -> queries, those for the session, who is signed in and, of builders, whether they design too among them
PINNED = {
    "builder: bench:builds": 6,
    "builder: bench:build": 11,
    "builder: bench:stage": 9,
    "builder: bench:check": 11,
    "builder: bench:charts": 8,
    "builder: accounts:meters": 4,
    "builder: bench:valves": 6,
    "builder: bench:map": 6,
    "builder: notifications:mail": 5,
    "designer: review:batches": 9,
    "designer: guides:kits": 6,
    "designer: guides:revision": 4,
    "designer: guides:circuit": 4,
    "designer: guides:schematic": 3,
    "designer: guides:compare": 16,
    "designer: review:dashboard": 18,
    "designer: review:builds": 6,
    "designer: review:map": 4,
    "designer: review:problems": 13,
    "designer: review:check": 20,
    "designer: review:build": 19,
    "designer: reports:summary": 34,
    "designer: review:programmes": 5,
    "designer: review:programme": 24,
    "designer: review:release": 19,
    "designer: review:findings": 25,
    "designer: review:faults": 16,
    "designer: review:changes": 6,
    "designer: review:errata": 13,
}


class Programme:
    """A kit with a revision and a draft, builds with readings and snags, and their people."""

    def __init__(self):
        self.designer, self.builder = factories.make_designer(), factories.make_builder()
        self.revision = factories.make_revision(designer=self.designer, stages=2, checks=2, steps=2)
        self.draft = factories.make_revision(kit=self.revision.kit, letter="B", issued=False)
        self.meter = factories.make_meter(owner=self.builder)
        self.check = factories.checks_of(revision=self.revision)[0]
        self.grow()

    def grow(self):
        """One more of everything a page might list."""
        build = factories.make_build(revision=self.revision, builder=self.builder, meter=self.meter)
        self.build = getattr(self, "build", build)
        open_sitting(self.build)
        for check in factories.checks_of(revision=self.revision)[:2]:
            factories.add_reading(build=build, check=check, value=250.0, outcome="out of band")
            factories.add_reading(build=self.build, check=check, value=251.0, outcome="out of band")
        Snag.objects.create(
            build=build, stage=self.check.stage, check_row=self.check, kind="words", words="Which end?", by=self.builder
        )
        factories.make_meter(owner=self.builder)
        factories.make_revision(designer=self.designer)

    def address(self, name):
        kit = [self.revision.kit.key, "A"]
        return reverse(
            name,
            args={
                "bench:build": [self.build.pk],
                "bench:stage": [self.build.pk, "stage-1"],
                "bench:check": [self.build.pk, "stage-1", self.check.key],
                "bench:charts": [self.build.pk, "voltage"],
                "guides:revision": kit,
                "guides:circuit": kit,
                "guides:schematic": kit,
                "guides:compare": [*kit, "B"],
                "review:dashboard": kit,
                "review:builds": kit,
                "review:map": kit,
                "review:problems": kit,
                "review:check": [*kit, self.check.pk],
                "review:build": [self.build.pk],
                "reports:summary": kit,
                "review:programme": kit[:1],
                "review:release": kit,
                "review:findings": kit,
                "review:faults": kit,
                "review:changes": kit,
                "review:errata": kit,
                "review:batches": kit,
                "bench:valves": [self.build.pk],
                "bench:map": [self.build.pk],
            }.get(name, []),
        )


# what is worked out anew: of findings five to read with the labels and one to keep, of correlations one and one
FINDINGS, CORRELATIONS = 6, 2
ANEW = {
    "review:check": FINDINGS,
    "review:batches": CORRELATIONS,
    "review:findings": FINDINGS + CORRELATIONS,
    "reports:summary": FINDINGS + CORRELATIONS,
    "review:problems": 1,  # the filters, from a number of problems on
}
FILTERED = {"review:problems": 1}  # choices of a filter, which are asked for once there is something to filter


def counted(client, address) -> int:
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address)
        assert answer.status_code == 200, (address, answer.status_code)
    return len(queries)


@pytest.mark.lengthy
@pytest.mark.parametrize("page", PINNED)
def test_a_page_takes_its_queries_and_no_more_with_more_rows(page, client):
    who, name = page.split(": ")
    programme = Programme()
    client.force_login(getattr(programme, who), backend="django.contrib.auth.backends.ModelBackend")
    address = programme.address(name)
    client.get(address)  # the frozen guide is fetched once a process
    ContentType.objects.clear_cache()
    assert counted(client, address) == PINNED[page] - FILTERED.get(name, 0)
    programme.grow()
    programme.grow()
    more = counted(client, address) - PINNED[page]
    assert more in (0, ANEW.get(name, 0))
    assert counted(client, address) == PINNED[page]
