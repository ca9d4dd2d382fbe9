"""A grid tied to chassis reads zero: the last digits of a solver are no band that a meter could miss."""

import pytest

from builds.guides.figures import NOTHING, model_limits


@pytest.mark.parametrize("unit", ("V", "A"))
@pytest.mark.parametrize(("low", "high"), ((0.0, 0.0), (-6.6e-17, -5.7e-19), (1e-12, 3e-12)))
def test_what_a_meter_shows_of_zero_is_in_band(unit, low, high):
    result = model_limits({"low": low, "high": high}, unit)
    assert result[0] <= -0.9 * NOTHING[unit] and result[1] >= 0.9 * NOTHING[unit]


@pytest.mark.parametrize(
    ("low", "high", "unit"), ((-0.5, 0.3, "V"), (0.02, 0.04, "V"), (0.1, 0.3, "Ω"), (6.0, 6.6, "V"))
)
def test_a_band_of_its_own_stays_as_it_is(low, high, unit):
    assert model_limits({"low": low, "high": high}, unit) == (low, high)
