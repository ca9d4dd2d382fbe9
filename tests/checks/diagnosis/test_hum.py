"""Hum where a good kit has next to none: millivolts at the loudspeaker, read as ripple with nothing at the input."""

import numpy as np
import pytest

from checks.diagnosis import Observation, fault_list, prepare, rank
from checks.diagnosis.reading_scale import slope
from tests.checks.diagnosis.test_signal_faults import GUIDE, PARTS, read, stage

FAR = 8.0  # standard deviations of good kits
CANS = {"C1", "C2", "C3", "C4"}
METER = 1e-4  # V: the last digit of a meter's lowest AC range (common practice)


@pytest.fixture(scope="module")
def kit():
    checks = [read("hum", "ac volts", "out.hot", of="ripple"), read("can", "ac volts", "ht.reservoir", of="ripple")]
    faults = [f for f in fault_list(PARTS) if set(f.refs) & CANS or f.refs[:1] == ("V2",)]
    quiet = stage("quiet", "on", checks, settings={"RV1": 0.0})
    return prepare(PARTS, [quiet], GUIDE["kit"]["mains"], samples=24, faults=faults)


def usual(kit, name):
    n = kit.index[name]
    volts = float(np.sinh(kit.mean[0, n]) * kit.units[n])
    return volts, float(np.sqrt(kit.scatter[0, n, n]) / slope(volts, kit.units[n]))


def as_read(kit, **others):
    for name in ("hum", "can"):
        value = others.get(name, usual(kit, f"quiet/{name}")[0])
        yield Observation(f"quiet/{name}", value, METER + 0.01 * value, repeated=name in others)


@pytest.mark.lengthy
def test_a_good_kit_hums_by_millivolts_only(kit):
    """An output transformer of some 5 kΩ to 8 Ω passes a twenty-fifth of what its valve's anode has, less what the
    valve itself takes up (turns are the root of the ratio of impedances)."""
    hum, _deviation = usual(kit, "quiet/hum")
    can, _deviation = usual(kit, "quiet/can")
    assert 0 < hum < can / 25


@pytest.mark.lengthy
def test_a_good_kit_s_hum_is_clear(kit):
    assert rank(kit, list(as_read(kit))).clear > 0.5


@pytest.mark.lengthy
def test_hum_far_beyond_a_good_kit_s_that_was_read_twice_is_never_told_clear(kit):
    hum, deviation = usual(kit, "quiet/hum")
    assert rank(kit, list(as_read(kit, hum=hum + FAR * deviation))).clear < 0.2


def test_hum_within_what_good_kits_have_is_clear(kit):
    hum, deviation = usual(kit, "quiet/hum")
    assert rank(kit, list(as_read(kit, hum=hum + deviation))).clear > 0.5


@pytest.mark.lengthy
def test_hum_of_the_output_stage_s_can_that_is_not_there_is_laid_to_a_can(kit):
    """A smoothing capacitor that holds nothing leaves many times the hum (common practice)."""
    row = [f.key for f in kit.faults].index("C2 open") + 1
    shown = {p.check: float(np.sinh(kit.mean[row, n]) * kit.units[n]) for n, p in enumerate(kit.places) if p.check}
    assert shown["hum"] > 3 * usual(kit, "quiet/hum")[0]
    first = rank(kit, list(as_read(kit, **shown))).groups[0]
    assert any(CANS & set(f.refs) for f in first.faults)
