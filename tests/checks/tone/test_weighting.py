"""A-weighting against IEC 61672-1:2013, table 3 (exact frequencies), far inside class 1's limits."""

import numpy as np
import pytest

from checks.tone.weighting import a_weighting_power
from tests.references.reader import named, row, rows


def a_weighting(hertz):
    """dB re 1 kHz."""
    return 10 * np.log10(a_weighting_power(hertz))


def test_the_table_of_iec_61672_is_met_to_its_last_digit():
    r = row("AW-TAB")
    exact = [1000 * 10 ** (n / 10) for n in range(-20, 14)]
    assert len(exact) == len(r["expected"])
    assert np.abs(a_weighting(exact) - r["expected"]).max() <= r["abs_tol"] + 1e-9


@pytest.mark.parametrize("r", [r for r in rows("AW-") if "f_Hz" in r["inputs"]], ids=named)
def test_single_frequencies(r):
    assert float(a_weighting(r["inputs"]["f_Hz"])) == pytest.approx(r["expected"], abs=r["abs_tol"])


def test_direct_current_weighs_nothing():
    assert a_weighting_power(0.0) == 0.0
