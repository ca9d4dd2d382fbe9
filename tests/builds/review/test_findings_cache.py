"""Findings kept: what is read back is what would be found afresh, whatever happened in between, and one reading costs
one check."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from builds.bench.gates.gating import concede
from builds.bench.models import Snag
from builds.bench.readings.taking import take_reading
from builds.guides.circuit.stored import attach
from builds.guides.figures import band_for
from builds.guides.models import Check
from builds.review import findings_cache
from builds.review.models import CachedFinding
from builds.review.proposals import list_rows
from builds.review.queries import list_checks
from builds.review.recorded_labels import list_labels
from tests import factories

pytestmark = pytest.mark.django_db
READINGS = ("300", "310", "335", "250", "420", "OL")


def ready(revision):
    checks = list_checks(revision)
    for check in checks:
        check.stage.revision = revision
    attach(revision, checks)
    return checks


def afresh(revision):
    checks = ready(revision)
    labels = list_labels(revision, checks)
    rows = {c.pk: list(list_rows([c])) for c in checks}
    few = max(map(len, rows.values())) <= findings_cache.MOST_BUILDS
    effects = findings_cache.effects_on(checks, rows) if few else {}
    own = {
        c.pk: findings_cache.work_out(
            c,
            rows[c.pk],
            Snag.objects.filter(check_row=c).count(),
            labels[c.pk],
            findings_cache.first_deviations([c])[c.pk],
            effects.get(c.pk, ()),
        )
        for c in checks
    }
    return findings_cache.weigh_together(checks, own)


def programme(builds=4):
    revision = factories.make_revision(stages=1, checks=2)
    made = [factories.make_build(revision=revision) for _ in range(builds)]
    for check in factories.checks_of(revision=revision):
        for n, build in enumerate(made):
            take_reading(build, check, str(298 + n), by=build.builder)
    return revision, made


events = st.lists(
    st.tuples(
        st.sampled_from(("read", "slip", "concede", "snag", "gone", "look")),
        st.integers(0, 3),
        st.integers(0, 1),
        st.sampled_from(READINGS),
    ),
    max_size=8,
)


@pytest.mark.lengthy
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(events)
def test_what_is_kept_is_what_would_be_found_afresh(db, happenings):
    (revision, builds), gone = programme(), set()
    for what, b, c, typed in happenings:
        build, check = builds[b], factories.checks_of(revision=revision)[c]
        if (b, c) in gone:
            continue
        if what in ("read", "slip"):
            take_reading(build, check, typed, by=build.builder, is_slip=what == "slip")
        elif what == "concede":
            concede(build, check, by=None, reason="Seen.")
        elif what == "snag":
            Snag.objects.create(
                build=build, stage=check.stage, check_row=check, kind="reading", words="x", by=build.builder
            )
        elif what == "gone":
            build.statuses.filter(check_row=check).delete()  # as when a build's data are removed on request
            gone.add((b, c))
        else:
            findings_cache.meanings(ready(revision))
        assert findings_cache.meanings(ready(revision)) == afresh(revision)


def test_one_more_reading_works_out_one_check_and_looking_again_none(monkeypatch):
    revision, builds = programme()
    findings_cache.meanings(ready(revision))
    worked, real = [], findings_cache.work_out
    monkeypatch.setattr(findings_cache, "work_out", lambda check, *rest: worked.append(check.pk) or real(check, *rest))
    findings_cache.meanings(ready(revision))
    assert worked == []
    check = factories.checks_of(revision=revision)[1]
    take_reading(builds[0], check, "420", by=builds[0].builder)
    findings_cache.meanings(ready(revision))
    assert worked == [check.pk]


def read_too_high(build, checks):
    """300 V and 3 % of it, on all checks but one."""
    for check in checks:
        take_reading(build, check, "309", by=build.builder)


@pytest.mark.lengthy
def test_a_build_that_reads_all_checks_too_high_changes_what_was_kept_of_them_all(monkeypatch):
    """Nine checks are enough to tell; past so many builds nothing is said of single ones, whatever was kept."""
    revision = factories.make_revision(stages=1, checks=9)
    made, checks = [factories.make_build(revision=revision) for _ in range(4)], factories.checks_of(revision=revision)
    for build in made[:3]:
        for n, check in enumerate(checks):
            take_reading(build, check, str(299 + n % 3), by=build.builder)
    read_too_high(made[3], checks[:-1])
    meanings = findings_cache.meanings(ready(revision))
    assert meanings == afresh(revision)
    effects = dict(CachedFinding.objects.get(check_row=checks[0]).finding["effects"])
    high = effects.pop(made[3].pk)
    assert 0.015 < high <= 0.03 and all(abs(ratio) < 0.01 for ratio in effects.values())
    for check in checks[:-1]:
        take_reading(made[3], check, "300", by=made[3].builder)
    assert findings_cache.meanings(ready(revision)) == afresh(revision)
    after = dict(CachedFinding.objects.get(check_row=checks[0]).finding["effects"])
    assert abs(after.get(made[3].pk, 0.0)) < 0.005
    read_too_high(made[3], checks[:-1])
    findings_cache.meanings(ready(revision))
    monkeypatch.setattr(findings_cache, "MOST_BUILDS", 3)
    take_reading(made[0], checks[0], "300", by=made[0].builder)
    assert findings_cache.meanings(ready(revision)) == afresh(revision)


def test_another_edition_of_the_statistics_keeps_nothing_of_the_one_before(monkeypatch):
    revision, _ = programme()
    findings_cache.meanings(ready(revision))
    before = set(CachedFinding.objects.values_list("token", flat=True))
    monkeypatch.setattr(findings_cache, "EDITION", -1)
    findings_cache.meanings(ready(revision))
    assert (
        before.isdisjoint(CachedFinding.objects.values_list("token", flat=True)) and CachedFinding.objects.count() == 2
    )


def test_what_was_tampered_with_under_its_own_token_is_a_fault_of_the_token_and_not_of_the_reader():
    """The control of the property above: a kept row is really read."""
    revision, _ = programme()
    meaning = findings_cache.meanings(ready(revision))
    row = CachedFinding.objects.first()
    row.finding["shift"] = 7.5
    row.save()
    assert findings_cache.meanings(ready(revision))[row.check_row_id].finding.shift == 7.5
    assert meaning[row.check_row_id].finding.shift != 7.5


def test_the_bands_of_a_draft_ask_for_its_guide_once_and_are_those_of_each_check_alone(django_assert_num_queries):
    """Where the designer gives no stop limit the parts do, and they are of the guide as it is now."""
    part = {
        "ref": "C1",
        "kind": "electrolytic",
        "value": "47u",
        "detail": {"joins": ["ht", "chassis"], "volts": "450 V"},
    }
    revision = factories.make_revision(issued=False, parts=(part,))
    Check.objects.filter(stage__revision=revision).update(stop_above="")
    checks = ready(revision)
    with django_assert_num_queries(0):
        bands = [band_for(check) for check in checks]
    assert bands == [band_for(Check.objects.get(pk=check.pk)) for check in checks]
    assert {band.stop_above for band in bands} == {None, 450.0}
