"""Faults whose circuit gives no figure say why, and no check counts as showing them."""

import numpy as np
import pytest

from checks.circuit import Condition
from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.remark import RemarkCode
from checks.circuit.prediction.probes import Probe
from checks.diagnosis import coverage, prepare
from checks.diagnosis.place import Place
from checks.diagnosis.unsolved import why_no_figure
from tests.checks.circuit.kits import parts_of
from tests.checks.circuit.rectifiers.test_choke_input import supply

CHECK = {"key": "p", "measure": "dc volts", "red": "p", "black": "chassis", "through": ""}
STAGES = [{"key": "on", "power": "on", "not_fitted": [], "checks": [CHECK]}]


@pytest.fixture(scope="module")
def prepared():
    return prepare(parts_of(*supply()), STAGES, samples=24)


@pytest.mark.lengthy
def test_every_fault_without_a_figure_says_why(prepared):
    without = {f.key for f, row in zip(prepared.faults, prepared.mean[1:], strict=True) if np.isnan(row).any()}
    assert {"D1 open", "D2 open"} <= without == {one.fault for one in prepared.unsolved}


@pytest.mark.lengthy
def test_the_reason_names_what_is_not_calculated(prepared):
    reasons = {one.fault: one.why for one in prepared.unsolved}
    assert reasons["D1 open"].code is RemarkCode.CHOKE_INPUT
    assert reasons["D1 open"].params == {"refs": "D2", "choke": "L1"}


@pytest.mark.lengthy
def test_no_check_counts_as_showing_a_fault_without_a_figure(prepared):
    covered = coverage(prepared)
    shown, missed = ({f.key for f in faults} for faults in ([f for f, *_ in covered.shown], covered.missed))
    own = {f.key for f in covered.unsolved}
    assert "D1 open" in own and not own & (shown | missed)
    assert shown | missed | own >= {f.key for f in prepared.faults if f.refs == ("R1",)}


def test_what_is_calculated_and_has_no_figure_did_not_settle():
    net = build_network(parts_of(*supply()), Condition())
    places = [Place("on", "p", Probe("p"), "on")]
    assert why_no_figure(places, np.array([np.nan]), net).code is RemarkCode.NOT_SETTLED
    assert why_no_figure(places, np.array([225.0]), net) is None


def test_of_a_guide_without_parts_or_figures_there_is_a_list_with_nothing_in_it():
    """A designer's first stages, before the parts list is typed: the page of causes must not say that it broke."""
    empty = prepare([], [{"key": "on", "power": "on", "not_fitted": [], "checks": []}], samples=12)
    assert empty.faults == () and empty.places == () and not coverage(empty).missed
