"""What a code of checks/ becomes on the screen: a sentence in the reader's language, never the developers' text."""

import ast
import logging
from pathlib import Path

import pytest

from builds.guides.check_signals import SIGNAL_MESSAGES
from builds.review.valve_tests import refusal_text
from builds.ui.errors import SiteError
from builds.ui.messages import (
    advice,
    circuit,
    colours,
    derived,
    errors,
    faults,
    findings,
    mains,
    meter,
    outcomes,
    own_faults,
    parts_list,
    recordings,
    tone,
    verdicts,
)
from builds.ui.messages.errors import message_for
from builds.ui.messages.parts_list import circuit_message
from checks import codes
from checks.circuit.netlist.parameters import Assumed
from checks.circuit.netlist.remark import RemarkCode
from checks.circuit.netlist.transistors import Figure
from checks.circuit.ratings.circumstances import Circumstance
from checks.circuit.ratings.stop_limits import LimitOf
from checks.derived import LimitOutcome, Quantity
from checks.diagnosis.advice import AdviceCode
from checks.diagnosis.codes import FaultCode, Likelihood
from checks.diagnosis.common_mistakes import MistakeKind
from checks.diagnosis.slips import SlipKind
from checks.errors import ChecksError
from checks.mains import HertzRemark
from checks.outcomes import Outcome, Reason
from checks.selfcheck import Trim
from checks.statistics.dependence import CircumstanceKind
from checks.tone.hum import Origin
from checks.tone.sources import Signal
from checks.tone.trust import Doubt

CHECKS = Path(__file__).resolve().parents[3] / "checks"
# Raised by what is called with figures of the code's own, or caught before a screen.
NEVER_SHOWN = {
    "no sweep",  # an analysis of another signal than the one played
    "no steps",
    "no inverse",
    "ratio",
    "schematic-size",  # a circuit that is not drawn stays a table
    "schematic-room",
    "tested-not-above-zero",  # the form of a tested valve has limits of its own
    "tested-accuracy",
    "level",
    "levels",
}


def codes_raised() -> dict[str, str]:
    """Every code that checks/ raises, and where."""
    found: dict[str, str] = {}
    for path in sorted(CHECKS.rglob("*.py")):
        for call in (n for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Call)):
            name = call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")
            given = [k.value for k in call.keywords if k.arg == "code"] if name == "ChecksError" else []
            given += {"wrong": call.args[2:3], "_wrong": call.args[1:2]}.get(name, [])
            for code in given:
                if isinstance(code, ast.Constant):
                    found.setdefault(code.value, f"{path.relative_to(CHECKS)}:{call.lineno}")
    return found


@pytest.mark.lengthy
def test_every_code_that_a_value_is_refused_with_has_a_sentence():
    sentences = errors.MESSAGES.keys() | parts_list.MESSAGES.keys() | tone.MESSAGES.keys() | SIGNAL_MESSAGES.keys()
    handled = {"tested-screen", "tested-no-current", "tested-strange"}  # read below
    raised = codes_raised()
    assert len(raised) > 150
    without = {code: at for code, at in raised.items() if code not in sentences | handled | NEVER_SHOWN}
    assert not without
    assert not NEVER_SHOWN - raised.keys()
    assert not NEVER_SHOWN & sentences


@pytest.mark.lengthy
def test_only_a_mistake_of_the_program_itself_is_refused_without_a_code():
    """A refusal of what a person entered has a code, so that it has a sentence."""
    without = []
    for path in sorted(CHECKS.rglob("*.py")):
        for call in (n for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.Call)):
            has_code = any(keyword.arg in ("code", None) for keyword in call.keywords)
            if getattr(call.func, "id", "") == "ChecksError" and not has_code:
                without.append(f"{path.relative_to(CHECKS)}:{call.lineno}")
    assert not without


@pytest.mark.parametrize("code", ["tested-screen", "tested-no-current", "tested-strange"])
@pytest.mark.parametrize("argument", ["anode_amps", "transconductance"])
def test_every_refusal_of_a_valve_tester_s_figures_has_a_sentence(code, argument):
    error = ChecksError("developers' text", argument=argument, code=code, usual=0.0012)
    assert "developers" not in refusal_text(error, "ECC83")
    assert refusal_text(error, "ECC83") != refusal_text(ChecksError("developers' text"), "ECC83")


def test_a_code_without_a_sentence_shows_no_developers_text_and_is_logged(caplog):
    error = ChecksError("a sample count of the solver", argument="m", code="no-such-code", ref="R1")
    with caplog.at_level(logging.WARNING):
        shown = [message_for(error), circuit_message(error)]
    assert not any("solver" in text for text in shown)
    assert "no-such-code" in caplog.text and "solver" in caplog.text


def test_a_refusal_of_the_site_shows_its_own_sentence():
    assert message_for(SiteError("Choose another name.", code="over")) == "Choose another name."


@pytest.mark.parametrize("code", own_faults.MESSAGES)
@pytest.mark.parametrize("fault", ["", "r8-batch"])
def test_a_designer_s_own_fault_is_refused_in_a_sentence_that_names_it(code, fault):
    params = {"key": "look", "keys": ["key", "look"], "most": 300, "ref": "R8", "value": "1x", "known": ["open"]}
    text = message_for(ChecksError("fault: look", code=code, fault=fault, **params))
    assert text.endswith(".") and "%(" not in text and fault in text


# What a screen says of each code of an enum; a code without a sentence raises KeyError.
SENTENCE_OF = {
    FaultCode: lambda code: faults._SENTENCES[code](),
    Likelihood: advice.likelihood_label,
    SlipKind: advice.slip_sentence,
    MistakeKind: advice.mistake_sentence,
    AdviceCode: lambda code: advice._ADVICE[code]({}),
    RemarkCode: lambda code: circuit._REMARKS[code]({}),
    Assumed: circuit.assumed_label,
    Figure: circuit.assumed_figure_label,
    Circumstance: circuit.circumstance_label,
    LimitOf: lambda code: circuit.limit_source(code, "V1"),
    HertzRemark: lambda code: mains._HERTZ[code](),
    Outcome: outcomes.outcome_label,
    Reason: lambda code: verdicts._FINDINGS[code](),
    LimitOutcome: lambda code: derived._AGAINST[code](),
    Quantity: lambda code: derived._LABELS[code](),
    Trim: meter.trim_label,
    Doubt: lambda code: recordings._TEXTS[code](2),
    Origin: lambda code: recordings.ORIGIN_TEXTS[code],
    Signal: lambda code: recordings.SIGNAL_LABELS[code],
    CircumstanceKind: lambda code: findings.circumstance(findings.Circumstance(code, ("R1",))),
    codes.Slip: lambda code: colours.slip_label(code, ("red", "orange")),
}


# A designer's own words; a current that is never assumed without what it belongs to; nothing to compare with.
WITHOUT_SENTENCE = (FaultCode.OWN, Figure.AMPS, LimitOutcome.NONE)
SHOWN = [code for each in SENTENCE_OF for code in each if not any(code is silent for silent in WITHOUT_SENTENCE)]


@pytest.mark.parametrize("code", SHOWN, ids=repr)
def test_every_code_of_an_enum_has_its_sentence(code):
    assert str(SENTENCE_OF[type(code)](code)).strip()


@pytest.mark.lengthy
def test_no_enum_of_checks_is_overlooked():
    """A new enum is given its sentences, or is named here as one that no screen shows."""
    silent = {"Source", "ClipsBy", "Ink", "SectionKind", "Point", "Parasitic", "Sides", "Better", "Change", "Limit"}
    # asked one by one where their sentences are made
    silent |= {"LineRemark", "Verdict", "Reference", "Kind", "GuideShape"}
    defined = {
        node.name
        for path in CHECKS.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.ClassDef) and any(getattr(base, "id", "") == "StrEnum" for base in node.bases)
    }
    assert defined == silent | {each.__name__ for each in SENTENCE_OF}
