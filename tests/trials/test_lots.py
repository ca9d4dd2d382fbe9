"""Programmes whose kits leave in lots hold what they say, and findings over them are as often right as they say."""

import numpy as np
import pytest

from tests.trials import lots


def test_what_is_drawn_is_what_is_said():
    programme = lots.draw(np.random.default_rng(3), 8, faulty=0.3)
    kinds = {kind for check in programme.checks for kind in check.true}
    assert kinds == {*lots.FAULTS, lots.FITS} and len(programme.checks) == 120
    off = [np.median(list(c.d.values())) for c in programme.checks if c.true == {lots.OFF}]
    assert len(off) >= 3 and min(abs(x) for x in off) > 0.4
    assert len(programme.labels["meter:"]) <= 8 == len(programme.labels["batch:R3"])
    with pytest.raises(ValueError, match="2 builds"):
        lots.draw(np.random.default_rng(3), 2)


def test_a_lot_that_all_builds_have_is_a_wrong_figure_and_one_build_may_be_either():
    rng = np.random.default_rng(4)
    every = {"batch:R3": dict.fromkeys(range(4), "lot 0"), "make:V2": dict.fromkeys(range(4), "crown")}
    assert lots._with_fault(rng, lots.BATCH, np.zeros(4), 0.2, every)[1] == {lots.OFF}
    one = {name: {**of, 3: "other"} for name, of in every.items()}
    assert lots._with_fault(rng, lots.BATCH, np.zeros(4), 0.2, one)[1] == {lots.BATCH, lots.SINGLES}


@pytest.mark.slow
@pytest.mark.parametrize("builds", [3, 5, 8])
def test_findings_are_right_as_often_as_they_say(builds):
    """No bin of 30 claims or more further than 0.1 from what it says, give or take the chance of so few."""
    rows = lots.tally(3, builds, 10)
    for said, true, claims in lots.reliability(rows):
        if claims >= 30:
            assert abs(said - true) <= 0.1 + np.sqrt(said * (1 - said) / claims), (said, true, claims)
    assert lots.false_of_120(rows) <= 0.6
