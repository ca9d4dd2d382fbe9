"""Words of a guide that name an end of a part, a stage without valves, and a table of readings. Common practice."""

import pytest

from builds.guides.short_names import make_key
from builds.guides.text_import.documents import read_text
from builds.guides.text_import.part_ends import point_named
from builds.guides.text_import.stages import make_plan
from builds.guides.text_import.tables import list_checks

PARTS = [
    {"ref": "C1", "kind": "electrolytic", "value": "47u", "joins": ["ht.1", "chassis"]},
    {"ref": "C9", "kind": "electrolytic", "value": "47u"},
    {"ref": "C4", "kind": "capacitor", "value": "100n", "joins": ["v1a.anode", "v1a.out"]},
    {
        "ref": "V1", "kind": "twin triode", "type": "ECC83", "base": "B9A",
        "pins": {"a": {"anode": "6", "grid": "7", "cathode": "8"}, "b": {"anode": "1", "grid": "2", "cathode": "3"}},
        "joins": {
            "a": {"anode": "v1a.anode", "grid": "g", "cathode": "k"},
            "b": {"anode": "x", "grid": "y", "cathode": "z"},
        },
    },
    {
        "ref": "V2", "kind": "pentode", "type": "EL84", "base": "B9A",
        "pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3"},
        "joins": {"anode": "v2.anode", "screen": "ht.2", "grid": "v2.grid", "cathode": "v2.cathode"},
    },
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "point"),
    [
        ("C1 +", "ht.1"), ("C1+", "ht.1"), ("C1 plus", "ht.1"), ("plus of C1", "ht.1"), ("+ C1", "ht.1"),
        ("C1 positive end", "ht.1"), ("c1 (+)", "ht.1"), ("C1 -", "chassis"), ("Minuspol von C1", "chassis"),
        ("V2 cathode", "V2.3"), ("Kathode V2", "V2.3"), ("anode of V2", "V2.7"), ("V2 g2", "V2.9"), ("V2 grid", "V2.2"),
        ("V2 screen grid", "V2.9"), ("V1a anode", "V1.6"), ("V1 b cathode", "V1.3"),
    ],
)  # fmt: skip
def test_words_name_one_end(text, point):
    assert point_named(text, PARTS) == point


@pytest.mark.parametrize(
    "text",
    ["V1 anode", "C4 +", "C9 +", "C7 +", "C1", "cathode", "V2 cathode to V2 grid", "V2 cathode resistor", "R1 +", ""],
)
def test_words_that_could_mean_another_end_or_none_name_nothing(text):
    assert point_named(text, PARTS) == ""


def stage_of(text):
    return make_plan(read_text(text), PARTS, {"V2.3"}).stages[-1]


@pytest.mark.parametrize(
    "phrase",
    [
        "Valves still in the box. Use a lamp limiter.", "All sockets are empty.", "Leave the sockets empty.",
        "The tubes are not yet fitted.", "Röhren noch nicht gesteckt.", "Without the valves, the rail is high.",
    ],
)  # fmt: skip
def test_a_powered_stage_whose_words_leave_the_valves_out_is_without_them(phrase):
    text = f"# Kit\n\n## Fit parts\n\n1. Fit C1.\n\n## Switching on\n\n{phrase}\n\n1. Switch on.\n"
    assert stage_of(text).is_bare
    assert not stage_of(text + "2. Switch off and fit V2.\n").is_bare


def test_a_stage_with_the_power_off_or_with_valves_is_not_without_them():
    assert not stage_of("# Kit\n\n## A\n\n1. x\n\n## Fit parts\n\nNo valves yet.\n\n1. Fit C1.\n").is_bare
    for text in ("All valves are in.", "No valve glows red.", "Without the valve tester, go on."):
        assert not stage_of(f"# Kit\n\n## A\n\n1. x\n\n## Switch on\n\n{text}\n\n1. Switch on.\n").is_bare


def test_a_table_with_points_measured_and_signs_of_current_is_of_readings():
    rows = [
        ("Measuring point", "Nominal", "Switch off above"),
        ("V2 pin 3", "6.3–7.2 V~", "9 V~"),
        ("C1 +", "305 V=", ""),
    ]
    results = [check.row for check in list_checks(rows, {"V2.3"}, True)]
    assert [(row["measure"], row.get("low"), row.get("high"), row.get("expected")) for row in results] == [
        ("ac volts", "6.3 V", "7.2 V", None),
        ("dc volts", None, None, "305 V"),
    ]
    assert results[0]["stop_above"] == "9 V"


@pytest.mark.parametrize(
    ("title", "key"),
    [
        ("Prüfung ohne Netz", "pruefung-ohne-netz"),
        ("Größe", "groesse"),
        ("Vérification", "verification"),
        ("♥", "step"),
    ],
)
def test_a_key_is_spelled_in_plain_letters(title, key):
    assert make_key(title, set()) == key
