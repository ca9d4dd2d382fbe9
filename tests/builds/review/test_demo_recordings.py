"""The demo's synthesised recordings hold what they are said to: measured by the site, the planted troubles show."""

from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from builds.review.demo.plan import RECORDED, TIRED_VALVE, WORN_RESERVOIR
from builds.review.demo.recordings import FULL_SCALE, PLAYED, build_amplifier
from checks.tone.analysis import analyse
from checks.tone.hum import Origin
from checks.tone.sources import Signal, SignalPlan

GOOD = 1


@cache
def measured(number: int, letter: str, signal: Signal):
    hertz = {Signal.TONE: (1000.0,), Signal.SWEEP: (8.0, 22_000.0)}.get(signal, ())
    plan = SignalPlan(signal, hertz=hertz, seconds=4.0)
    samples = build_amplifier(number, letter, 50.0).plays(SimpleNamespace(plan=plan), np.random.default_rng(number))
    return analyse(plan, plan.rate, 1, lambda: [samples[:, None]])[0]


def harmonic(number: int, letter: str, order: int) -> float:
    distortion = measured(number, letter, Signal.TONE).distortion
    return distortion.relative(next(h.line for h in distortion.harmonics if h.order == order))


def test_the_tone_is_as_loud_as_the_meter_is_said_to_have_shown():
    rms = measured(GOOD, "A", Signal.TONE).distortion.fundamental.rms
    assert rms * FULL_SCALE == pytest.approx(PLAYED, rel=0.02)


@pytest.mark.lengthy
def test_the_worn_reservoir_hums_at_twice_the_mains_and_a_good_one_hardly():
    worn, good = (measured(n, "A", Signal.SILENCE).hum for n in (WORN_RESERVOIR, GOOD))
    assert worn.origin is Origin.RECTIFIED and worn.total > 3 * good.total


def test_the_tired_valve_has_more_second_harmonic_and_no_more_third():
    assert harmonic(TIRED_VALVE, "A", 2) - harmonic(GOOD, "A", 2) > 6
    assert abs(harmonic(TIRED_VALVE, "A", 3) - harmonic(GOOD, "A", 3)) < 3


@pytest.mark.lengthy
def test_revision_b_has_less_third_harmonic_and_as_much_second():
    numbers = [int(serial[-3:]) for serial in RECORDED]
    a, b = ([harmonic(n, letter, 3) for n in numbers] for letter in "AB")
    assert max(b) < min(a) - 3
    assert abs(harmonic(GOOD, "A", 2) - harmonic(GOOD, "B", 2)) < 1


@pytest.mark.lengthy
def test_hum_over_the_sweep_does_not_pass_for_the_edge_of_the_response():
    """At 100 Hz it stands 24 dB below the sweep, and used to be taken for a hole in the response."""
    edge, u = measured(WORN_RESERVOIR, "A", Signal.SWEEP).response.edge_with_doubt(3.0, -1)
    assert abs(edge - build_amplifier(WORN_RESERVOIR, "A", 50.0).edges[0]) < 3 * u < 10
