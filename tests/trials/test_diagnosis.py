"""How the runner judges what the bench says: by the part and the kind of trouble, and never kindly."""

from collections import Counter
from types import SimpleNamespace

import pytest

from checks.diagnosis.codes import FaultCode
from tests.trials import draw
from tests.trials.diagnosis import MOMENTS, SAME, Told, is_same, moments, try_kit, typed


def fault(code, *refs, **params):
    return SimpleNamespace(code=code, refs=refs, params=params)


MISREAD = fault("misread", "R1", ohms=2500.0, listed=1500.0)


@pytest.mark.parametrize(
    ("truth", "told", "same"),
    [
        (("open", ["R6"], ""), fault("open", "R6"), True),
        (("open", ["R6"], ""), fault("open", "R7"), False),
        (("open", ["R6"], ""), fault("short", "R6"), False),
        (("high", ["R1"], ""), fault("ten times too large", "R1"), True),
        (("high", ["R1"], ""), fault("ten times too small", "R1"), False),
        (("high", ["R1"], ""), MISREAD, True),
        (("low", ["R1"], ""), MISREAD, False),
        (("swap", ["R1", "R2"], ""), fault("changed places", "R1", "R2"), True),
        (("swap", ["R1", "R2"], ""), fault("changed places", "R1", "R3"), False),
        (("bridge", ["V1"], "pins 6 and 7 bridged"), fault("pins touch", "V1", pin="6", other="7"), True),
        (("bridge", ["V1"], "pins 6 and 7 bridged"), fault("pins touch", "V1", pin="7", other="8"), False),
        (("tap", ["T1"], "wired for 115 V"), fault("tap for half the mains"), True),
        (("tap", ["T1"], "wired for 115 V"), fault("tap for twice the mains"), False),
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


R6, R7 = (fault("open", "R6"),), (fault("open", "R7"),)


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


def test_a_path_on_no_list_is_named_by_its_two_nodes_and_by_no_other_path():
    path = build(truth=[["unlisted", ["R6", "R7"], "x.a to y: 1e+04 ohm"]], kit="lone-six")
    named, astray = ((fault("stray path", one=one, other=other),) for one, other in (("y", "x.a"), ("y", "chassis")))
    assert Told(path, 0.1, 0.1, [(named, 0.8)], False).right
    assert not Told(path, 0.1, 0.1, [(astray, 0.8)], False).right
    pins = build(truth=[["unlisted", ["R6"], "one.cath to two.grid: 1e+04 ohm"]], kit="lone-six")
    for other, right in (("4", True), ("2", False)):  # of a 6SN7 whose pin 3 is a cathode and pin 4 a grid
        leak = (fault("pins leak", "V1", pin="3", other=other),)
        assert Told(pins, 0.1, 0.1, [(leak, 0.8)], False).right is right


def test_a_blown_fuse_is_the_right_part_and_not_the_right_fault():
    fuse = (fault("fuse blown", "F2"),)
    told = Told(build(blown=["F2"], truth=[["reversed", ["C1"], ""]]), 0.0, 0.0, [(fuse, 0.9)], True)
    assert told.right_part and not told.right


def test_every_code_that_counts_as_right_is_one_of_the_sites():
    """A code that is renamed would make every answer of its kind wrong."""
    assert set().union(*SAME.values()) <= {code.value for code in FaultCode}


@pytest.mark.slow
@pytest.mark.django_db
def test_builds_are_entered_and_told_of_as_on_the_site(monkeypatch):
    """The whole way with three builds of one kit; what the bench says of them is for the trial to print."""
    monkeypatch.setattr("builds.jobs.queue.on_commit", lambda work: None)
    ours = [b for b in draw.read() if b["kit"] == "evening-six"]
    spoiled = next(b for b in ours if b["off"].startswith("supply/") and b["due"] > 3)
    chosen = [spoiled, next(b for b in ours if b["kind"] == "healthy" and not b["off"])]
    silent = Counter()
    told = list(try_kit("evening-six", [*chosen, spoiled | {"off": ""}], silent))
    assert [moment for moment, _ in told] == [*MOMENTS, *MOMENTS]
    assert silent == {"no reading is off": 1}
    for _, one in told:
        assert 0.99 < one.clear + one.other + sum(p for _faults, p in one.groups) < 1.01
    assert told[3][1].right
