"""What is on record of a build, and when an entry is dated."""

from datetime import timedelta

import pytest

from builds.bench.gates.facts import STEP, CheckState
from builds.bench.offline.arrival import LATE
from tests.builds.bench.rules.rows import NOON, after, facts_with, stood

AHEAD = NOON + 2 * LATE


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("builds.bench.gates.facts.timezone.now", lambda: NOON)


def test_an_entry_is_dated_now_or_when_it_was_made():
    assert facts_with().dated() == NOON
    assert facts_with(last_power=after(-5)).dated() == NOON
    assert facts_with(last_power=NOON).dated() == NOON
    assert facts_with(last_power=after(-5)).dated(after(-60)) == after(-60)


@pytest.mark.parametrize("name", ["last_power", "last_safe", "last_unsafe", "last_change", "stops", "check_states"])
def test_where_any_of_the_record_is_ahead_of_the_clock_what_comes_now_comes_after_it(name):
    value = {"stops": {1: AHEAD}, "check_states": {1: CheckState(1, True, "in band", AHEAD)}}.get(name, AHEAD)
    for reassures in (False, True):
        assert facts_with(**{name: value}).dated(reassures=reassures) == AHEAD + STEP


def test_an_entry_kept_on_a_phone_comes_after_a_record_far_ahead_only_where_it_does_not_reassure():
    kept = NOON - LATE - timedelta(seconds=1)
    assert facts_with(last_power=AHEAD).dated(kept) == AHEAD + STEP
    assert facts_with(last_power=AHEAD).dated(kept, reassures=True) == kept


def test_two_machines_clocks_that_differ_a_little_date_nothing_anew():
    kept, just = NOON - LATE - timedelta(seconds=1), NOON + LATE
    assert facts_with(last_power=just).dated(kept) == kept
    assert facts_with(last_power=just + timedelta(seconds=1)).dated(kept) == just + timedelta(seconds=1) + STEP
    assert facts_with(last_power=just).dated(NOON - LATE) == just + STEP  # not kept for long: it was sent now


@pytest.mark.parametrize(
    ("outcome", "passed", "ends", "outdated"),
    [
        ("in band", True, True, False),
        ("in band", False, True, True),
        ("out of band", True, True, False),
        ("out of band", False, False, False),
        ("too close to call", False, False, False),
        ("switch off", False, False, False),
    ],
)
def test_a_stop_ends_with_a_reading_in_band_or_one_that_passes(outcome, passed, ends, outdated):
    state = stood(outcome, passed=passed, at=1)
    assert (state.ends_stop, state.is_outdated) == (ends, outdated)
    facts = facts_with(stops={1: NOON, 2: NOON}).with_check_state(1, state)
    assert facts.check_states == {1: state} and facts.stops[2] == NOON
    assert (1 in facts.stops) is not ends
    assert outcome != "switch off" or facts.stops[1] == after(1)


def test_a_reading_of_a_check_without_a_stop_makes_none_but_a_stop_does():
    assert facts_with().with_check_state(1, stood("out of band")).stops == {}
    assert facts_with().with_check_state(1, stood("in band", passed=True)).stops == {}
    assert facts_with().with_check_state(1, stood("switch off", at=2)).stops == {1: after(2)}


def test_a_tick_and_a_photo_are_added_and_a_tick_taken_back():
    facts = facts_with(ticked={1}, photographed={1})
    assert facts.with_tick(2, True).ticked == {1, 2} and facts.with_tick(1, False).ticked == set()
    assert facts.with_photo(2).photographed == {1, 2}
