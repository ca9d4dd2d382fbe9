"""Shares and summaries against Newcombe 1998, NIST's reference data sets and handbook."""
import pytest

from checks.pooled.proportions import wilson
from checks.pooled.summary import MAD_TO_SD, summarise
from tests.references.reader import named, row, rows


@pytest.mark.parametrize("r", rows("PR-N"), ids=named)
def test_wilson_interval(r):
    i = r["inputs"]
    found = wilson(i["x"], i["n"], i["conf"])
    assert [found.low, found.high] == pytest.approx(r["expected"]["wilson"], abs=r["abs_tol"])


@pytest.mark.parametrize("name", ["STRD-numacc1", "STRD-mavro", "STRD-lottery"])
def test_certified_means_and_deviations(name):
    r = row(name)
    found = summarise(r["inputs"]["data"])
    assert found.mean == pytest.approx(r["expected"]["mean"], rel=1e-12)
    assert found.sd == pytest.approx(r["expected"]["sd"], rel=1e-8)


@pytest.mark.parametrize("name", ["MAD-1", "MAD-3"])
def test_median_and_spread(name):
    r = row(name)
    found = summarise(r["inputs"]["data"])
    assert found.median == pytest.approx(r["expected"]["median"])
    assert found.spread == pytest.approx(r["expected"]["MAD"] * MAD_TO_SD)


def test_interval_of_a_mean():
    r = row("NOM-1")
    found = summarise(r["inputs"]["data"])
    assert [found.mean_low, found.mean_high] == pytest.approx(r["expected"]["ci95"], rel=1e-6)
