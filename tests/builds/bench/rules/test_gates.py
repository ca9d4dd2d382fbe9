"""When a stage is open, shut or done."""

import pytest

from builds.bench.gates.gating import Power, Reason, StageState, power_by, stage_states, state_among, state_in
from builds.bench.gates.locks import has_passed
from builds.guides.models import Step
from tests.builds.bench.rules.rows import (
    DEAD,
    LIVE,
    MADE_SAFE,
    NOON,
    STOPPED,
    STOPPED_AND_SAFE,
    after,
    facts_with,
    make_check,
    make_stage,
    make_step,
    stood,
)

IN_BAND, CLOSE, OUT, STOP = "in band", "too close to call", "out of band", "switch off"


def state_of(stages, number, facts=None, power=DEAD):
    return state_among(tuple(stages), stages[number], facts or facts_with(), power)


@pytest.mark.parametrize(
    ("live", "safe", "needs"), [(None, None, False), (0, None, True), (0, -1, True), (0, 0, False), (0, 1, False)]
)
def test_power_needs_made_safe_until_a_reading_says_so_afterwards(live, safe, needs):
    power = Power(None if live is None else after(live), None if safe is None else after(safe))
    assert power.needs_made_safe is needs


@pytest.mark.parametrize(("safe", "unanswered"), [(None, True), (-1, True), (0, False), (1, False)])
def test_a_stop_is_unanswered_until_the_kit_is_made_safe_after_it(safe, unanswered):
    assert Power(NOON, None if safe is None else after(safe), 7, NOON).stop_unanswered is unanswered
    assert not Power(NOON, None if safe is None else after(safe)).stop_unanswered


def test_the_last_of_all_that_gave_it_power_is_when_it_last_was_live():
    states = {1: stood(IN_BAND, at=3), 2: stood(IN_BAND, at=9)}
    assert power_by(facts_with(check_states=states), frozenset({1})).last_live == after(3)
    assert power_by(facts_with(check_states=states), frozenset()).last_live is None
    assert power_by(facts_with(check_states=states, last_power=after(5)), frozenset({1})).last_live == after(5)
    assert power_by(facts_with(last_power=after(5), last_unsafe=after(6)), frozenset()).last_live == after(6)


def test_of_two_stops_the_later_one_is_the_one_to_answer_and_both_are_power():
    facts = facts_with(stops={1: after(4), 2: after(2)}, last_safe=after(3))
    power = power_by(facts, frozenset())
    assert (power.last_live, power.last_safe, power.stop_check, power.stopped_at) == (after(4), after(3), 1, after(4))


def test_a_stage_is_done_once_steps_checks_and_photos_are():
    step, check = make_step(1, photo=Step.Photo.REQUIRED), make_check(2)
    stages = [make_stage(items=[step, check])]
    passed = {2: stood(IN_BAND, passed=True)}
    assert state_of(stages, 0, facts_with(ticked={1}, photographed={1}, check_states=passed)).state == "done"
    assert state_of(stages, 0, facts_with(ticked={1}, check_states=passed)).missing == (0, 0, 1)
    assert state_of(stages, 0, facts_with(photographed={1}, check_states=passed)).missing == (1, 0, 0)
    assert state_of(stages, 0, facts_with(ticked={1}, photographed={1})).missing == (0, 1, 0)
    for missing in ({"ticked": {1}}, {"photographed": {1}}, {}):
        assert state_of(stages, 0, facts_with(check_states=passed, **missing)).state == "open"


def test_a_photo_that_may_be_taken_is_not_asked_for():
    step = make_step(1, photo="wanted")
    assert state_in(make_stage(items=[step]), facts_with()).photos_wanted == 0


def test_an_optional_check_holds_a_stage_up_only_once_it_reads_off():
    stage = make_stage(items=[make_check(1, optional=True), make_check(2)])
    passed = {2: stood(IN_BAND, passed=True)}
    unread = state_in(stage, facts_with(check_states=passed))
    assert unread.complete and (unread.checks, unread.passed, unread.checks_left) == (1, 1, 0)
    good = state_in(stage, facts_with(check_states={**passed, 1: stood(IN_BAND, passed=True)}))
    assert good.complete and good.optional_off == 0
    off = state_in(stage, facts_with(check_states={**passed, 1: stood(OUT)}))
    assert not off.complete and off.checks_left == 1 and off.missing == (0, 1, 0)


def test_checks_are_counted_by_what_they_read():
    stage = make_stage(items=[make_check(pk) for pk in range(1, 7)])
    states = {
        1: stood(IN_BAND, passed=True),
        2: stood(CLOSE),
        3: stood(OUT, passed=True),  # conceded
        4: stood(STOP),
        5: stood(OUT),
    }
    state = state_in(stage, facts_with(check_states=states, carried={6, 5}, stops={4: NOON}))
    assert (state.out, state.conceded, state.close, state.has_stop) == (3, 1, 1, True)
    assert state.passed == 3  # 1, 3 and 6: of 5 the reading counts, and no longer what was carried over
    assert not state_in(stage, facts_with(stops={99: NOON})).has_stop


def test_a_check_carried_over_from_an_earlier_revision_has_passed_until_it_is_read():
    check = make_check(1)
    assert has_passed(check, facts_with(carried={1}))
    assert not has_passed(check, facts_with(carried={2}))
    assert not has_passed(check, facts_with(carried={1}, check_states={1: stood(OUT)}))


def test_a_gate_shuts_all_that_comes_after_it_and_a_stage_without_one_shuts_nothing():
    stages = [
        make_stage(1, [make_step(1)]),
        make_stage(2, [make_step(2)], gate=True),
        make_stage(3, [make_step(3)], gate=True),
        make_stage(4, [make_step(4)]),
    ]
    assert [state_of(stages, n).state for n in range(4)] == ["open", "open", "shut", "shut"]
    last = state_of(stages, 3)
    assert last.shut_by.stage is stages[1] and [r.code for r in last.reasons] == ["gate"]
    assert (last.reasons[0].title, last.reasons[0].missing) == ("Stage 2", (1, 0, 0))
    assert [state_of(stages, n, facts_with(ticked={2})).state for n in range(4)] == ["open", "done", "open", "shut"]


def test_a_finished_stage_behind_a_gate_is_not_shown_as_done():
    stages = [make_stage(1, [make_step(1)], gate=True), make_stage(2, [make_step(2)])]
    assert state_of(stages, 1, facts_with(ticked={2})).state == "shut"
    assert state_of(stages, 1, facts_with(ticked={1, 2})).state == "done"


@pytest.mark.parametrize("finished", [False, True])
def test_a_halted_stage_is_shut_even_when_finished(finished):
    stages = [make_stage(1, [make_step(1)]), make_stage(2, [make_step(2)])]
    facts = facts_with(ticked={1} if finished else set(), halts={1: "A fire."})
    halted = state_of(stages, 0, facts)
    assert halted.state == "shut" and [(r.code, r.halt) for r in halted.reasons] == [("halt", "A fire.")]
    assert state_of(stages, 1, facts).state == "open"


@pytest.mark.parametrize("powered", [False, True])
def test_an_unanswered_stop_shuts_every_stage_whether_finished_or_not(powered):
    stage = make_stage(1, [make_step(1)], powered=powered)
    for ticked in (set(), {1}):
        state = state_of([stage], 0, facts_with(ticked=ticked), STOPPED)
        assert state.state == "shut" and [r.code for r in state.reasons] == ["stop"]


def test_power_on_record_shuts_work_without_power_alone():
    off, on = make_stage(1, [make_step(1)]), make_stage(2, [make_step(2)], powered=True)
    shut = state_of([off], 0, power=LIVE)
    assert shut.state == "shut" and shut.waits_for_safe and [r.code for r in shut.reasons] == ["power"]
    assert state_of([on], 0, power=LIVE).state == "open"
    for power in (DEAD, MADE_SAFE, STOPPED_AND_SAFE):
        assert state_of([off], 0, power=power).state == "open"


def test_a_stage_waits_for_made_safe_only_where_nothing_else_is_missing():
    stages = [make_stage(1, [make_step(1)], gate=True), make_stage(2, [make_step(2)])]
    behind = state_of(stages, 1, power=LIVE)
    assert not behind.waits_for_safe and [r.code for r in behind.reasons] == ["gate", "power"]
    done = state_of(stages, 0, facts_with(ticked={1}), LIVE)
    assert done.state == "done" and not done.reasons and not done.waits_for_safe


def test_a_reason_is_new_where_no_stage_before_it_gave_it(monkeypatch):
    stages = (make_stage(1, [make_step(1)]), make_stage(2, [make_step(2)]), make_stage(3, [make_step(3)]))
    monkeypatch.setattr("builds.bench.gates.gating.guide_stages", lambda build: stages)
    states = stage_states(None, facts_with(halts={2: "A fire."}), LIVE)
    assert [[r.code for r in s.new_reasons] for s in states] == [["power"], ["halt"], []]


def test_why_a_stage_is_shut_is_said_in_a_sentence():
    assert "A fire." in str(Reason("halt", "A fire."))
    assert "Wiring" in str(Reason("gate", title="Wiring", missing=(1, 2, 0)))
    sentences = {code: str(Reason(code)) for code in ("stop", "power")}
    assert all(sentence.endswith(".") for sentence in sentences.values()) and len(set(sentences.values())) == 2


@pytest.mark.parametrize("state", ["open", "shut", "done"])
def test_a_stage_is_open_shut_or_done(state):
    stage = StageState(make_stage(), state=state)
    assert (stage.is_open, stage.is_shut, stage.is_done) == (state == "open", state == "shut", state == "done")


def test_progress_is_a_share_of_steps_and_checks():
    state = state_in(make_stage(items=[make_step(1), make_step(2), make_check(3)]), facts_with(ticked={1}))
    assert (state.finished, state.total) == (1, 3)
    assert state_in(make_stage(), facts_with()).total == 1  # an empty stage divides nothing by zero
