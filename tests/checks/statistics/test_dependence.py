"""What a reading goes with, against reference values, the reference library, and simulated programmes with nothing in
them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from checks.errors import ChecksError
from checks.statistics.dependence import control_false_discoveries, dependence, trend

NORMAL, BLOCKED, DUST = (2.9, 3.0, 2.5, 2.6, 3.2), (3.8, 2.7, 4.0, 2.4), (2.8, 3.4, 3.7, 2.2, 2.0)
SILICON = {
    "1": (196.3052, 196.1240, 196.1890, 196.2569, 196.3403),
    "2": (196.3042, 196.3825, 196.1669, 196.3257, 196.0422),
    "3": (196.1303, 196.2005, 196.2889, 196.0343, 196.1811),
    "4": (196.2795, 196.1748, 196.1494, 196.1485, 195.9885),
    "5": (196.2119, 196.1051, 196.1850, 196.0052, 196.2090),
}


def grouped(**groups):
    return [v for values in groups.values() for v in values], [name for name, values in groups.items() for _ in values]


def test_f_of_certified_data():
    """NIST StRD, analysis of variance, SiRstv (silicon resistivity): F 1.18046237440255 certified, R squared
    0.190999039051129."""
    outcome = dependence(*grouped(**SILICON))
    assert outcome.f == pytest.approx(1.18046237440255, rel=1e-9) and outcome.explained == pytest.approx(
        0.190999039051129, rel=1e-9
    )


def test_the_ranks_p_of_a_textbook_example():
    """Hollander and Wolfe, Nonparametric Statistical Methods (1973), table 6.1: H 0.7714, p 0.68 (from memory)."""
    assert dependence(*grouped(a=NORMAL, b=BLOCKED, c=DUST)).rank_p == pytest.approx(0.68, abs=5e-4)


@pytest.mark.lengthy
@given(st.lists(st.tuples(st.integers(0, 9), st.sampled_from("abc")), min_size=4, max_size=40))
def test_f_and_ranks_are_the_reference_librarys_with_and_without_ties(rows):
    values, names = [float(v) for v, _ in rows], [g for _, g in rows]
    large = [[v for v, g in zip(values, names, strict=True) if g == name] for name in sorted(set(names))]
    large = [group for group in large if len(group) >= 2]
    outcome = dependence(values, names)
    if len(large) < 2 or np.ptp(np.concatenate(large)) == 0:
        assert outcome is None
        return
    assert outcome.rank_p == pytest.approx(stats.kruskal(*large).pvalue, abs=1e-9)
    if any(np.ptp(group) for group in large):
        assert (outcome.f, outcome.p) == pytest.approx(tuple(stats.f_oneway(*large)), rel=1e-6, abs=1e-9)
    else:
        assert outcome.p == 0 and outcome.explained == 1


def test_one_wild_reading_is_not_a_groups_doing():
    values = [1.0, 1.1, 0.9, 1.05, 1.0, 0.95, 1.1, 0.9, 1.0, 50.0]
    outcome = dependence(values, ["x"] * 8 + ["y"] * 2)
    assert not outcome.ranks_agree


def test_a_dependence_names_its_lowest_and_highest_group():
    outcome = dependence(*grouped(old=(1.0, 1.1, 1.2), new=(2.0, 2.1, 2.2), odd=(9.0,)))
    assert (outcome.lowest.name, outcome.highest.name, outcome.highest.n) == ("old", "new", 3)
    assert {g.name for g in outcome.groups} == {"old", "new", "odd"} and {g.name for g in outcome.large} == {
        "old",
        "new",
    }
    assert outcome.explained > 0.5


def test_a_drift_with_the_serial_number_is_seen_and_noise_is_not():
    assert trend([1, 2, 3, 4, 5, 6, 7, 8]).p < 0.001 and trend([1, 3, 5, 7, 9, 11, 13, 90]).slope == 2
    assert trend([3, 1, 2, 3, 1, 2, 3, 1]).p > 0.1


def test_nothing_is_said_of_one_group_or_of_values_all_alike():
    assert dependence([1, 2, 3], ["x", "x", ""]) is None
    assert dependence([1, 1, 1, 1], ["x", "x", "y", "y"]) is None
    assert trend([1, 2]) is None and trend([2, 2, 2, 2, 2, 2]) is None


def test_a_value_without_its_group_is_refused():
    with pytest.raises(ChecksError, match="group"):
        dependence([1, 2], ["x"])
    with pytest.raises(ChecksError, match="between 0 and 1"):
        control_false_discoveries([0.2, 1.2])


def test_the_false_discovery_rate_of_the_paper():
    """Benjamini and Hochberg 1995, the fifteen p of Neuhaus et al.: four may be said at 0.05 (from memory)."""
    ps = (
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.3240,
        0.4262,
        0.5719,
        0.6528,
        0.7590,
        1.0,
    )
    assert [said for _, said in control_false_discoveries(ps)] == [True] * 4 + [False] * 11
    assert control_false_discoveries(ps)[3][0] == pytest.approx(0.0095 * 15 / 4)
    assert control_false_discoveries([]) == []


@pytest.mark.slow
def test_clean_programmes_of_many_checks_say_next_to_nothing():
    """Twelve builds, 120 checks, a batch and a make that mean nothing: few programmes say anything at all."""
    rng, saying = np.random.default_rng(3), 0
    batch, make = ["a"] * 4 + ["b"] * 8, ["x", "y", "z"] * 4
    for _ in range(60):
        table = rng.normal(size=(120, 12))
        ps = [result.p for row in table for result in (dependence(row, batch), dependence(row, make), trend(row))]
        saying += any(said for _, said in control_false_discoveries(ps))
    assert saying <= 6  # 3 expected of 60 at the stated rate; the ranks' say is not even used here


@pytest.mark.lengthy
def test_a_batch_that_shifts_four_checks_is_said_aloud():
    """Four of twelve builds, of 60 checks four shifted by four standard deviations, beside a make that means
    nothing."""
    rng, right, wrong = np.random.default_rng(4), 0, 0
    batch, make = ["a"] * 4 + ["b"] * 8, ["x", "y", "z"] * 4
    for _ in range(40):
        table = rng.normal(size=(60, 12))
        table[:4, :4] += 4
        looked = [
            (n, of, dependence(row, groups))
            for n, row in enumerate(table)
            for of, groups in (("batch", batch), ("make", make))
        ]
        said = control_false_discoveries([d.p for _, _, d in looked])
        aloud = [(n, of) for (n, of, d), (_, yes) in zip(looked, said, strict=True) if yes and d.ranks_agree]
        right += sum(of == "batch" and n < 4 for n, of in aloud)
        wrong += sum(of == "make" or n >= 4 for n, of in aloud)
    assert right >= 0.9 * 160 and wrong <= 0.1 * right
