"""The stop that a build stands on once it is made safe."""

import pytest

from builds.bench.gates.gating import Power
from builds.bench.gates.stops import active_stop
from tests.builds.bench.rules.rows import DEAD, LIVE, MADE_SAFE, NOON, STOPPED, STOPPED_AND_SAFE, after

READING = object()


@pytest.fixture(autouse=True)
def record(monkeypatch):
    monkeypatch.setattr("builds.bench.gates.stops.stop_reading", lambda build, power: READING)


@pytest.mark.parametrize("power", [DEAD, LIVE, MADE_SAFE, STOPPED, Power(NOON, after(-1), 7, NOON)])
def test_no_stop_is_made_safe_where_there_is_none_or_nothing_answered_it(power):
    assert active_stop(None, power) is None


def test_a_stop_made_safe_stands_and_is_live_once_power_is_on_again():
    stop = active_stop(None, STOPPED_AND_SAFE)
    assert (stop.reading, stop.made_safe_at, stop.is_live) == (READING, after(1), False)
    assert active_stop(None, Power(after(2), after(1), 7, NOON)).is_live
