"""The dashboard's numbers, its matrix and strip plot."""
import pytest

from builds.review import queries
from builds.review.matrix import matrix_html
from builds.review.medians import medians
from builds.review.progress import stage_progress
from builds.review.strip import strip
from checks.band import Band
from tests import factories as make


@pytest.fixture
def revision(db):
    return make.make_revision()


def test_checks_are_ranked_by_the_share_that_missed_first_time(revision):
    checks = make.checks_of(revision=revision)
    builds = [make.make_build(revision=revision) for _ in range(4)]
    make.add_readings(rows=[(b, checks[0], [(300.0, "in band")]) for b in builds]
                      + [(b, checks[1], [(350.0, "out of band"), (300.0, "in band")]) for b in builds[:3]]
                      + [(builds[3], checks[1], [(300.0, "in band")])])
    ranked = queries.ranked_checks(revision, checks)
    assert [(r.check, r.missed.successes, r.missed.n, r.retakes, r.still_out) for r in ranked] == [
        (checks[1], 3, 4, 3, 0), (checks[0], 0, 4, 0, 0)]
    # 3 of 4 at 95 %: Wilson's formula worked by hand with z = 1.959964 gives 0.3006 to 0.9544.
    assert (ranked[0].missed.low, ranked[0].missed.high) == pytest.approx((0.3006, 0.9544), abs=2e-4)


def test_stage_yield_counts_first_attempts_of_its_own_checks(revision):
    checks = make.checks_of(revision=revision)
    build = make.make_build(revision=revision)
    make.add_readings(rows=[(build, checks[0], [(300.0, "in band")]),
                            (build, checks[1], [(350.0, "out of band"), (300.0, "in band")])])
    first, second = queries.stage_table(revision)
    assert (first.first_pass.successes, first.first_pass.n, first.retakes) == (1, 2, 1)
    assert second.first_pass.n == 0


def test_stages_come_in_the_guides_order_whatever_order_they_were_written_in(db):
    revision = make.make_revision(issued=False)
    first, second = revision.stages.order_by("position")
    second.position, first.position = 1, 2
    first.save()
    second.save()
    assert [row.key for row in queries.stage_table(revision)] == [second.key, first.key]


def test_builds_are_sorted_by_progress_and_troubles_before_they_are_paged(revision):
    checks = make.checks_of(revision=revision)
    a, b, c = [make.make_build(revision=revision, serial=s) for s in "ABC"]
    make.add_readings(rows=[(b, checks[0], [(300.0, "in band")]), (b, checks[1], [(300.0, "in band")]),
                            (c, checks[0], [(350.0, "out of band")])])
    orders = {s: [x.serial for x in queries.builds_page(revision, s, 0, 3)[0]] for s in ("serial", "progress", "troubles")}
    assert orders == {"serial": ["A", "B", "C"], "progress": ["B", "A", "C"], "troubles": ["C", "A", "B"]}
    page, total = queries.builds_page(revision, "progress", 2, 3)
    assert ([x.serial for x in page], total) == (["C"], 3) and queries.builds_page(revision, "serial", 9, 3) == ([], 3)


def test_the_matrix_is_a_table_with_scopes_words_and_nothing_unescaped(revision):
    checks = make.checks_of(revision=revision)
    checks[0].title = checks[0].stage.title = "<b>&"
    build = make.make_build(revision=revision, serial="<i>")
    html = matrix_html([build], checks, {(build.pk, checks[1].pk): ("out of band", -2.34, 2, "switch off")}, "kit", "A")
    assert "<b>" not in html and "<i>" not in html
    assert html.count('scope="col"') == len(checks) + 1 and html.count('scope="row"') == 1
    assert "out of band, first switch off, 2 attempts" in html and "-2.3" in html and "✗" in html


def test_an_outcome_nobody_knows_is_refused(revision):
    check, build = make.checks_of(revision=revision)[0], make.make_build(revision=revision)
    with pytest.raises(KeyError):
        matrix_html([build], [check], {(build.pk, check.pk): ("fine", 0.0, 1, "fine")}, "kit", "A")


def test_the_median_is_of_each_builds_latest_reading(revision):
    check = make.checks_of(revision=revision)[0]
    make.add_readings(rows=[(make.make_build(revision=revision), check, [(900.0, "switch off"), (v, "in band")])
                            for v in (290.0, 300.0, 330.0)])
    assert medians(revision) == {check.pk: 300.0}


def test_the_strip_plot_keeps_order_tells_attempts_apart_and_stacks_what_meets():
    drawn = strip(Band(270.0, 330.0, 300.0), [(300.0, True, "a"), (300.0, False, "b"), (350.0, True, "c")])
    a, b, c = drawn.dots
    assert a.x == b.x < c.x and a.y != b.y and [d.last for d in drawn.dots] == [True, False, True]
    assert drawn.scale.low_x < a.x < drawn.scale.high_x < c.x


def test_stage_progress_counts_passed_checks_and_not_optional_ones(db, django_assert_num_queries):
    revision = make.make_revision(issued=False)  # an issued one is frozen
    checks = make.checks_of(revision=revision)
    checks[5].optional = True
    checks[5].save()
    build, idle = make.make_build(revision=revision), make.make_build(revision=revision)
    make.add_readings(rows=[(build, checks[0], [(300.0, "in band")]), (build, checks[1], [(350.0, "out of band")]),
                            (build, checks[5], [(300.0, "in band")])])
    with django_assert_num_queries(1):
        stages, rows = stage_progress([build, idle], checks)
    assert [s.title for s in stages] == ["Stage 1", "Stage 2"]
    assert rows == [(build, [(1, 3), (0, 2)]), (idle, [(0, 3), (0, 2)])]
