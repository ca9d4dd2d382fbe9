"""Ratings right between two points."""

import pytest

from checks.circuit.netlist.parts import part_from_mapping
from checks.circuit.ratings.bounds import rated_volts
from checks.statistics.tolerance import Limit, Limits, Reason, compute_scatter, propose

PARTS = [
    part_from_mapping(mapping)
    for mapping in (
        {"ref": "C1", "kind": "electrolytic", "value": "47u", "volts": "450 V", "joins": ["ht", "chassis"]},
        {"ref": "C2", "kind": "capacitor", "value": "100n", "volts": "400 V", "joins": ["ht", "chassis"]},
        {"ref": "R1", "kind": "resistor", "value": "220R", "joins": ["cathode", "chassis"]},
        {
            "ref": "V1",
            "kind": "pentode",
            "type": "EL84",
            "base": "B9A",
            "pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3", "heater": ["4", "5"]},
            "joins": {"anode": "plate", "screen": "ht", "grid": "g", "cathode": "cathode", "heater": ["h1", "h2"]},
            "limits": {"anode_volts": 300, "screen_volts": 320},
        },
    )
]


@pytest.mark.parametrize(
    ("red", "black", "expected"),
    [
        ("ht", "cathode", (320, "V1")),
        ("V1.7", "chassis", (300, "V1")),
        ("V1.9", "V1.3", (320, "V1")),
        ("chassis", "ht", (320, "V1")),
        ("cathode", "chassis", None),
        ("ht", "ht", None),
        ("nowhere", "chassis", None),
        ("V1.8", "chassis", None),
    ],
)
def test_the_least_rating_between_two_points_is_found(red, black, expected):
    assert rated_volts(PARTS, red, black) == expected


def test_a_valve_that_is_not_fitted_bounds_nothing():
    assert rated_volts(PARTS[:3], "ht", "chassis") == (400, "C2")


def test_no_band_is_proposed_past_a_rating_and_no_figure_beyond_it():
    values = [285, 296, 291, 288, 293, 290]
    limits = Limits(rated=(300, "V1"))
    free, cut = propose(compute_scatter(values)), propose(compute_scatter(values), limits)
    assert free.high > 300 == cut.high and (cut.limit, cut.part) == (Limit.RATING, "V1") and cut.low == free.low
    beyond = propose(compute_scatter([v + 20 for v in values]), limits)
    assert (beyond.reason, beyond.limit, beyond.part) == (Reason.BEYOND, Limit.RATING, "V1")
    assert propose(compute_scatter([-v for v in values]), limits).low == -300
