"""The dashboard's numbers, its matrix and strip plot."""

import pytest

from builds.review import queries
from builds.review.matrix import format_deviation, matrix_html, stages_off
from builds.review.matrix_columns import list_columns
from builds.review.medians import medians
from builds.review.progress import stage_progress
from builds.review.read_counts import read_counts
from builds.review.strip import strip
from checks.band import Band
from tests import factories as make


@pytest.fixture
def revision(db):
    return make.make_revision()


def test_checks_are_ranked_by_the_share_that_missed_first_time(revision):
    checks = make.checks_of(revision=revision)
    builds = [make.make_build(revision=revision) for _ in range(4)]
    make.add_readings(
        rows=[(b, checks[0], [(300.0, "in band")]) for b in builds]
        + [(b, checks[1], [(350.0, "out of band"), (300.0, "in band")]) for b in builds[:3]]
        + [(builds[3], checks[1], [(300.0, "in band")])]
    )
    ranked = queries.ranked_checks(checks, read_counts(checks))
    assert [(r.check, r.missed.successes, r.missed.n, r.retakes, r.not_passed) for r in ranked] == [
        (checks[1], 3, 4, 3, 0),
        (checks[0], 0, 4, 0, 0),
    ]
    # 3 of 4 at 95 %: Wilson's formula worked by hand with z = 1.959964 gives 0.3006 to 0.9544.
    assert (ranked[0].missed.low, ranked[0].missed.high) == pytest.approx((0.3006, 0.9544), abs=2e-4)


def test_stage_yield_counts_first_attempts_of_its_own_checks(revision):
    checks = make.checks_of(revision=revision)
    build = make.make_build(revision=revision)
    make.add_readings(
        rows=[
            (build, checks[0], [(300.0, "in band")]),
            (build, checks[1], [(350.0, "out of band"), (300.0, "in band")]),
        ]
    )
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


@pytest.mark.lengthy
def test_builds_are_sorted_by_progress_and_troubles_before_they_are_paged(revision):
    checks = make.checks_of(revision=revision)
    a, b, c = [make.make_build(revision=revision, serial=s) for s in "ABC"]
    make.add_readings(
        rows=[
            (b, checks[0], [(300.0, "in band")]),
            (b, checks[1], [(300.0, "in band")]),
            (c, checks[0], [(350.0, "out of band")]),
        ]
    )
    orders = {
        s: [x.serial for x in queries.builds_page(revision, s, 0, 3)[0]] for s in ("serial", "progress", "troubles")
    }
    assert orders == {"serial": ["A", "B", "C"], "progress": ["B", "A", "C"], "troubles": ["C", "A", "B"]}
    for start in (2, 8):  # the last page, and past it
        page, total = queries.builds_page(revision, "progress", start, 2)
        assert ([x.serial for x in page], total) == (["C"], 3)


def test_the_matrix_is_a_table_with_scopes_words_and_nothing_unescaped(revision):
    checks = make.checks_of(revision=revision)
    checks[0].title = checks[0].stage.title = "<b>&"
    build = make.make_build(revision=revision, serial="<i>")
    html = matrix_html([build], checks, {(build.pk, checks[1].pk): ("out of band", -2.34, 2, "switch off")}, "kit", "A")
    assert "<b>" not in html and "<i>" not in html
    assert html.count('scope="col"') == len(checks) + 1 and html.count('scope="row"') == 1
    assert "out of band, at first switch off, 2 attempts" in html and "−2.3" in html and "✗" in html


def test_a_cell_in_band_at_first_is_a_bare_tick_and_every_other_leads_to_its_readings(revision):
    checks, build = make.checks_of(revision=revision), make.make_build(revision=revision)
    known = {
        (build.pk, checks[0].pk): ("in band", 0.24, 1, "in band"),
        (build.pk, checks[1].pk): ("in band", 0.5, 2, "out of band"),
        (build.pk, checks[2].pk): ("out of band", 12.4, 1, "out of band"),
    }
    html, every = (matrix_html([build], checks, known, "kit", "A", figures=figures) for figures in (False, True))
    assert [f"#check-{c.pk}" in html for c in checks[:3]] == [False, True, True]
    assert [f"#check-{c.pk}" in every for c in checks[:3]] == [True, True, True]
    assert (
        (html.count("cell-figure"), every.count("cell-figure")) == (1, 3)
        and "at first out of band" in html
        and "+12<" in html
    )


def test_checks_that_no_build_missed_share_a_column_and_one_that_was_missed_never_does(revision):
    checks, build = make.checks_of(revision=revision), make.make_build(revision=revision)
    stage = [check for check in checks if check.stage_id == checks[0].stage_id]
    known = {
        (build.pk, stage[0].pk): ("in band", 0.5, 2, "out of band"),
        (build.pk, stage[1].pk): ("in band", 0.1, 1, "in band"),
    }
    columns = list_columns(stage, known, fold=True)
    assert [c.check for c in columns] == [stage[0], None] and columns[1].checks == tuple(stage[1:])
    html = matrix_html([build], stage, known, "kit", "A", fold=True)
    assert f">1/{len(stage) - 1}<" in html and html.count("<td") == 3  # the corner, the check by itself, the others
    assert f"#check-{stage[0].pk}" in html and f"?stage={stage[0].stage.key}&amp;columns=all" in html


@pytest.mark.parametrize("outcome", ["too close to call", "out of band", "switch off"])
def test_a_column_of_several_checks_hides_no_trouble(revision, outcome):
    checks, build = make.checks_of(revision=revision), make.make_build(revision=revision)
    known = {(build.pk, c.pk): ("in band", 0.0, 1, "in band") for c in checks}
    known[build.pk, checks[-1].pk] = (outcome, 3.0, 1, outcome)
    folded = [check for column in list_columns(checks, known, fold=True) if not column.check for check in column.checks]
    assert checks[-1] not in folded and len(folded) > 0
    assert [c.check for c in list_columns(checks, known, fold=False)] == list(checks)


@pytest.mark.parametrize(
    ("deviation", "text"), [(-2.34, "−2.3"), (0.04, "0.0"), (-0.04, "0.0"), (9.96, "+10"), (-31.4, "−31")]
)
def test_a_deviation_has_a_true_minus_and_nothing_has_no_sign(deviation, text):
    assert format_deviation(deviation) == text


def test_the_way_into_the_matrix_counts_what_is_off_now_in_each_stage_shown(revision):
    checks = make.checks_of(revision=revision)
    known = {
        (1, checks[0].pk): ("out of band", 2.0, 1, "out of band"),
        (2, checks[0].pk): ("in band", 0.0, 2, "switch off"),
        (1, checks[-1].pk): ("too close to call", 0.9, 1, "too close to call"),
    }
    assert [(stage.pk, n) for stage, n in stages_off(checks, known)] == [
        (checks[0].stage_id, 1),
        (checks[-1].stage_id, 1),
    ]
    assert stages_off(checks[:1], known) == [(checks[0].stage, 1)] and stages_off([], known) == []


def test_an_outcome_nobody_knows_is_refused(revision):
    check, build = make.checks_of(revision=revision)[0], make.make_build(revision=revision)
    with pytest.raises(KeyError):
        matrix_html([build], [check], {(build.pk, check.pk): ("fine", 0.0, 1, "fine")}, "kit", "A")


def test_the_median_is_of_each_builds_latest_reading(revision):
    check = make.checks_of(revision=revision)[0]
    make.add_readings(
        rows=[
            (make.make_build(revision=revision), check, [(900.0, "switch off"), (v, "in band")])
            for v in (290.0, 300.0, 330.0)
        ]
    )
    assert medians(revision) == {check.pk: 300.0}


def test_the_strip_plot_keeps_order_tells_attempts_apart_and_stacks_what_meets():
    drawn = strip(Band(270.0, 330.0, 300.0), [(300.0, True, "a"), (300.0, False, "b"), (350.0, True, "c")])
    a, b, c = drawn.needles
    assert a.x == b.x < c.x and b.y < a.top and [d.last for d in drawn.needles] == [True, False, True]
    assert drawn.low_x < a.x < drawn.high_x < c.x and drawn.band_x == drawn.low_x
    assert [far.value for far in drawn.far] == [350.0]


def test_the_outermost_last_readings_beyond_the_band_have_their_figures_and_none_lies_off_the_drawing():
    drawn = strip(
        Band(270.0, 330.0, 300.0, stop_above=400.0),
        [(9000.0, True, "a"), (360.0, True, "b"), (10.0, False, "c"), (268.0, True, "d")],
    )
    assert [(far.value, far.beyond) for far in drawn.far] == [(268.0, 0), (9000.0, 1)]
    low = strip(Band(270.0, 330.0, 300.0), [(-9000.0, True, "a"), (300.0, True, "b")])
    assert [(far.value, far.beyond) for far in low.far] == [(-9000.0, -1)]
    assert all(
        16 <= needle.x <= 544 and 0 < needle.top < needle.y < drawn.line < drawn.height for needle in drawn.needles
    )
    assert low.far[0].anchor == "start" and drawn.far[1].anchor == "end" and low.far[0].next is None
    several = strip(Band(270.0, 330.0, 300.0), [(v, True, "x") for v in (7.0, 20.0, 12.0, 265.0, 300.0)])
    assert [(far.value, far.next, far.more) for far in several.far] == [(7.0, 12.0, 1)]  # 265 V is on the drawing
    many = strip(Band(270.0, 330.0, 300.0), [(300.0, True, "x")] * 500)
    assert many.height < 320 and not many.far and strip(None, [(3.0, True, "x")]).low_x is None


def test_stage_progress_counts_passed_checks_and_not_optional_ones(db, django_assert_num_queries):
    revision = make.make_revision(issued=False)  # an issued one is frozen
    checks = make.checks_of(revision=revision)
    checks[5].optional = True
    checks[5].save()
    build, idle = make.make_build(revision=revision), make.make_build(revision=revision)
    make.add_readings(
        rows=[
            (build, checks[0], [(300.0, "in band")]),
            (build, checks[1], [(350.0, "out of band")]),
            (build, checks[5], [(300.0, "in band")]),
        ]
    )
    with django_assert_num_queries(1):
        stages, rows = stage_progress([build, idle], checks)
    assert [s.title for s in stages] == ["Stage 1", "Stage 2"]
    counted = [(b, [(p.passed, p.asked) for p in each]) for b, each in rows]
    assert counted == [(build, [(1, 3), (0, 2)]), (idle, [(0, 3), (0, 2)])]


@pytest.mark.parametrize(("off", "more"), [(3, 0), (4, 1), (7, 4)])
def test_a_builds_line_on_a_phone_names_three_readings_and_counts_the_rest(off, more, db):
    revision = make.make_revision(checks=8)
    checks = make.checks_of(revision=revision)
    build = make.make_build(revision=revision)
    known = {
        (build.pk, c.pk): (("out of band", 2.0, 1, "out of band") if n < off else ("in band", 0.0, 2, "in band"))
        for n, c in enumerate(checks)
    }
    html = matrix_html([build], checks, known, "kit", "A")
    assert len(checks) >= 8 and html.count(" later") == more
    assert html.count("in-list more") == bool(more) and (f"{more} more not in band" in html) == bool(more)
