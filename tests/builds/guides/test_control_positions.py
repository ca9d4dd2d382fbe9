"""A control that a stage's words set one way and a check's words another is warned of."""

import pytest

from builds.guides.demo.files import demo_zip
from builds.guides.guide_file import circuit_warnings, read_guide
from builds.guides.guide_file.control_positions import position_warnings, positions_in

PARTS = [
    {"ref": "RV1", "kind": "potentiometer", "note": "Volume"},
    {"ref": "RV2", "kind": "potentiometer", "note": "Tone"},
]


def warned(step="", title="Pin 2", note="", **stage):
    rows = {
        "step": [{"key": "set", "text": step}] if step else [],
        "check": [{"key": "c", "title": title, "note": note}],
    }
    return [key for _stage, key, _message in position_warnings([{"key": "s", **rows, **stage}], PARTS)]


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("Turn RV1 (volume) fully up and RV2 to the middle.", {"rv1": 1.0, "volume": 1.0, "rv2": 0.5}),
        ("V1 pin 2 to chassis, volume at half", {"volume": 0.5}),
        ("Volume down. Give it five minutes.", {"volume": 0.0}),
        ("Volume. Down at the chassis", {}),
        ("Read down the list", {}),
        ("Turn the volume to the middle of its travel: half of its track is what you read.", {"volume": 0.5}),
    ],
)
def test_positions_are_read_from_words(text, result):
    assert positions_in(text) == result


def test_a_step_that_says_full_and_a_check_that_says_half_contradict():
    assert warned("Turn RV1 fully up.", "Pin 2, volume at half") == ["c"]
    assert warned("Turn RV1 to the middle.", "Pin 2, volume at half") == []


def test_a_stage_set_to_full_and_a_check_that_says_down_contradict():
    assert warned(note="Volume down for this one.", settings={"RV1": 1.0}) == ["c"]
    assert warned(note="Tone down for this one.", settings={"RV1": 1.0}) == []


def test_a_step_between_sets_the_control_for_what_follows():
    stage = {
        "key": "s",
        "step": [{"key": "up", "text": "Volume fully up."}, {"key": "half", "text": "Volume to the middle."}],
        "check": [{"key": "c", "title": "Pin 2, volume at half"}],
        "order": ["up", "half", "c"],
    }
    assert not list(position_warnings([stage], PARTS))
    assert list(position_warnings([stage | {"order": ["half", "up", "c"]}], PARTS))


@pytest.mark.lengthy
@pytest.mark.parametrize("name", ["five-watt", "line-preamp"])
def test_the_demonstration_guides_contradict_nothing(name):
    data = read_guide(demo_zip(name))
    assert not list(position_warnings(data["stage"], data["part"]))
    assert not circuit_warnings(demo_zip(name))
