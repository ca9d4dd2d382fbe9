"""AC checks proposed from the circuit: under a test tone, and of ripple."""

import copy
from dataclasses import replace

import pytest

from builds.guides.proposals.propose import propose
from builds.guides.proposals.ranking import ranked
from builds.guides.proposals.signals import MOST
from checks.band import Band
from checks.circuit import part_from_mapping
from checks.diagnosis import coverage, prepare
from tests.checks.circuit.kits import guide
from tests.checks.diagnosis.test_signal_faults import guide_stages


def tables(name="five-watt", signals=False):
    result = copy.deepcopy(guide(name))
    for stage in result["stage"]:
        stage["check"] = [c for c in stage.get("check", []) if signals or not c.get("signal")]
    return result | {"fault": result.get("fault", [])}


def signals_of(found):
    return [p for p in found.proposals if p.is_signal]


@pytest.fixture(scope="module")
def proposed():
    return propose(tables(), with_signals=True)


@pytest.mark.lengthy
def test_a_tone_and_ripple_are_proposed_in_the_stage_that_has_the_controls_set(proposed):
    results = {p.row["red"] for p in signals_of(proposed)}
    assert "out.hot" in results and "ht.screen" in results and not proposed.added
    assert {p.stage for p in signals_of(proposed)} == {"under-signal"}
    assert all(p.row["expected"] == "model" and p.low < p.value < p.high for p in signals_of(proposed))


@pytest.mark.lengthy
def test_a_tone_below_what_a_generator_can_set_comes_with_its_divider(proposed):
    tone = next(p for p in signals_of(proposed) if p.row["red"] == "out.hot")
    assert tone.row["signal"]["level"] == "200 µV" and tone.row["signal"]["load"] == "8 Ω"
    assert "100 Ω" in tone.note and "20.2 mV" in tone.note


@pytest.mark.lengthy
def test_no_probe_of_a_tone_is_on_the_supply(proposed):
    tones = [p for p in signals_of(proposed) if p.row["signal"].get("into")]
    assert {p.row["red"] for p in tones} == {"out.hot"}


@pytest.mark.lengthy
def test_a_check_that_the_guide_has_is_marked_so_and_a_direct_one_at_the_same_point_is_not_it():
    results = {p.row["key"]: p.is_there for p in signals_of(propose(tables(signals=True), with_signals=True))}
    assert results["ripple-ht-screen"] and results["tone-out-hot-40-hz"] and not results["tone-out-hot-400-hz"]


@pytest.mark.lengthy
def test_a_guide_without_such_a_stage_gets_one_with_its_controls_set():
    proposals = propose(tables("line-preamp"), with_signals=True)
    (stage,) = proposals.added
    assert stage["settings"] == {"RV1": 1.0, "RV2": 1.0} and {p.stage for p in signals_of(proposals)} == {stage["key"]}
    assert {p.row["signal"].get("into") for p in signals_of(proposals)} == {"l.in", "r.in", None}


@pytest.mark.lengthy
def test_without_being_asked_for_no_signals_are_solved():
    assert not signals_of(propose(tables()))


def after(name, stages, bands):
    """(coverage before, after what is proposed and ranked)."""
    rows = tables(name)
    result = propose(rows, with_signals=True)
    result = ranked(rows, replace(result, proposals=tuple(p for p in result.proposals if p.is_signal)))
    assert 0 < len(signals_of(result)) <= MOST
    parts, mains = [part_from_mapping(row) for row in rows["part"]], rows["kit"]["mains"]
    before = coverage(prepare(parts, stages, mains, samples=48), bands)
    more = [
        stage | {"checks": [{"black": "chassis", "through": "", **p.row} for p in signals_of(result)], "not_fitted": []}
        for stage in result.stages
        if stage["key"] == signals_of(result)[0].stage
    ]
    bands = bands | {p.name: Band(p.low, p.high, p.value) for p in signals_of(result)}
    return before, coverage(prepare(parts, [*stages, *({"supply": {}} | s for s in more)], mains, samples=48), bands)


@pytest.mark.slow
def test_at_most_five_proposed_checks_bring_the_five_watt_guide_to_nineteen_twentieths():
    """With the bands that the circuit gives them: no wider ones are known when they are added."""
    stages, bands = guide_stages()
    stages = [stage | {"checks": [c for c in stage["checks"] if not c.get("signal")]} for stage in stages]
    before, result = after("five-watt", stages, bands)
    assert result.share >= 0.95 > before.share, (before.share, result.share)


@pytest.mark.slow
def test_proposed_checks_show_the_capacitors_of_another_guide():
    """A stereo preamplifier: each channel's bypass and coupling, which its own checks cannot tell."""
    rows = [
        {"power": "off", "not_fitted": [], "supply": {}, **stage}
        | {"checks": [{"black": "chassis", "through": "", **c} for c in stage.get("check", [])]}
        for stage in tables("line-preamp")["stage"]
    ]
    before, result = after("line-preamp", rows, {})
    opened = {"C10 open", "C11 open", "C20 open", "C21 open"}
    assert opened <= {fault.key for fault in before.missed}
    assert not opened & {fault.key for fault in result.missed}
