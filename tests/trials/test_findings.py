"""The runner of the findings hands the review what a programme holds, and counts what comes back."""

import numpy as np

from tests.trials import programmes as p
from tests.trials.findings import found_in, judged, tally


def programme(kind, deviations):
    known = p.Known("check-1", 284.0, 17.0, kind)
    return p.Programme((known,), ({},) * len(deviations), (tuple(deviations),))


def test_builds_that_all_read_a_band_off_are_a_figure_that_is_off():
    rng = np.random.default_rng(1)
    assert found_in(programme(p.FIGURE_OFF, [(1.6 + 0.2 * z,) for z in rng.standard_normal(12)]), 0) == "figure off"


def test_builds_that_read_as_the_guide_says_are_no_finding():
    rng = np.random.default_rng(1)
    good = programme(p.CLEAN, [(0.3 * z,) for z in rng.standard_normal(12)])
    assert found_in(good, 0) == "fits"
    assert tally([good, good]) == {(p.CLEAN, "fits"): 2}


def test_a_reading_is_in_band_up_to_its_ends():
    assert judged(1.0) == judged(-1.0) == "in band" and judged(1.01) == judged(-1.01) == "out of band"
