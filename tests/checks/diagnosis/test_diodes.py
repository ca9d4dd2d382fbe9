"""How little an ohmmeter may read through a good diode: less is no way through it, but a fault."""

import numpy as np
import pytest

from checks.diagnosis.diodes import LEAST_OHMS, MIDDLE, least_ohms_through
from checks.diagnosis.supply_faults import THROUGH_DECADES

BARRIER = MIDDLE * 10.0**-THROUGH_DECADES


def beside(*ohms):
    return 1 / sum(1 / x for x in ohms)


@pytest.mark.parametrize(
    ("in_the_way", "least"),
    [(8200.0, 8200.0 * 1.2), (100.0, 100.0 + LEAST_OHMS), (0.0, LEAST_OHMS)],
    ids=["a fifth of what is in the way", "no less than half a volt at a milliampere", "nothing in the way"],
)
def test_a_diode_counts_for_some_ohms_of_its_own(in_the_way, least):
    healthy = 26e3
    lowest = beside(healthy, in_the_way + BARRIER)
    assert least_ohms_through(np.array([healthy]), np.array([lowest]))[0] == pytest.approx(beside(healthy, least))
