"""Which reading is asked for next, and what its values would point to, over kits of two or three places made by hand.

What a reading is worth is held against the mutual information of a mixture of normal readings, integrated by scipy's
`quad` (T. M. Cover and J. A. Thomas, Elements of Information Theory, 2nd ed., 8.6, from memory).
"""

from dataclasses import dataclass, field

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from checks.circuit.prediction.probes import Probe
from checks.diagnosis.ambiguity import Group
from checks.diagnosis.fault import Fault
from checks.diagnosis.next_measurement import EACH, KEEP, LEAST, ROWS, next_reading
from checks.diagnosis.place import Place
from checks.diagnosis.ranking import Ranking
from checks.diagnosis.reading_scale import FLOOR, SMALLEST

METER_AND_FLOOR = 0.01**2 + FLOOR  # variance on the scale that every reading has, by the module's own docstrings


@dataclass
class Kit:
    """Means (1 + faults, places) on the scale and one standard deviation for all, or as many."""

    mean: list
    sd: object = 0.1
    powers: tuple = ()
    checks: tuple = ()
    measure: str = "dc volts"
    unit: float = 0.1
    faults: tuple = field(init=False)

    def __post_init__(self):
        self.mean = np.array(self.mean, float)
        rows, places = self.mean.shape
        sd = np.broadcast_to(np.array(self.sd, float), (rows, places))
        self.cov = np.zeros((rows, places, places))
        at = np.arange(places)
        self.cov[:, at, at] = sd**2
        self.units = np.full(places, self.unit)
        self.faults = tuple(Fault(f"F{n}", f"fault {n}", "open", (f"R{n}",), 1.0) for n in range(1, rows))
        powers = self.powers or ("off",) * places
        checks = self.checks or tuple(f"c{n}" for n in range(places))
        self.places = tuple(
            Place("one", check, Probe(f"n{n}", "chassis", self.measure), power)
            for n, (check, power) in enumerate(zip(checks, powers, strict=True))
        )


def ranking(healthy, *each) -> Ranking:
    return Ranking(healthy, 0.0, (), np.array(each, float), Group((), 0.0))


def asked(kit, *p, taken=(), allowed=None):
    return next_reading(kit, ranking(*p), set(taken), allowed)


def information(p, means, sd) -> float:
    """Bits that one reading tells of which of the normal distributions it comes from."""
    p, means, sd = np.array(p) / sum(p), np.array(means), np.broadcast_to(np.array(sd, float), len(means))

    def lost(x):
        each = p * norm.pdf(x, means, sd)
        whole = each.sum()
        return 0.0 if whole <= 0 else -sum(e * np.log2(e / whole) for e in each if e > 0)

    low, high = (means - 9 * sd).min(), (means + 9 * sd).max()
    after, _error = quad(lost, low, high, limit=400, points=sorted(means))
    return -sum(q * np.log2(q) for q in p if q > 0) - after


@pytest.mark.parametrize(
    ("p", "means", "sd"),
    [
        ((0.3, 0.3, 0.4), (5.0, 5.3, 9.0), 0.1),
        ((0.5, 0.5), (5.0, 7.0), 0.1),
        ((0.8, 0.1, 0.1), (5.0, 5.4, 3.0), 0.2),
        ((0.2, 0.5, 0.3), (4.0, 4.4, 6.0), 0.25),
        ((0.3, 0.4, 0.3), (5.0, 5.1, 9.0), (0.05, 0.4, 0.1)),
    ],
)
def test_a_reading_is_worth_what_it_tells_of_which_fault_there_is(p, means, sd):
    """A histogram is a little coarser than the integral, and never finer."""
    spread = np.broadcast_to(np.array(sd, float), len(means))
    found = asked(Kit(np.array(means)[:, None], sd=spread[:, None]), *p)
    truth = information(p, means, np.sqrt(spread**2 + METER_AND_FLOOR))
    assert 0.96 * truth <= found.bits <= truth * 1.001


def test_a_fault_that_may_put_a_reading_anywhere_is_taken_for_twenty_on_the_scale():
    found = asked(Kit([[5.0], [np.nan], [8.0]]), 0.4, 0.3, 0.3)
    sd = np.sqrt(np.array([0.1, 0.0, 0.1]) ** 2 + METER_AND_FLOOR)
    sd[1] = 20.0
    assert found.bits == pytest.approx(information((0.4, 0.3, 0.3), (5.0, 0.0, 8.0), sd), rel=0.08)
    assert all(fault.key != "F1" for row in found.points_to for fault in row.faults)


def test_readings_that_tell_nothing_apart_are_not_asked_for():
    assert asked(Kit([[5.0], [5.0]]), 0.5, 0.5) is None
    assert asked(Kit([[5.0], [5.001]]), 0.5, 0.5) is None


def test_the_least_that_a_reading_may_tell_is_held_on_both_sides():
    """With a fault that is rare enough, what the best of readings tells falls below it."""
    above, below = 0.006, 0.003
    assert information((1 - above, above), (2.0, 9.0), 0.1) > LEAST > information((1 - below, below), (2.0, 9.0), 0.1)
    kit = Kit([[2.0], [9.0]])
    assert asked(kit, 1 - above, above) is not None
    assert asked(kit, 1 - below, below) is None


FAR = (9.0, 9.0)  # a cause that every place tells from the others


def test_the_reading_that_tells_more_is_asked_for_first():
    kit = Kit([[5.0, 5.0, 5.0], [5.2, 6.0, 5.1], [9.0, 9.0, 9.0]])
    names = [asked(kit, 0.4, 0.4, 0.2, taken=taken).place.name for taken in ([], ["one/c1"], ["one/c1", "one/c0"])]
    assert names == ["one/c1", "one/c0", "one/c2"]


@pytest.mark.parametrize(("step", "first"), [(0.26, "one/c1"), (0.12, "one/c0")])
def test_one_without_power_comes_first_unless_it_tells_far_less(step, first):
    """A live reading is asked for only where it tells more than a quarter more."""
    p, sd = (0.45, 0.45, 0.1), np.sqrt(0.01 + METER_AND_FLOOR)
    live, cold = (information(p, (5.0, 5.0 + apart, 9.0), sd) for apart in (0.32, step))
    assert live > cold and (cold > 0.8 * live) == (first == "one/c1")
    assert asked(Kit([[5.0, 5.0], [5.32, 5.0 + step], FAR], powers=("on", "off")), *p).place.name == first


def test_nobody_is_sent_to_a_live_place_that_the_guide_has_no_check_for():
    kit = Kit([[5.0, 5.0], [9.0, 5.5]], powers=("on", "off"), checks=("", "c1"))
    assert asked(kit, 0.5, 0.5).place.name == "one/c1"
    assert asked(kit, 0.5, 0.5, taken=["one/c1"]) is None
    without_power = Kit([[5.0, 5.0], [9.0, 5.5]], checks=("", "c1"))
    assert asked(without_power, 0.5, 0.5).place.check == ""


def test_only_what_may_be_read_now_is_asked_for():
    kit, p = Kit([[5.0, 5.0], [7.0, 5.05], FAR], powers=("on", "off")), (0.4, 0.4, 0.2)
    assert asked(kit, *p).place.is_powered
    assert not asked(kit, *p, allowed=lambda place: not place.is_powered).place.is_powered
    assert asked(kit, *p, allowed=lambda place: False) is None


def test_where_one_cause_alone_is_left_nothing_is_asked_for():
    kit = Kit([[5.0], [9.0]])
    assert asked(kit, 0.0, 1.0) is None and asked(kit, 1.0, 0.0) is None
    assert asked(kit, 0.9999, 0.00009) is None


def test_no_more_than_the_likeliest_causes_are_looked_at():
    """The next one, however far off it would read, makes a reading worth no more."""
    means, p = (5.0, 9.0, *[5.0] * (KEEP - 1), 12.0), (0.3, 0.29, *[0.4 / (KEEP - 1)] * (KEEP - 1), 0.01)
    sd = np.sqrt(0.01 + METER_AND_FLOOR)
    without = information(p[:-1], means[:-1], sd)
    assert asked(Kit(np.array(means)[:, None]), *p).bits == pytest.approx(without, rel=0.02)
    one_fewer = (*means[:-2], 12.0), (*p[:-2], 0.01)
    assert information(*one_fewer[::-1], sd) > 1.05 * without
    assert asked(Kit(np.array(one_fewer[0])[:, None]), *one_fewer[1]).bits > 1.05 * without


def volts(kit, scale):
    return pytest.approx(float(np.sinh(scale) * kit.unit))


def test_ranges_lie_two_standard_deviations_about_what_each_cause_would_read():
    kit = Kit([[6.0], [3.0], [9.0]])
    low, middle, high = asked(kit, 0.4, 0.3, 0.3).points_to
    sd = np.sqrt(0.01 + METER_AND_FLOOR)
    assert (low.low, low.high) == (None, volts(kit, 3.0 + 2 * sd))
    assert (middle.low, middle.high) == (volts(kit, 6.0 - 2 * sd), volts(kit, 6.0 + 2 * sd))
    assert (high.low, high.high) == (volts(kit, 9.0 - 2 * sd), None)
    assert [row.unit for row in (low, middle, high)] == ["V"] * 3
    assert ([f.key for f in low.faults], middle.healthy, [f.key for f in high.faults]) == (["F1"], True, ["F2"])
    assert not low.healthy and not high.healthy and not middle.faults and not any(r.more for r in (low, middle, high))


def test_causes_whose_ranges_overlap_are_one_range_with_the_likeliest_named_first():
    kit = Kit([[3.0], [6.0], [6.2], [6.4]])
    low, high = asked(kit, 0.4, 0.1, 0.3, 0.2).points_to
    assert low.healthy and [f.key for f in high.faults] == ["F2", "F3", "F1"] and not high.more
    sd = np.sqrt(0.01 + METER_AND_FLOOR)
    assert high.low == volts(kit, 6.0 - 2 * sd)


def test_a_wide_cause_keeps_its_range_though_a_narrow_one_lies_inside_it():
    kit = Kit([[3.0], [6.0], [6.1], [9.0]], sd=[[0.1], [0.6], [0.05], [0.1]])
    _low, middle, _high = asked(kit, 0.25, 0.25, 0.25, 0.25).points_to
    assert middle.high == volts(kit, 6.0 + 2 * np.sqrt(0.36 + METER_AND_FLOOR))


def test_a_range_that_holds_a_good_kit_points_to_no_fault():
    kit = Kit([[6.0], [6.1], [9.0]])
    low, _high = asked(kit, 0.4, 0.3, 0.3).points_to
    assert low.healthy and low.faults == ()


def test_no_more_than_three_causes_of_a_range_are_named():
    kit = Kit([[3.0], *[[8.0]] * (EACH + 1)])
    _low, high = asked(kit, 0.2, *[0.2] * (EACH + 1)).points_to
    assert EACH == 3 == len(high.faults) and high.more


def test_no_more_than_the_four_weightiest_ranges_are_told_from_low_to_high():
    kit = Kit([[2.0], [3.5], [5.0], [6.5], [8.0]])
    rows = asked(kit, 0.3, 0.2, 0.05, 0.25, 0.2).points_to
    assert ROWS == 4 == len(rows)
    assert [tuple(f.key for f in row.faults) for row in rows] == [(), ("F1",), ("F3",), ("F4",)]
    assert (rows[0].low, rows[-1].high) == (None, None) and rows[1].low < rows[2].low


def test_the_lowest_range_reaches_what_a_meter_can_just_tell_from_nothing():
    kit = Kit([[0.0], [6.0]], sd=0.01)
    low, _high = asked(kit, 0.5, 0.5).points_to
    assert low.high == 2 * SMALLEST["V"] == 0.2


def test_of_a_cause_that_might_read_anything_no_range_is_told():
    kit = Kit([[3.0], [6.0], [9.0]], sd=[[0.1], [1.5], [0.1]])
    low, high = asked(kit, 0.4, 0.3, 0.3).points_to
    assert low.healthy and [f.key for f in high.faults] == ["F2"]
