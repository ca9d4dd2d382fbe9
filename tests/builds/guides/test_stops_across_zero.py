"""A part that is rated both ways round sets the limit on the band's side of zero; the other side says nothing new."""

import pytest

from builds.guides.rated_stops import stops_for, with_rated_stops
from checks.band import Band
from checks.circuit import RatedLimit, StopLimits
from checks.circuit.ratings.stop_limits import LimitOf


def rated(above: float | None, below: float | None) -> StopLimits:
    of = LimitOf.CAPACITOR_VOLTS
    return StopLimits(
        None if above is None else RatedLimit(above, 1, "C1", of),
        None if below is None else RatedLimit(below, -1, "C2", of),
    )


@pytest.mark.parametrize(
    ("band", "limits", "kept"),
    [
        (Band(285, 315), (450, -514), (450,)),
        (Band(285, None), (450, -514), (450,)),
        (Band(None, 25), (450, -514), (450,)),
        (Band(-64, -52), (514, -100), (-100,)),
        (Band(-50, 40), (450, -514), (450, -514)),
        (Band(285, 315), (450, -400), (450, -400)),  # the nearer one lies across zero
        (Band(285, 500), (450, -514), (450, -514)),  # reaches past the rating: nothing holds above
        (Band(-64, None), (514, -100), (514, -100)),  # good readings lie above zero
        (Band(285, 315), (None, -514), (-514,)),
    ],
)
def test_only_limits_that_mean_something_are_shown(band, limits, kept):
    assert tuple(limit.value for limit in stops_for(band, "dc volts", rated(*limits))) == kept


@pytest.mark.parametrize(("band", "limits"), [(Band(285, 315), (450, -514)), (Band(-64, -52), (514, -100))])
@pytest.mark.parametrize("share", [1.001, 1.2, 2.0])
def test_no_stop_is_lost_by_it(band, limits, share):
    held = with_rated_stops(band, "dc volts", rated(*limits))
    assert held is not None
    for limit in limits:
        assert held.stops(limit * share)
