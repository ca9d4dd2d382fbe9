"""What may not be done yet, and why."""

import pytest

from builds.bench.gates.locks import CheckReason, Reason, asks_power, find_lock, is_stopped_elsewhere, lock_of_check
from tests.builds.bench.rules.rows import (
    DEAD,
    LIVE,
    MADE_SAFE,
    NOON,
    STOPPED,
    STOPPED_AND_SAFE,
    facts_with,
    make_check,
    make_stage,
    make_step,
    stood,
)


@pytest.mark.parametrize(
    ("power", "locked"), [(DEAD, False), (LIVE, True), (MADE_SAFE, False), (STOPPED, True), (STOPPED_AND_SAFE, False)]
)
def test_hands_stay_out_while_power_is_on_record(power, locked):
    hands, eyes = make_step(1, hands_in=True), make_step(2)
    stage = make_stage(items=[hands, eyes], powered=True)
    lock = find_lock(hands, stage, facts_with(), power)
    assert (lock is not None) is locked
    assert not locked or (lock.reason is Reason.POWER and lock.is_power and not lock.is_unsaid)
    assert find_lock(eyes, stage, facts_with(), power) is None


def test_a_step_waits_for_the_checks_that_the_guide_puts_before_it():
    before, step, behind = make_check(1), make_step(2), make_check(3)
    stage = make_stage(items=[before, step, behind])
    lock = find_lock(step, stage, facts_with(), DEAD)
    assert lock.reason is Reason.CHECK and lock.check is before and not lock.is_power
    assert find_lock(step, stage, facts_with(check_states={1: stood("out of band")}), DEAD)
    assert find_lock(step, stage, facts_with(check_states={1: stood("in band", passed=True)}), DEAD) is None
    assert find_lock(step, stage, facts_with(carried={1}), DEAD) is None


def test_a_step_waits_for_no_optional_check_and_for_no_other_step():
    step = make_step(3)
    stage = make_stage(items=[make_check(1, optional=True), make_step(2), step])
    assert find_lock(step, stage, facts_with(), DEAD) is None


@pytest.mark.parametrize("power", [DEAD, MADE_SAFE, LIVE])
@pytest.mark.parametrize("powered", [False, True])
@pytest.mark.parametrize("hands_in", [False, True])
def test_a_step_of_live_work_after_made_safe_is_asked_about_power(power, powered, hands_in):
    step = make_step(1, hands_in=hands_in)
    lock = asks_power(step, make_stage(items=[step], powered=powered), power)
    assert (lock is not None) is (powered and not hands_in and power is not LIVE)
    assert lock is None or (lock.is_unsaid and not lock.is_power)


def test_while_a_stop_stands_no_other_check_is_read_live():
    check, other = make_check(1), make_check(2)
    stage, dead = make_stage(items=[check, other], powered=True), make_stage(items=[check, other])
    facts = facts_with(stops={1: NOON})
    assert lock_of_check(other, stage, facts, LIVE).reason is CheckReason.STOP
    assert lock_of_check(other, stage, facts, LIVE).is_stop
    assert lock_of_check(check, stage, facts, LIVE) is None
    assert lock_of_check(other, dead, facts, LIVE) is None


def test_a_stop_elsewhere_is_one_of_another_check():
    assert is_stopped_elsewhere(make_check(2), facts_with(stops={1: NOON}))
    assert is_stopped_elsewhere(None, facts_with(stops={1: NOON}))
    assert not is_stopped_elsewhere(make_check(1), facts_with(stops={1: NOON}))
    assert not is_stopped_elsewhere(None, facts_with())


def test_a_check_waits_for_the_step_before_it_that_puts_hands_in():
    eyes, hands, check, later = make_step(1), make_step(2, hands_in=True), make_check(3), make_step(4, hands_in=True)
    stage = make_stage(items=[make_check(5), eyes, hands, check, later])
    lock = lock_of_check(check, stage, facts_with(), DEAD)
    assert (lock.reason, lock.step, lock.number) == (CheckReason.STEP, hands, 2)
    assert not lock.is_stop and not lock.is_power
    assert lock_of_check(check, stage, facts_with(ticked={2}), DEAD) is None


@pytest.mark.parametrize(("powered", "power", "locked"), [(True, MADE_SAFE, 1), (True, LIVE, 0), (False, MADE_SAFE, 0)])
def test_no_live_reading_is_taken_of_a_kit_made_safe(powered, power, locked):
    check = make_check(1)
    lock = lock_of_check(check, make_stage(items=[check], powered=powered), facts_with(), power)
    assert bool(lock) is bool(locked) and (lock is None or lock.is_power)
