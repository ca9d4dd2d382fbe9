"""What is not solved again reads as if it were, and what a fault leaves in the air is predicted as a bench finds it."""

import numpy as np
import pytest

from checks.circuit.netlist.conditions import Condition
from checks.circuit.prediction.probes import Probe
from checks.diagnosis import fault_list, prepare, reuse, solved
from checks.diagnosis.centring import FURTHEST, centre_on
from checks.diagnosis.codes import Parasitic
from checks.diagnosis.parasitics import on_ends, on_tags, parasitics
from checks.diagnosis.place import Place
from checks.diagnosis.solving import (
    HEALTHY,
    METER_OHMS,
    Bench,
    Variant,
    simulate_loading,
    simulate_middles,
    with_meters,
)
from tests.checks.circuit.kits import parts_of, resistor
from tests.checks.diagnosis.test_faults import PARTS, STAGES
from tests.checks.diagnosis.test_signal_faults import TONE, read, stage

SOME = ("R10 open", "V2 7 dry", "C2 open", "C8 open", "V1 weak a", "lamp left in", "D1 open", "R4 other value")
WHOLE = {f.key: f for f in fault_list(PARTS)}
FAULTS = [WHOLE[key] for key in SOME if key in WHOLE]
TONED = stage("tone", "on", [read("out", "ac volts", "out.hot", frequency="1 kHz", **TONE)])


def brute(variants, _net):
    return list(variants) if variants[:1] == [HEALTHY] else [HEALTHY, *variants], np.arange(len(variants)) + (
        variants[:1] != [HEALTHY]
    )


@pytest.mark.slow  # prepares a whole kit twice, once with every fault solved by itself
def test_what_is_solved_once_reads_as_if_each_fault_were_solved_by_itself(monkeypatch):
    made = prepare(PARTS, [*STAGES, TONED], faults=FAULTS, samples=8)
    monkeypatch.setattr(solved, "distinct_variants", brute)
    monkeypatch.setattr(solved, "without_passive", lambda *_: None)
    monkeypatch.setattr(reuse.Benches, "bench", lambda _self, parts, condition, *_: Bench.of(parts, condition))
    each = prepare(PARTS, [*STAGES, TONED], faults=FAULTS, samples=8)
    assert [f.key for f in made.faults] == [f.key for f in each.faults]
    for name in ("mean", "size_mean", "scatter"):
        assert getattr(made, name) == pytest.approx(getattr(each, name), abs=2e-3, nan_ok=True), name


def test_a_fault_of_a_part_that_is_not_there_is_not_solved():
    net = Bench.of([*PARTS, *parasitics(PARTS)], Condition("off", not_fitted={"V1"})).net
    idle = [Variant.of(WHOLE[key]) for key in ("V1 weak a", "V1 gassy a", "mains x0.88")]
    assert all(reuse.is_idle(one, net) for one in idle)
    assert not reuse.is_idle(Variant.of(WHOLE["R10 open"]), net)
    kept, back = reuse.distinct_variants([HEALTHY, *idle, Variant.of(WHOLE["R10 open"])], net)
    assert (len(kept), list(back)) == (2, [0, 0, 0, 0, 1])


def test_a_reservoir_that_is_gone_is_solved_again_and_a_bypass_is_not():
    bench = Bench.of(PARTS, Condition("on"))
    assert reuse.without_passive(bench, Condition("on", not_fitted={"C5"})) is not None
    assert reuse.without_passive(bench, Condition("on", not_fitted={"C1"})) is None
    assert reuse.without_passive(bench, Condition("on", not_fitted={"R10"})) is None


def place(red, black="chassis"):
    return Place("s", red, Probe(red, black, "dc volts"), "on")


def test_a_meter_across_a_winding_does_not_hide_its_rectifier():
    """Once it did: every reading of a kit with a winding's end in doubt was left without a meter."""
    bench = Bench.of(on_ends(PARTS), Condition("on"))
    places = [place("ht.a"), place("ht.reservoir")]
    bare, ports = simulate_middles(bench, places, [HEALTHY])
    shown, _ohms = simulate_loading(bench, places, [HEALTHY], bare, ports)
    assert not np.isnan(shown).any() and shown[0, 1] == pytest.approx(bare[0, 1], rel=1e-3)
    net, columns = with_meters(bench.net, places)
    assert net.banks == bench.net.banks and set(columns) == {0, 1}
    assert all(r.parameter <= net.parameters.fixed for r in bench.net.resistives)


def test_a_divider_is_predicted_as_a_meter_of_ten_megohms_shows_it():
    """24 V on 10 and 10 megohms: 12 V by themselves, and 8 V with 10 more across the lower one; its source has 5."""
    supply = {"ref": "PS1", "kind": "dc supply", "value": "24 V", "joins": {"plus": "in", "minus": "chassis"}}
    parts = parts_of(supply, resistor("R1", "in", "m", "10M"), resistor("R2", "m", "chassis", "10M"))
    bench = Bench.of(parts, Condition("on"))
    bare, ports = simulate_middles(bench, [place("m")], [HEALTHY])
    shown, ohms = simulate_loading(bench, [place("m")], [HEALTHY], bare, ports)
    assert bare[0, 0] == pytest.approx(12.0, rel=1e-4) and shown[0, 0] == pytest.approx(8.0, rel=1e-4)
    assert ohms[0, 0] == pytest.approx(5e6, rel=1e-3) and METER_OHMS == 1e7


def test_a_sound_tag_leaks_nowhere():
    """A hundred megohms at a sound grid took a tenth of the volts off the cathode of a stage that leans on it."""
    leaks = [p for p in on_tags(PARTS) if " stray " in p.ref]
    assert leaks and all(p.value > 1e12 for p in leaks)
    dry = WHOLE["V2 7 dry"]
    assert [move.ref for move in dry.moves] == ["V2 joint 7", "V2 stray 7"]
    assert dry.loosens(Parasitic.JOINT)


def test_a_grid_that_nothing_holds_goes_where_ions_take_it_and_a_held_one_stays():
    assert any(
        " gas " in move.ref or move.ref.endswith(" gas") for move in WHOLE["R9 open"].moves + WHOLE["R12 open"].moves
    )
    for fault in WHOLE.values():
        assert len({(m.ref, m.what) for m in fault.moves}) == len(fault.moves), fault.key


def test_a_bad_contact_before_the_transformer_is_ohms_in_its_primary():
    (move,) = WHOLE["S1 cold"].moves
    assert (move.ref, move.what) == ("T1", "primary ohms")
    assert WHOLE["S1 cold"].sizes == tuple(s for s in WHOLE["T1 primary ohms"].sizes if s > 1)


@pytest.mark.parametrize(("share", "moved"), [(np.exp(FURTHEST) * 0.9, True), (np.exp(FURTHEST) * 1.2, False)])
def test_a_centre_three_times_off_is_a_wrong_figure(share, moved):
    made = prepare(PARTS, STAGES[:1], faults=FAULTS[:1], samples=4)
    nominal = float(made.nominal[made.index["cold/k"]])
    at = centre_on(made, {"cold/k": nominal * share})
    assert (float(at.nominal[at.index["cold/k"]]) != nominal) is moved
