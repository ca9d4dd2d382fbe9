"""A figure across a high source resistance, in a file that names no meter: 10 MΩ behind 1 MΩ reads 1/11 low (the
divider), which is more than a band of 10 % can tell from a fault."""

import pytest

from builds.guides.guide_file.unsaid_meters import unstated_meter_warnings

CHECK = {
    "key": "anode",
    "measure": "dc volts",
    "red": "a",
    "expected": "150 V",
    "band": "10%",
    "source_resistance": "1M",
}


def warned(power="on", **changes):
    check = {name: value for name, value in (CHECK | changes).items() if value is not None}
    return [
        (stage, key) for stage, key, _words in unstated_meter_warnings([{"key": "s", "power": power, "check": [check]}])
    ]


@pytest.mark.parametrize("changes", [{}, {"measure": "ac volts"}, {"expected": None, "low": "135 V", "high": "165 V"}])
def test_a_figure_that_a_meter_would_change_and_no_meter_is_named_for_is_warned_of(changes):
    if "low" in changes:
        changes = changes | {"band": None}
    assert warned(**changes) == [("s", "anode")]


@pytest.mark.parametrize(
    "changes",
    [
        {"read_with": "10M"},
        {"source_resistance": "10k"},
        {"source_resistance": None},
        {"expected": "model", "band": None},
        {"figure_from": "model"},
        {"power": "off"},
        {"source_resistance": "nonsense"},
    ],
)
def test_what_no_meter_changes_or_says_its_meter_is_left_alone(changes):
    assert warned(**changes) == []
