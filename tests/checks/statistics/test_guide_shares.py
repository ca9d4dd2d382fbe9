"""What the checks of a guide say of each other's kinds."""

import numpy as np
import pytest

from checks.statistics import guide_model
from checks.statistics.guide_model import GOOD, ROWS, TIGHT

SINGLE, FITS = ROWS.index("single builds"), ROWS.index("fits")


def shares(single: int, fits: int) -> np.ndarray:
    """Shares that checks surely of two kinds give to one check more, which is surely good itself."""
    of_rows = np.eye(len(ROWS))[[SINGLE] * single + [FITS] * fits + [FITS]]
    return np.exp(guide_model._shares(of_rows))[-1]


def test_much_trouble_of_one_kind_makes_the_other_kinds_likelier_too_but_less():
    often, never = shares(24, 96), shares(0, 120)
    assert often[TIGHT] > 1.5 * never[TIGHT] and often[SINGLE] > 5 * never[SINGLE]
    assert often[SINGLE] > 4 * often[TIGHT] and often[GOOD].sum() == pytest.approx(0.8, abs=0.03)


def test_shares_are_whole_and_those_of_a_check_alone_are_the_usual_ones():
    assert shares(7, 30).sum() == pytest.approx(1) and shares(0, 0) == pytest.approx(guide_model.USUAL)
    assert guide_model.START.sum() == pytest.approx(1) == 2 * guide_model.START[GOOD].sum()


def test_no_check_is_its_own_evidence():
    of_rows = np.eye(len(ROWS))[[FITS] * 20 + [SINGLE]]
    logs = guide_model._shares(of_rows)
    assert logs[-1, SINGLE] < logs[0, SINGLE] - 0.2
