"""Faults listed part by part, in sentences made from their codes."""

import string
from types import SimpleNamespace

import pytest

from builds.review.templatetags.parts import by_part, natural, refs_of, titled_among
from builds.ui.messages.faults import fault_sentence, fault_under_part, where_to_look
from checks.diagnosis import Fault, fault_list
from checks.diagnosis.codes import FaultCode
from tests.checks.diagnosis.test_faults import PARTS


def fault(code, *refs, **params):
    return Fault(code.value, "", "value", refs, 1.0, code=code, params=params)


def own(text, *refs):
    return Fault(text, text, "own", refs, 1.0)


def test_faults_are_listed_under_their_part_in_the_order_of_names_without_naming_it_again():
    faults = [
        fault(FaultCode.WINDING_OPEN, "R10", winding="ht"),
        fault(FaultCode.CHANGED_PLACES, "R2", "R10", other="R10"),
        fault(FaultCode.DRY_PIN, "V1", pin="7", electrode="grid"),
        fault(FaultCode.TEN_TIMES_TOO_LARGE, "R2"),
        fault(FaultCode.MAINS_LOW),
    ]
    result = by_part(faults)
    assert [ref for ref, _words in result] == ["R2", "R10", "V1", ""]
    assert not [text for ref, (*said,) in result for text in said if ref and text.startswith(ref)]
    assert by_part([]) == []


@pytest.mark.parametrize("listed", fault_list(PARTS), ids=lambda f: f.key)
def test_every_fault_of_the_list_has_its_sentences_with_nothing_left_to_fill_in(listed):
    for text in (fault_sentence(listed), fault_under_part(listed), where_to_look(listed)):
        assert text and "%" not in text and text[-1] != " "
    assert not listed.refs or any(ref in fault_sentence(listed) for ref in listed.refs)
    assert fault_sentence(listed)[0] in string.ascii_uppercase


def test_every_code_has_a_sentence_and_the_designers_words_come_first():
    params = dict.fromkeys(("one", "other", "reason", "type", "pin", "winding", "section", "electrode"), "x")
    for code in set(FaultCode) - {FaultCode.OWN}:
        assert fault_sentence(fault(code, "X1", ohms=1.0, listed=2.0, **params))
    mine = own("R1's lead breaks", "R1")
    assert fault_sentence(mine) == fault_under_part(mine) == "R1's lead breaks" and where_to_look(mine) == ""


def test_parts_that_look_alike_are_named_once_each():
    alike = [own("R10 is open", "R10"), own("R5 is open", "R5"), own("changed", "R5", "R10")]
    assert refs_of(alike) == "R5, R10"
    assert natural("R2") < natural("R10") < natural("RV1")


def test_checks_of_one_title_are_told_apart_by_their_stages_and_others_keep_theirs():
    rows = (("B+", "No valves"), ("B+", "Valves in"), ("Bias", "Valves in"))
    checks = [SimpleNamespace(title=title, stage=SimpleNamespace(title=stage)) for title, stage in rows]
    labels = [titled_among(check, checks) for check in checks]
    assert len(set(labels)) == 3 and labels[2] == "Bias"
    assert "No valves" in labels[0] and "Valves in" in labels[1]


def test_a_stray_path_is_named_by_the_points_where_a_builder_finds_it():
    at = {"one_at": "V2.7", "other_at": "C3"}
    words = fault_sentence(fault(FaultCode.STRAY_PATH, one="v2.anode", other="ht.b", **at))
    assert "V2" in words and "7" in words and "ht.b" in words and "C3" in words and "v2.anode" not in words
    grounded = fault_sentence(fault(FaultCode.STRAY_PATH, one="v2.anode", other="chassis", one_at="V2.7", other_at=""))
    assert grounded != words and "C3" not in grounded
