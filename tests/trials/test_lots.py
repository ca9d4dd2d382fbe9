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
    rng, read = np.random.default_rng(4), np.ones(4, dtype=bool)
    every = {"batch:R3": dict.fromkeys(range(4), "lot 0"), "make:V2": dict.fromkeys(range(4), "crown")}
    assert lots._with_fault(rng, lots.BATCH, np.zeros(4), read, every)[1] == {lots.OFF}
    one = {name: {**of, 3: "other"} for name, of in every.items()}
    assert lots._with_fault(rng, lots.BATCH, np.zeros(4), read, one)[1] == {lots.BATCH, lots.SINGLES}


def test_nothing_is_wrong_with_a_check_that_the_wrong_build_never_read():
    read = np.array([True, True, True, False])
    told = set()
    for seed in range(20):
        d, true = lots._with_fault(np.random.default_rng(seed), lots.SINGLES, np.zeros(4), read, {})
        assert true == ({lots.SINGLES} if np.abs(d[read]).max() > 1 else {lots.FITS})
        told |= true
    assert told == {lots.SINGLES, lots.FITS} and lots._said_of_lot(0, 3) == {lots.FITS}


@pytest.mark.slow
@pytest.mark.parametrize("builds", [3, 5, 8])
def test_findings_are_right_as_often_as_they_say(builds):
    """No bin of 30 claims or more further than 0.1 from what it says, give or take the chance of so few."""
    rows = lots.tally(3, builds, 10)
    for said, true, claims in lots.reliability(rows):
        if claims >= 30:
            assert abs(said - true) <= 0.1 + np.sqrt(said * (1 - said) / claims), (said, true, claims)
    assert lots.false_of_120(rows) <= 0.6


@pytest.mark.slow
def test_the_best_judge_is_right_as_often_as_it_says_and_knows_each_builds_gain():
    from tests.trials import lots_oracle as best

    programme, gains = best.drawn(np.random.default_rng(6), 5, checks=40, faulty=0.5)
    assert programme == lots.draw(np.random.default_rng(6), 5, checks=40, faulty=0.5)
    d = [
        list(c.d.values())
        for c in programme.checks
        if c.true == {lots.FITS} and c.quantity == "volts" and len(c.d) == 5
    ]
    reach = [
        c.figure / c.half for c in programme.checks if c.true == {lots.FITS} and c.quantity == "volts" and len(c.d) == 5
    ]
    assert np.corrcoef(np.ravel(d), np.outer(reach, gains["volts"]).ravel())[0, 1] > 0.1
    told = best.judge(programme, gains, 0.5)
    right = [kind in c.true for c, (kind, _) in zip(programme.checks, told, strict=True)]
    assert np.mean(right) == pytest.approx(np.mean([p for _, p in told]), abs=0.15) and 0.7 < np.mean(right) < 1
