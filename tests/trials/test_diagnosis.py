"""How the runner judges what the bench says: by the part and the kind of trouble, and never kindly."""

from types import SimpleNamespace

import pytest

from tests.trials.diagnosis import Told, is_same, moments, typed


def fault(key, kind, *refs, words=""):
    return SimpleNamespace(key=key, kind=kind, refs=refs, words=words)


MISREAD = fault("R1 as 2500", "misread", "R1", words="R1 is 2.5 kΩ instead of 1.5 kΩ (brown taken for red)")


@pytest.mark.parametrize(
    ("truth", "told", "same"),
    [
        (("open", ["R6"], ""), fault("R6 open", "open", "R6"), True),
        (("open", ["R6"], ""), fault("R7 open", "open", "R7"), False),
        (("open", ["R6"], ""), fault("R6 short", "short", "R6"), False),
        (("high", ["R1"], ""), fault("R1 x10", "decade", "R1"), True),
        (("high", ["R1"], ""), fault("R1 x0.1", "decade", "R1"), False),
        (("high", ["R1"], ""), MISREAD, True),
        (("low", ["R1"], ""), MISREAD, False),
        (("swap", ["R1", "R2"], ""), fault("R1 and R2 swapped", "swapped", "R1", "R2"), True),
        (("swap", ["R1", "R2"], ""), fault("R1 and R3 swapped", "swapped", "R1", "R3"), False),
        (("bridge", ["V1"], "pins 6 and 7 bridged"), fault("V1 bridge 6-7", "bridge", "V1"), True),
        (("bridge", ["V1"], "pins 6 and 7 bridged"), fault("V1 bridge 7-8", "bridge", "V1"), False),
        (("tap", ["T1"], "wired for 115 V"), fault("tap x2", "tap"), True),
        (("tap", ["T1"], "wired for 115 V"), fault("tap x0.5", "tap"), False),
        (("unlisted", ["R1"], ""), MISREAD, False),
    ],
)
def test_a_fault_is_the_true_one_by_part_kind_and_direction(truth, told, same):
    assert is_same(truth, told) is same


@pytest.mark.parametrize(
    ("shown", "meter", "measure", "text"),
    [
        (None, "basic", "resistance", "OL"),
        (284.0, "basic", "dc volts", "284 V"),
        (284.4, "handheld", "dc volts", "284.4 V"),
        (8.2, "handheld", "dc volts", "8.20 V"),
        (-0.012, "handheld", "dc volts", "-0.0120 V"),
        (217500.0, "handheld", "resistance", "217.5 kΩ"),
        (0.3, "basic", "continuity", "0.3 Ω"),
        (0.371, "basic", "current", "0.371 V"),
    ],
)
def test_a_reading_is_typed_with_the_digits_of_its_meter(shown, meter, measure, text):
    assert typed(shown, meter, measure) == text


def build(**more):
    readings = [("a/x", 1.0), ("a/y", 9.0), ("a/z", 3.0)]
    row = {"kind": "single", "truth": [["open", ["R6"], ""]], "readings": readings, "off": "a/y", "stop": False}
    return row | {"blown": [], "late": False, "due": 9.0} | more


def test_readings_come_in_as_they_are_taken():
    assert moments(build()) == [[("a/x", 1.0), ("a/y", 9.0)], [("a/y", 9.0)], [("a/z", 3.0)]]
    assert moments(build(off="")) == [build()["readings"], [], []]
    assert moments(build(stop=True)) == [[("a/x", 1.0), ("a/y", 9.0)], [], []]


R6, R7 = (fault("R6 open", "open", "R6"),), (fault("R7 open", "open", "R7"),)


def test_what_is_said_first_is_right_only_if_it_is_true():
    assert Told(build(), 0.1, 0.1, [(R6, 0.8)], True).right
    assert not Told(build(), 0.1, 0.1, [(R7, 0.8)], True).right
    assert not Told(build(), 0.6, 0.1, [(R6, 0.3)], True).right
    assert Told(build(), 0.1, 0.0, [(R7, 0.9)], True).is_sure_and_wrong
    assert not Told(build(), 0.1, 0.2, [(R7, 0.7)], True).is_sure_and_wrong


def test_a_healthy_build_is_right_only_when_called_clear():
    sound = build(kind="healthy", truth=[], off="")
    assert Told(sound, 0.7, 0.1, [(R6, 0.2)], True).right
    assert not Told(sound, 0.2, 0.1, [(R6, 0.7)], True).right


def test_of_a_fault_on_no_list_the_part_or_unknown_is_right_and_clear_never():
    odd = build(truth=[["unlisted", ["R6"], "2.1 times its value"]])
    assert Told(odd, 0.1, 0.1, [(R6, 0.8)], False).right
    assert Told(odd, 0.1, 0.8, [(R7, 0.1)], False).right
    assert not Told(odd, 0.8, 0.1, [(R6, 0.1)], False).right
    path = build(truth=[["unlisted", ["R6", "R7"], "x to y: 1e+04 ohm"]])
    assert not Told(path, 0.1, 0.1, [(R6, 0.8)], False).right


def test_a_blown_fuse_is_the_right_part_and_not_the_right_fault():
    fuse = (fault("F2 blown", "fuse", "F2"),)
    told = Told(build(blown=["F2"], truth=[["reversed", ["C1"], ""]]), 0.0, 0.0, [(fuse, 0.9)], True)
    assert told.right_part and not told.right
