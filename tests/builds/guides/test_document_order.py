"""Readings stay where a document has them: between the steps that put the kit into that state (common practice)."""

import pytest

from builds.guides.editor.text_form import _read_after
from builds.guides.text_import.documents import read_text
from builds.guides.text_import.order import is_next_thing, list_order, order_over
from builds.guides.text_import.save import merged_stages
from builds.guides.text_import.stages import list_rows, make_plan

TEXT = """# First power
1. Switch on.

| Point | Expected | Tolerance |
| --- | --- | --- |
| V1 pin 6 | 310 V | 10% |

2. Switch off. Unplug. Wait until C1 is below 60 V.
3. Fit V2.

| Point | Expected | Tolerance |
| --- | --- | --- |
| V1 pin 8 | 250 V | 10% |

The readings are against chassis.

# Listening
1. Plug the loudspeaker in.

Then play something quiet.
"""


def stages_of(text: str) -> list[dict]:
    return list_rows(make_plan(read_text(text), [], {"V1.6", "V1.8"}), [])


def test_a_table_between_two_steps_is_read_between_them():
    first = stages_of(TEXT)[0]
    on, off, fit = (step["key"] for step in first["step"])
    assert first["order"] == [on, "v1-pin-6", off, fit, "v1-pin-8"]
    assert "against chassis" in first["step"][-1]["text"]  # how they are read is not to be done after them


def test_a_table_behind_all_steps_needs_no_order():
    assert "order" not in stages_of("# A\n1. Do.\n\n| Point | Expected |\n| --- | --- |\n| V1 pin 6 | 9 V |\n")[0]


@pytest.mark.parametrize("text", [
    "Then plug your tank in and listen.", "Plug your tank in.", "Unplug. Wait a minute.", "Danach Rauschen prüfen.",
    "Netzstecker ziehen.", "Now let it run for an hour.", "**Switch off** and unplug.",
])  # fmt: skip
def test_what_is_to_be_done_after_a_table_is_a_step_after_its_readings(text):
    table = "# A\n1. Switch on.\n\n| Point | Expected |\n| --- | --- |\n| V1 pin 6 | 9 V |\n\n"
    stage = stages_of(table + text)[0]
    assert is_next_thing(text) and len(stage["step"]) == 2
    assert stage["order"] == [stage["step"][0]["key"], "v1-pin-6", stage["step"][1]["key"]]


@pytest.mark.parametrize("text", [
    "If the reading is above 340 V, switch off.", "All readings against chassis, with a 10 MΩ meter.",
    "Wenn C1+ höher liegt: ausschalten.", "Photo 2: the supply.", "Settings: volume down.", "Nowhere else.",
])  # fmt: skip
def test_what_a_text_says_of_the_readings_is_no_step(text):
    assert not is_next_thing(text)


def test_a_heading_behind_a_table_is_a_step_of_its_own_after_it():
    text = (
        "# A\n1. Do.\n\n| Point | Expected |\n| --- | --- |\n| V1 pin 6 | 9 V |\n\n## Listening\n\nIt hums a little.\n"
    )
    stage = stages_of(text + "\n# B\n1. End.\n")[0]
    assert [*stage["order"]] == [stage["step"][0]["key"], "v1-pin-6", stage["step"][1]["key"]]
    assert stage["step"][1]["text"].startswith("**Listening**")


def test_a_check_stands_before_the_step_that_follows_it():
    assert list_order([(0, "a"), (1, "b")], [(1, "x"), (2, "y")]) == ["a", "x", "b", "y"]
    assert list_order([(0, "a"), (1, "b")], [(2, "x")]) == []


def test_what_the_draft_has_besides_stays_behind_what_it_followed():
    old = {"order": ["a", "own", "b", "x"], "step": [{"key": "a"}, {"key": "b"}]}
    old |= {"check": [{"key": "own"}, {"key": "x"}]}
    new = {"order": ["a", "x", "b"], "step": old["step"], "check": [{"key": "x"}]}
    merged = {"step": old["step"], "check": old["check"]}
    assert order_over(old, new, merged) == ["a", "own", "x", "b"]
    with_both_names_alike = {"step": [{"key": "a"}], "check": [{"key": "a"}]}
    assert order_over(with_both_names_alike, new, with_both_names_alike) == []


def test_the_same_document_again_keeps_its_order():
    rows = stages_of(TEXT)
    assert merged_stages(rows, rows) == rows


def test_the_preview_says_which_readings_come_between_two_steps():
    stage = make_plan(read_text(TEXT), [], {"V1.6", "V1.8"}).stages[0]
    assert [_read_after(stage, n) for n in (1, 2, 3)] == ["V1 pin 6", "", ""]


def test_valves_put_in_after_power_are_parts_of_a_step_with_hands_in():
    text = "# First power\n1. Switch on.\n\n# All valves in\n1. Unplug.\n2. Put in V1 and V2.\n3. Switch on.\n"
    valves = [{"ref": ref, "kind": "triode", "base": "B9A"} for ref in ("V1", "V2")]
    step = list_rows(make_plan(read_text(text), valves, set()), valves)[1]["step"][1]
    assert (step["parts"], step["hands_in"]) == (["V1", "V2"], True)


def test_a_chapter_that_is_only_read_is_a_step_to_tick():
    first, second = stages_of(
        "# Before you start\n\nYou need an iron.\n\n# Supply\n\nKeep it unplugged.\n\n1. Fit T1.\n"
    )
    assert [step["text"] for step in first["step"]] == ["You need an iron."] and "intro" not in first
    assert second["intro"] == "Keep it unplugged."
