"""Correlations kept: what is read back is what would be examined afresh, whatever was noted of the builds since."""

import pytest

from builds.bench.models import FittedValve
from builds.review.correlations import Circumstances, checks_with_same_cause, examine, report_significant
from builds.review.correlations_cache import list_correlations
from builds.review.models import CachedCorrelations, PartBatch
from builds.review.queries import list_checks
from checks.statistics.dependence import Trend
from tests import factories

pytestmark = pytest.mark.django_db
RISING = (270, 280, 290, 300, 310, 320, 330, 340)


def afresh(revision):
    result = examine(list_checks(revision), Circumstances(revision))
    rows = report_significant([(check, *row) for check in list_checks(revision) for row in result[check.pk]])
    return sorted((row for row in rows if row.is_reported), key=lambda row: row.q)


@pytest.fixture
def programme():
    revision = factories.make_revision(stages=1, checks=2)
    builds = [factories.make_build(revision=revision, serial=f"{n:03d}") for n in range(len(RISING))]
    first, second = factories.checks_of(revision=revision)
    factories.add_readings(rows=[(b, first, [(v, "in band")]) for b, v in zip(builds, RISING, strict=True)])
    factories.add_readings(rows=[(b, second, [(300 + n % 2, "in band")]) for n, b in enumerate(builds)])
    return revision, builds


def test_a_correlation_read_back_is_the_one_that_was_examined(programme):
    revision, _builds = programme
    first, again = list_correlations(revision), list_correlations(revision)
    assert first == again == afresh(revision)
    assert isinstance(again[0].dependence, Trend) and again[0].dependence.slope == pytest.approx(10)


def a_batch(revision, builds):
    batch = PartBatch.objects.create(revision=revision, refs=["R1"], name="June")
    batch.builds.set(builds[:4])


def another_meter(_revision, builds):
    for build in builds[:4]:
        meter = factories.make_meter(owner=build.builder, preset="basic")
        type(build).objects.filter(pk=build.pk).update(meter=meter)


def valves(_revision, builds):
    for n, build in enumerate(builds):
        FittedValve.objects.create(build=build, ref="V1", make="North" if n < 4 else "South")


def mains(_revision, builds):
    for build in builds[:4]:
        type(build).objects.filter(pk=build.pk).update(mains_volts=240)


def a_reading(_revision, builds):
    factories.add_reading(build=builds[0], check=factories.checks_of(revision=builds[0].revision)[0], value=335)


@pytest.mark.parametrize("happens", [a_batch, another_meter, valves, mains, a_reading])
def test_what_is_noted_of_builds_since_is_examined(programme, happens):
    revision, builds = programme
    before = list_correlations(revision)
    happens(revision, builds)
    after = list_correlations(revision)
    assert after == afresh(revision) and after != before


def test_a_part_batch_that_fits_perfectly_is_kept_though_its_f_has_no_end(programme):
    """Every reading of a batch alike: F is infinite, which JSON can't write."""
    revision, builds = programme
    second = factories.checks_of(revision=revision)[1]
    batch = PartBatch.objects.create(revision=revision, refs=["R2"], name="July")
    batch.builds.set(builds[::2])
    first, again = list_correlations(revision), list_correlations(revision)
    assert first == again
    assert any(row.check == second and row.circumstance.refs == ("R2",) for row in again)


def test_one_reading_costs_one_check(programme):
    revision, builds = programme
    list_correlations(revision)
    before = dict(CachedCorrelations.objects.values_list("check_row_id", "token"))
    a_reading(revision, builds)
    list_correlations(revision)
    changed = [c for c, token in CachedCorrelations.objects.values_list("check_row_id", "token") if before[c] != token]
    assert changed == [factories.checks_of(revision=revision)[0].pk]


def test_checks_that_one_batch_splits_name_each_other_and_no_third():
    """Two checks read high in the same four of eight builds; a third scatters by itself."""
    revision = factories.make_revision(stages=1, checks=3)
    first, second, third = factories.checks_of(revision=revision)
    builds = [factories.make_build(revision=revision, serial=f"{n:03d}") for n in range(8)]
    high = [n % 4 in (0, 3) for n in range(len(builds))]
    for check, step in ((first, 30), (second, 25), (third, 0)):
        values = [300 + n % 3 + step * is_high for n, is_high in enumerate(high)]
        factories.add_readings(rows=[(b, check, [(v, "in band")]) for b, v in zip(builds, values, strict=True)])
    batch = PartBatch.objects.create(revision=revision, name="week 22", refs=["R8"])
    batch.builds.set([b for b, is_high in zip(builds, high, strict=True) if is_high])
    assert checks_with_same_cause(list_correlations(revision)) == {first.pk: [second], second.pk: [first]}
    batch.builds.set(builds[:1])
    assert checks_with_same_cause(list_correlations(revision)) == {}
