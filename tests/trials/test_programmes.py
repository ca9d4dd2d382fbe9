"""Drawn programmes: every kind is what it says, and the same number draws the same programme."""

import numpy as np
import pytest
from scipy import stats

from tests.trials import programmes as p


def many(kind: str, builds: int = 12, number: int = 60):
    """(programme, number of the check) for checks of one kind."""
    rng, result = np.random.default_rng(11), []
    while len(result) < number:
        one = p.draw_programme(rng, builds, share=0.0 if kind == p.CLEAN else 1.0)
        result += [(one, n) for n, known in enumerate(one.checks) if known.kind == kind]
    return result


def final(programme, check):
    return np.array([attempts[-1] for attempts in programme.deviations[check]])


def test_the_same_number_draws_the_same_programme_and_another_does_not():
    one, same, other = (p.draw_programme(np.random.default_rng(n), 5) for n in (1, 1, 2))
    assert one == same != other


@pytest.mark.lengthy
@pytest.mark.parametrize("builds", p.SIZES)
def test_a_programme_has_120_checks_and_at_most_a_fifth_or_so_to_find(builds):
    counts = [p.draw_programme(np.random.default_rng(n), builds).count() for n in range(20)]
    shares = [1 - c[p.CLEAN] / 120 for c in counts]
    assert all(sum(c.values()) == 120 for c in counts)
    assert max(shares) < 0.32 and min(shares) < 0.06


@pytest.mark.parametrize(("builds", "share"), [(1, 0.1), (5, -0.1), (5, 1.5)])
def test_a_programme_that_cannot_be_is_refused(builds, share):
    with pytest.raises(ValueError, match="no programme"):
        p.draw_programme(np.random.default_rng(1), builds, share=share)


def test_good_builds_spread_as_they_should_with_tails_heavier_than_normal():
    """Student's t of five degrees has an excess kurtosis of 6; thirty at a time show some of it."""
    rows = [final(one, n) for one, n in many(p.CLEAN, 30, 240)]
    spreads = [row.std(ddof=1) for row in rows]
    assert 0.2 < np.median(spreads) < 0.4
    assert abs(np.mean([row.mean() for row in rows])) < 0.05
    assert stats.kurtosis(np.concatenate([(row - row.mean()) / row.std() for row in rows])) > 0.5


def test_a_figure_that_is_off_is_off_for_all_builds():
    for one, n in many(p.FIGURE_OFF, 30):
        assert final(one, n).mean() == pytest.approx(one.checks[n].size, abs=0.45)


def test_a_band_too_tight_is_too_tight_for_good_builds():
    wide = [np.mean(np.abs(final(one, n)) > 1) for one, n in many(p.TOO_TIGHT, 30)]
    clean = [np.mean(np.abs(final(one, n)) > 1) for one, n in many(p.CLEAN, 30)]
    assert np.mean(wide) > 0.2 > 0.05 > np.mean(clean)


def test_a_part_batch_goes_with_its_label_and_with_no_other_build():
    for one, n in many(p.PART_BATCH, 30):
        known, row = one.checks[n], final(one, n)
        name, value = known.goes_with
        has = np.array([labels[name] == value for labels in one.labels])
        assert row[has].mean() - row[~has].mean() == pytest.approx(known.size, abs=0.8)


def test_few_builds_still_have_what_is_to_be_found():
    for one, n in many(p.PART_BATCH, 3):
        name, value = one.checks[n].goes_with
        assert 0 < sum(labels[name] == value for labels in one.labels) < 3
    for one, n in many(p.MISREAD, 3):
        assert any(abs(attempts[0]) > 1 and len(attempts) > 1 for attempts in one.deviations[n])


def test_one_bad_build_is_one():
    for one, n in many(p.BAD_BUILD, 8):
        bad = one.checks[n].builds[0]
        rest = np.delete(final(one, n), bad)
        assert np.sign(final(one, n)[bad] - np.median(rest)) == np.sign(one.checks[n].size)
        assert len(one.checks[n].builds) == 1


def test_a_step_misread_is_mended_by_reading_again():
    first, last = [], []
    for one, n in many(p.MISREAD):
        first += [abs(a[0]) > 1 for a in one.deviations[n]]
        last += [abs(a[-1]) > 1 for a in one.deviations[n]]
    assert np.mean(first) > 0.3 and np.mean(last) < 0.06


def test_attempts_as_figures_are_the_guides_figure_and_half_bands():
    one = p.draw_programme(np.random.default_rng(3), 3)
    low, high = one.checks[0].band
    z = one.deviations[0][0][-1]
    assert one.values(0, 0)[-1] == pytest.approx((low + high) / 2 + z * (high - low) / 2)
