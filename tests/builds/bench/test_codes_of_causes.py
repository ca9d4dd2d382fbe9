"""Confirmed causes and extra readings keep codes, and old rows are given theirs."""

from importlib import import_module
from types import SimpleNamespace

import pytest

from builds.bench.models import ConfirmedFault, ExtraReading
from builds.ui.messages.faults import fault_sentence
from builds.ui.messages.places import place_label
from checks.circuit.prediction.probes import Probe
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.fault import Fault
from checks.diagnosis.place import Place

migration = import_module("builds.bench.migrations.0026_codes_for_causes")
OPEN = Fault("R2 open", "", "open", ("R2",), 1.0, code=FaultCode.OPEN)
MISREAD = Fault(
    "R2 68k", "", "misread", ("R2",), 1.0, code=FaultCode.TEN_TIMES_TOO_LARGE, params={"ohms": 68e3, "listed": 6.8e3}
)
OWN = Fault("own lead", "R1's lead breaks", "own", ("R1",), 9.0)


@pytest.mark.parametrize("fault", [OPEN, MISREAD, OWN])
def test_a_confirmed_cause_says_what_its_fault_says(fault):
    assert ConfirmedFault.of(fault).sentence == fault_sentence(fault)


def test_only_a_designers_own_words_are_kept_as_words():
    assert [ConfirmedFault.of(fault).words for fault in (OPEN, MISREAD, OWN)] == ["", "", "R1's lead breaks"]


def test_a_cause_whose_code_is_unknown_keeps_its_words_and_never_shows_nothing():
    assert ConfirmedFault(fault="old", words="R9 was burnt").sentence == "R9 was burnt"
    assert ConfirmedFault(fault="old").sentence == "old"


def test_an_old_cause_is_given_the_code_only_where_key_and_sentence_agree():
    row = SimpleNamespace(fault="R2 open", words=fault_sentence(OPEN))
    assert migration.code_of(row, [MISREAD, OPEN]).code is FaultCode.OPEN
    assert migration.code_of(SimpleNamespace(fault="R2 open", words="R2 was bent"), [OPEN]) is None
    assert migration.code_of(SimpleNamespace(fault="R3 open", words=row.words), [OPEN]) is None


def test_a_place_is_named_by_its_points_or_its_title():
    pin = Place("", "", Probe("V2.7", "chassis", "resistance"), "off")
    ends = Place("", "", Probe("a", "b", "resistance"), "off", part="R5")
    live = Place("", "", Probe("V2.7", "chassis", "dc volts"), "on")
    titled = Place("power", "b-plus", Probe("ht", "chassis", "dc volts"), "on", "B+ at the reservoir")
    labels = [place_label(place) for place in (pin, ends, live, titled)]
    assert len(set(labels)) == 4 and labels[3] == "B+ at the reservoir"
    assert ExtraReading(place=pin.name).label == labels[0]
    assert ExtraReading(place=ends.name, part=ends.part).label == labels[1]
