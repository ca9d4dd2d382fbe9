"""What a builder is to do about the latest reading of a check: whether to switch off comes first."""

from builds.bench.diagnosis.allowed_measurements import is_stopped
from builds.bench.diagnosis.diagnose import Diagnosis
from builds.bench.diagnosis.overloads import is_out, may_mean_overload, must_power_be_off
from builds.bench.gates.facts import Facts
from builds.bench.gates.gating import find_power
from builds.guides.circuit.specs import specs_or_none
from builds.guides.guide_cache import load_guide
from builds.ui.messages.advice import advice_sentence, find_the_fault
from checks.diagnosis.advice import Advice, Situation, advise
from checks.diagnosis.overload import Point, find_point

TURNED = 0.5  # of what is wanted on one side of zero, from which as much on the other is no stray reading (assumed)


def advise_on(build, check, reading, facts: Facts, diagnosis: Diagnosis | None) -> Advice | None:
    """None where the reading is not off. `diagnosis` is None where no fault dictionary is there: the rules about power
    and signs need none."""
    if reading is None or not is_out(reading):
        return None
    point = _point(build, check)
    may_overload = check.stage.is_powered and may_mean_overload(build, check, reading)
    situation = Situation(
        check.unit,
        None if reading.over_range else reading.true_value,
        power_on=find_power(build, facts).needs_made_safe,
        powered_check=check.stage.is_powered,
        may_overload=may_overload,
        is_supply=check.stage.is_powered and point is Point.SUPPLY,
        wants_positive=reading.low is not None and reading.low > 0,
        is_turned=_is_turned(reading, point),
        stopped=is_stopped(facts),
        off_for_another=not may_overload and must_power_be_off(build, facts),
    )
    return advise(situation, diagnosis.opinions() if diagnosis else ())


def _is_turned(reading, point: Point | None) -> bool:
    """On the other side of zero from all that is good, by half as much or more: the supply or the meter the wrong way
    round. A cathode or a grid tells nothing of the supply below zero."""
    if point is None or reading.over_range or reading.true_value is None:
        return False
    if reading.high is not None and reading.high < 0:
        return reading.true_value >= -TURNED * reading.high
    is_positive = point is not Point.BIAS and reading.low is not None and reading.low > 0
    return is_positive and reading.true_value <= -TURNED * reading.low


def order_to_switch_off(build, check, reading, facts: Facts) -> str:
    """The order about the power that leads after a reading, for whoever reads no page; empty where the power may stay.
    Given too while another reading is past its stop limit or may mean an overload."""
    advice = advise_on(build, check, reading, facts, None)
    if advice and advice.power_off:
        return advice_sentence(advice.lead)
    if is_stopped(facts) or must_power_be_off(build, facts):
        return find_the_fault(find_power(build, facts).needs_made_safe)
    return ""


def _point(build, check) -> Point | None:
    """Where DC volts are read; None of anything else."""
    if check.measure != "dc volts":
        return None
    return find_point(specs_or_none(load_guide(build.revision)), check.red)
