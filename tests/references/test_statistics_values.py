"""Shares and summaries against Newcombe 1998, NIST's reference data sets and handbook."""

import pytest

from checks.statistics.dependence import dependence
from checks.statistics.difference import compare
from checks.statistics.outliers import esd, grubbs_critical, grubbs_statistic
from checks.statistics.proportions import wilson
from checks.statistics.summary import MAD_TO_SD, summarise
from checks.statistics.tolerance import factor
from tests.references.reader import named, row, rows


@pytest.mark.parametrize("r", rows("PR-N"), ids=named)
def test_wilson_interval(r):
    i = r["inputs"]
    share = wilson(i["x"], i["n"], i["conf"])
    assert [share.low, share.high] == pytest.approx(r["expected"]["wilson"], abs=r["abs_tol"])


@pytest.mark.parametrize("name", ["STRD-numacc1", "STRD-mavro", "STRD-lottery"])
def test_certified_means_and_deviations(name):
    r = row(name)
    summary = summarise(r["inputs"]["data"])
    assert summary.mean == pytest.approx(r["expected"]["mean"], rel=1e-12)
    assert summary.sd == pytest.approx(r["expected"]["sd"], rel=1e-8)


@pytest.mark.parametrize("name", ["MAD-1", "MAD-3"])
def test_median_and_spread(name):
    r = row(name)
    summary = summarise(r["inputs"]["data"])
    assert summary.median == pytest.approx(r["expected"]["median"])
    assert summary.spread == pytest.approx(r["expected"]["MAD"] * MAD_TO_SD)


def test_interval_of_a_mean():
    r = row("NOM-1")
    summary = summarise(r["inputs"]["data"])
    assert [summary.mean_low, summary.mean_high] == pytest.approx(r["expected"]["ci95"], rel=1e-6)


@pytest.mark.parametrize("r", rows("TIX-"), ids=named)
def test_exact_two_sided_tolerance_factors(r):
    i = r["inputs"]
    assert factor(i["n"], i["n"] - 1, i["content"], i["confidence"]) == pytest.approx(r["expected"]["exact"], rel=2e-4)


def test_a_tolerance_factor_of_the_handbook():
    r = row("TI-7")
    i = r["inputs"]
    assert factor(i["n"], i["n"] - 1, i["content"], i["confidence"]) == pytest.approx(r["expected"], rel=2e-4)


def test_grubbs_statistic_and_critical_value_of_the_handbook():
    data = row("GR-1")["inputs"]["data"]
    assert grubbs_statistic(data) == pytest.approx(row("GR-1")["expected"]["G"])
    assert grubbs_critical(8, two_sided=False) == pytest.approx(row("GR-2")["expected"])


@pytest.mark.parametrize("r", rows("GRC-"), ids=named)
def test_grubbs_critical_values(r):
    n = r["inputs"]["n"]
    assert grubbs_critical(n, two_sided=False) == pytest.approx(r["expected"]["one_sided"], rel=1e-4)
    assert grubbs_critical(n) == pytest.approx(r["expected"]["two_sided"], rel=1e-4)


def test_rosners_data_have_three_outliers():
    """Rosner, Technometrics 25:165 (1983), as in the NIST/SEMATECH handbook, 1.3.5.17.3."""
    r = row("ESD")
    outliers = esd(r["inputs"]["data"], most=10)
    assert list(outliers.statistics) == pytest.approx(r["expected"]["R"], abs=2e-4)
    assert list(outliers.critical) == pytest.approx(r["expected"]["lambda"], abs=2e-5)
    assert len(outliers.positions) == 3


@pytest.mark.parametrize("r", rows("FE-"), ids=named)
def test_fishers_exact_p(r):
    (a, b), (c, d) = r["inputs"]["table"]
    expected = r["expected"]["p_two_sided"] if isinstance(r["expected"], dict) else r["expected"]
    assert compare(c, c + d, a, a + b).p == pytest.approx(expected)


def test_a_difference_of_shares_of_newcombes_table():
    """R. G. Newcombe, Statist. Med. 17:873 (1998), table II, 56/70 and 48/80, method 10 (from memory): 0.0524 to
    0.3339."""
    comparison = compare(48, 80, 56, 70)
    assert (comparison.low, comparison.high) == pytest.approx((0.0524, 0.3339), abs=5e-4)


def test_analysis_of_variance_of_the_handbooks_gears():
    r, data = row("ANOVA"), row("LEV")["inputs"]
    groups = next(v for v in data.values() if isinstance(v, list) and isinstance(v[0], list))
    outcome = dependence([v for g in groups for v in g], [f"batch {n}" for n, g in enumerate(groups) for _ in g])
    assert (outcome.f, outcome.p) == pytest.approx((r["expected"]["F"], r["expected"]["p"]), rel=r["rel_tol"])
