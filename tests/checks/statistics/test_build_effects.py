"""A build that reads all checks of a quantity too high or too low by one ratio: a meter or the mains, told from faults.
Everything is drawn by numpy, readings as figure times ratio."""

from dataclasses import replace

import numpy as np
import pytest

from checks.errors import ChecksError
from checks.statistics.build_effects import MOST, MOST_BUILDS, build_effects, without_build_effects
from checks.statistics.evidence import Evidence, Label
from checks.statistics.findings import find_many

HALF = 0.05  # of the figure


def guide(ratios, checks=30, *, scatter=0.012, seed=1, quantity="dc volts", skewed=False):
    """Evidence of every check; `ratios`: what each build reads too high."""
    random, builds = np.random.default_rng(seed), len(ratios)
    rows = []
    for _ in range(checks):
        noise = random.exponential(size=builds) - 1 if skewed else random.standard_t(4, builds) * 0.7
        d = (np.array(ratios) + scatter * noise) / HALF
        rows.append(Evidence(tuple(d.tolist()), 0.03, builds=tuple(range(builds)), quantity=quantity, reach=1 / HALF))
    return rows


@pytest.mark.parametrize("skewed", [False, True])
@pytest.mark.parametrize("off", [0.03, -0.03])
def test_a_meter_that_is_off_is_found_nearly_to_half_a_per_cent(off, skewed):
    effects = build_effects(guide([0.0, 0.0, off, 0.0, 0.0], skewed=skewed))
    assert effects[2, "dc volts"] == pytest.approx(off, abs=0.0061)
    assert all(abs(effects.get((n, "dc volts"), 0.0)) <= 0.0061 for n in (0, 1, 3, 4))


@pytest.mark.lengthy
def test_two_builds_read_by_a_meter_that_is_off_are_no_batch_on_every_check():
    """4.5 % high against bands of 5 %, and a batch of parts that the same two builds have."""
    batch = (Label("batch:R5", ("a", "b", "b", "a", "a")),)
    evidence = [replace(e, labels=batch) for e in guide([0.0, 0.045, 0.045, 0.0, 0.0], 60)]
    explained = without_build_effects(evidence)
    assert sum(e.explained for e in explained) >= 0.7 * sum(e.misses for e in evidence) > 8
    alone = find_many([replace(e, builds=(), reach=0.0) for e in evidence])
    claims = [sum(f.kind not in ("fits", "not enough") for f in found) for found in (alone, find_many(evidence))]
    assert claims[0] > 10 and claims[1] <= 1


def test_a_wrong_part_on_one_check_is_no_meter():
    evidence = guide([0.0] * 5, 30)
    wrong = list(evidence[7].deviations)
    wrong[3] = 6.0
    evidence[7] = Evidence(tuple(wrong), 0.03, builds=tuple(range(5)), quantity="dc volts", reach=1 / HALF)
    assert abs(build_effects(evidence).get((3, "dc volts"), 0.0)) <= 0.004
    assert find_many(evidence)[7].kind == "single builds"


@pytest.mark.parametrize("off", [0.09, -0.15, 0.4])
def test_a_build_off_by_more_than_a_meter_can_be_stays_a_build_with_a_fault(off):
    evidence = guide([0.0, 0.0, off, 0.0, 0.0])
    assert abs(off) > MOST and (2, "dc volts") not in build_effects(evidence)
    kinds = [f.kind for f in find_many(evidence)]
    assert kinds.count("single builds") >= 25 and "fits" not in kinds


@pytest.mark.lengthy
def test_figures_that_are_wrong_throughout_are_the_guides_and_not_every_builds():
    """All builds read 8 % high, or 4 % low with a band of 5 %: meters answer for what one of them may be off by, about
    two standard deviations of 1.2 % to 1.8 %."""
    for off in (0.08, -0.04):
        effects = build_effects(guide([off] * 5))
        assert all(abs(ratio) <= 0.036 for ratio in effects.values())
    assert {f.kind for f in find_many(guide([0.08] * 5))} == {"figure off"}


def test_few_checks_few_builds_and_very_many_builds_say_nothing_of_a_build():
    assert not build_effects(guide([0.0, 0.0, 0.04], 7)) and not build_effects(guide([0.0, 0.04], 30))
    assert not build_effects(guide([0.04, *[0.0] * MOST_BUILDS], 8))
    assert build_effects(guide([0.04, *[0.0] * (MOST_BUILDS - 1)], 8))


def test_each_quantity_has_its_own_since_a_meter_has_ranges():
    volts, ohms = guide([0.0, 0.03, 0.0]), guide([0.0, 0.0, 0.0], seed=2, quantity="resistance")
    effects = build_effects([*volts, *ohms])
    assert effects[1, "dc volts"] > 0.02 and abs(effects.get((1, "resistance"), 0.0)) < 0.006


def test_checks_about_nothing_and_with_one_limit_are_left_as_they_are():
    about_zero = Evidence((0.2, -0.1, 0.3), builds=(0, 1, 2), quantity="dc volts", reach=0.0)
    assert without_build_effects([*guide([0.0, 0.04, 0.0]), about_zero])[-1] is about_zero


def test_every_deviation_needs_its_build():
    with pytest.raises(ChecksError):
        Evidence((0.1, 0.2), builds=(1,))


METERS = (0.012, -0.011, 0.009, -0.013, 0.010, -0.008)  # as good hand-held ones are; common practice


def narrow_check(ratios, half):
    d = (np.array(ratios) + np.array([0.001, -0.002, 0.002, 0.001, -0.001, 0.0])) / half
    return Evidence(tuple(d.tolist()), 0.1, builds=tuple(range(len(ratios))), quantity="dc volts", reach=1 / half)


@pytest.mark.lengthy
def test_a_band_that_good_meters_cannot_hold_is_too_tight_although_the_parts_hold_it():
    """Within 1 % of the figure, where parts scatter by 0.15 % and meters by 1.2 %; within 5 % it is none."""
    found = find_many([*guide(METERS, 40), narrow_check(METERS, 0.01)])
    assert found[-1].kind == "band too tight" and found[-1].misses == 4
    assert all(f.kind in ("fits", "not enough") for f in found[:-1])
    assert find_many([*guide(METERS, 40), narrow_check(METERS, 0.05)])[-1].kind == "fits"
    assert find_many([*guide((0.0,) * 6, 40), narrow_check((0.0,) * 6, 0.01)])[-1].kind == "fits"


def test_one_meter_that_is_far_off_makes_no_band_too_tight():
    ratios = (0.0, 0.0, 0.045, 0.0, 0.0, 0.0)
    check = without_build_effects([*guide(ratios, 40), narrow_check(ratios, 0.03)])[-1]
    assert check.carried < 0.2 and check.explained == 1
    assert find_many([*guide(ratios, 40), narrow_check(ratios, 0.03)])[-1].kind == "fits"


def test_a_figure_is_not_wrong_by_less_than_warm_copper_and_mains_are():
    """0.8 half-bands: 0.5 % of a figure within 0.6 %, and 16 % of one within 20 %."""
    read = (0.78, 0.85, 0.8, 0.76)
    tight, wide = (find_many([Evidence(read, 0.05, reach=reach)])[0] for reach in (160.0, 5.0))
    assert tight.each["figure off"] < 0.5 < 0.75 < wide.each["figure off"]


def test_what_a_meter_reads_too_high_everywhere_is_no_longer_doubt_about_each_check():
    """Builds whose ratio is known, if it is 0, leave half of the meter's uncertainty; one that is not leaves all."""
    known, unknown = (without_build_effects(guide((0.0, 0.0, 0.02, 0.0, off)))[0] for off in (0.0, 0.2))
    assert len(known.effects) == 5 and known.left_of_u == pytest.approx(known.u / 2)
    assert len(unknown.effects) == 4 and unknown.left_of_u == unknown.u


@pytest.mark.lengthy
def test_a_build_off_on_all_checks_is_found_however_many_they_are():
    """Every check of the guide has the same wrong build: what the checks say of each other must not hide it."""
    for checks in (30, 90):
        kinds = [f.kind for f in find_many(guide([0.0, 0.0, -0.12, 0.0, 0.0], checks))]
        assert kinds.count("single builds") >= 0.8 * checks and "fits" not in kinds
