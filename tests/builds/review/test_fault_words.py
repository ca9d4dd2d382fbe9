"""Faults listed part by part."""

import pytest

from builds.review.templatetags.parts import by_part, natural, refs_of, short
from checks.diagnosis import Fault


def fault(words, *refs):
    return Fault(words, words, "value", refs, 1.0)


def test_faults_stand_under_their_part_in_the_order_of_names_without_saying_it_again():
    faults = [
        fault("R10 is open", "R10"),
        fault("R2 and R10 have changed places", "R2", "R10"),
        fault("pin 7 of V1 is not soldered", "V1"),
        fault("R2 is ten times too large", "R2"),
        fault("the line is low"),
        fault("RV2's track is open", "RV2"),
    ]
    assert by_part(faults) == [
        ("R2", ["changed places with R10", "ten times too large"]),
        ("R10", ["open"]),
        ("RV2", ["track is open"]),
        ("V1", ["pin 7 of V1 is not soldered"]),
        ("", ["the line is low"]),
    ]
    assert by_part([]) == []


@pytest.mark.parametrize(
    ("words", "ref", "said"),
    [("R1 is open", "R1", "open"), ("R10 is open", "R1", "R10 is open"), ("C9 leaks", "C9", "leaks")],
)
def test_a_part_is_dropped_only_where_it_is_the_one(words, ref, said):
    assert short(fault(words, ref)) == said


def test_parts_that_look_alike_are_named_once_each():
    alike = [
        fault("R10 is open", "R10"),
        fault("R5 is open", "R5"),
        fault("R5 and R10 have changed places", "R5", "R10"),
    ]
    assert refs_of(alike) == "R5, R10"
    assert natural("R2") < natural("R10") < natural("RV1")
