"""Which stop limits hold at points that carry signals, bias and B+, where the designer gave none.

IEC 62368-1:2018, table 4: ES1 ends at 30 V rms and 60 V DC. √(½ W × 220 kΩ) = 332 V.
"""

import pytest

from builds.guides.rated_stops import stops_for, with_rated_stops
from checks.band import Band
from checks.circuit.ratings.stop_limits import LimitOf, RatedLimit, StopLimits

LEAK = StopLimits(
    RatedLimit(332.0, 1, "R3", LimitOf.DISSIPATION),
    RatedLimit(-332.0, -1, "R3", LimitOf.DISSIPATION),
)
BYPASS = StopLimits(RatedLimit(25.0, 1, "C1", LimitOf.CAPACITOR_VOLTS))
RAIL = StopLimits(RatedLimit(450.0, 1, "C2", LimitOf.CAPACITOR_VOLTS))
HEATER = StopLimits(RatedLimit(7.9, 1, "V1", LimitOf.HEATER_VOLTS))

CASES = (
    ("a grid at the chassis, though its leak stands 332 V", LEAK, "dc volts", (-0.5, 0.5), (60.0, -60.0)),
    ("a cathode whose capacitor stands less than may be touched", BYPASS, "dc volts", (1.0, 1.5), (25.0, -60.0)),
    ("a grid with a bias past any signal: below as its leak stands", LEAK, "dc volts", (-44.0, -36.0), (60.0, -332.0)),
    ("B+, which no touch limit can hold", RAIL, "dc volts", (280.0, 320.0), (450.0, None)),
    ("a heater", HEATER, "ac volts", (6.0, 6.6), (7.9, None)),
    ("alternating volts of a signal", StopLimits(), "ac volts", (0.9, 1.1), (30.0, None)),
    ("a current has no touch limit", LEAK, "current", (0.001, 0.002), (332.0, None)),
)


@pytest.mark.parametrize(
    ("limits", "measure", "edges", "stops"), [case[1:] for case in CASES], ids=[c[0] for c in CASES]
)
def test_a_point_without_a_stop_limit_of_its_own_stops_at(limits, measure, edges, stops):
    band = with_rated_stops(Band(*edges), measure, limits)
    assert (band.stop_above, band.stop_below) == stops


def test_no_stop_is_made_up_where_there_is_no_band():
    assert stops_for(None, "dc volts", LEAK) == () == stops_for(Band(1.0, 2.0), "dc volts", None)
