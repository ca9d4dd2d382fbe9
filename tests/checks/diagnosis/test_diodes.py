"""How little an ohmmeter may read through a good diode: less is no way through it, but a fault."""

import numpy as np
import pytest

from checks.diagnosis import Observation, prepare, rank
from checks.diagnosis.diodes import LEAST_OHMS, MIDDLE, least_ohms_through
from checks.diagnosis.supply_faults import THROUGH_DECADES
from tests.checks.diagnosis.test_turned_diodes import PARTS, check, part

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


@pytest.mark.lengthy
def test_a_way_through_a_good_diode_is_no_second_fault_beside_one_that_shows_elsewhere():
    """Red on a negative supply sends the meter's own volts forward through its rectifier: what it then reads lies in a
    small window, between what stands in the way and the reading without it."""
    parts = [*PARTS, part("R3", "resistor", ["bias.raw", "bias.set"], value="8k2", tolerance="5%")]
    parts += [part("R4", "resistor", ["bias.set", "chassis"], value="47k", tolerance="5%")]
    parts += [part("R5", "resistor", ["ht.raw", "ht.low"], value="10k", tolerance="5%")]
    parts += [part("R6", "resistor", ["ht.low", "chassis"], value="33k", tolerance="5%")]
    checks = [check("set", "resistance", "bias.set"), check("ht", "resistance", "ht.raw")]
    checks += [check("low", "resistance", "ht.low")]
    kit = prepare(parts, [{"key": "cold", "power": "off", "not_fitted": [], "checks": checks}], samples=24)
    usual = {place.check: float(v) for place, v in zip(kit.places, kit.nominal, strict=True) if place.check}
    assert kit.turned_on[kit.index["cold/set"]]

    def told(**read):
        ohms = usual | read
        return rank(kit, [Observation(f"cold/{k}", v, 0.005 * v, repeated=k in read) for k, v in ohms.items()])

    open_r1 = beside(33e3 + 10e3, 1e10), beside(33e3, 10e3 + 1e10)
    both = told(set=0.75 * usual["set"], ht=open_r1[0], low=open_r1[1])
    assert "R1 open" in {fault.key for fault in both.groups[0].faults}
    assert told(set=0.75 * usual["set"]).clear > 0.5, "the meter, likelier than any part"
    assert told(set=0.05 * usual["set"]).clear < 0.05, "less than stands in the way"
