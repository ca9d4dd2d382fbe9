"""Every code of the circuit has a sentence, and the sentences fill in."""

import re
from pathlib import Path

import pytest

import checks.circuit
from builds.guides.check_signals import signal_rules
from builds.ui.messages.circuit import assumed_label, assumed_range, circumstance_label, limit_source, remark_sentence
from builds.ui.messages.parts_list import MESSAGES, circuit_message
from builds.ui.problem_rows import problem_row
from checks.circuit import part_from_mapping, parts_list_errors
from checks.circuit.netlist.parameters import Assumed
from checks.circuit.netlist.remark import RemarkCode
from checks.circuit.ratings.circumstances import Circumstance
from checks.circuit.ratings.stop_limits import LimitOf
from checks.errors import ChecksError

ROOT = Path(checks.circuit.__file__).parent
PARAMS = {
    "refs": ["D1", "D2"],
    "ref": "T1",
    "other": "T2",
    "choke": "L1",
    "capacitor": "C1",
    "rated": 115.0,
    "mains": 230.0,
    "parts": ["R1", "R2"],
    "part": "F1",
    "kind": "lamp",
    "measure": "temperature",
    "red": "a",
    "black": "b",
    "point": "x",
    "volts": 12.6,
    "milliamps": 12.0,
    "critical": 24.0,
    "peak": 354.0,
    "level": 0.1,
    "most": 0.07,
}


@pytest.mark.parametrize("code", RemarkCode)
def test_every_remark_has_a_whole_sentence(code):
    said = remark_sentence({"code": code.value, "params": PARAMS})
    assert said.endswith(".") and "%" not in said and said[0].isupper() or "D1" in said[:4]


def test_figures_of_old_revisions_keep_the_sentence_they_were_made_with():
    assert remark_sentence("an old sentence") == "an old sentence"
    assert remark_sentence(None) == remark_sentence("") == ""


def test_every_code_that_a_part_is_refused_with_has_a_sentence():
    """Codes as written at each `wrong(...)` of checks/circuit: plain words with a hyphen, between quotes. Those of a
    check's signal have theirs in builds/guides/check_signals.py."""
    codes = set()
    for path in [path for path in ROOT.rglob("*.py") if path.name != "signal.py"]:
        for call in re.findall(r"wrong\((.*?)\n\s*\)|wrong\(([^\n]*)\)\n", path.read_text(encoding="utf-8"), re.DOTALL):
            codes |= set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', "".join(call)))
    assert len(codes) > 30
    assert sorted(codes - set(MESSAGES)) == []


@pytest.mark.parametrize(
    "signal",
    [
        {"colour": "red"},
        {"into": 3},
        {"of": "wind"},
        {"into": "v1.grid", "level": "100 mV"},
        {"into": "v1.grid", "level": "loud", "frequency": "1 kHz"},
        {"into": "v1.grid", "level": "0 V", "frequency": "1 kHz"},
    ],
)
def test_every_fault_of_a_signal_has_a_whole_sentence(signal):
    (key, sentence), *_rest = signal_rules({"measure": "ac volts", "signal": signal})
    assert key == "signal" and sentence.endswith(".") and "%(" not in sentence


def test_an_error_is_the_same_sentence_after_it_was_kept():
    rows = [
        {"ref": "R1", "kind": "resistor", "value": "1k", "joins": ["x", "chassis"]},
        {"ref": "C1", "kind": "capacitor", "value": "1u", "joins": ["y", "y"]},
    ]
    errors = parts_list_errors([part_from_mapping(row, line) for line, row in enumerate(rows, 1)])
    assert errors
    for error in errors:
        assert remark_sentence(problem_row(error)) == circuit_message(error)
        assert circuit_message(error).startswith(error.params["ref"])


def test_an_error_within_an_error_is_kept_too():
    with pytest.raises(ChecksError) as caught:
        part_from_mapping({"ref": "R1", "kind": "resistor", "value": "three", "joins": ["x", "chassis"]})
    row = problem_row(caught.value)
    assert row["params"]["inner"]["code"] and remark_sentence(row) == circuit_message(caught.value)


def test_every_circumstance_limit_and_assumption_has_a_label():
    assert all(circumstance_label(c.value) != c.value or " " in c.value for c in Circumstance)
    assert all("V1" in limit_source(of.value, "V1") or of is LimitOf.TOUCH for of in LimitOf)
    assert limit_source(LimitOf.TOUCH, "")
    for of in Assumed:
        assert assumed_label(of.value) and assumed_range({"of": of.value, "minus": 0.1, "plus": 0.1})
    assert assumed_range({"of": Assumed.VALUE, "minus": 0.2, "plus": 0.5}) == "−20/+50 %"
