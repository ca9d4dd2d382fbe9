"""Harmonics of the sound card itself: they add to the amplifier's by phase, so that a figure near the card's own may be
less than the amplifier's. By the triangle inequality the amplifier's is at most the sum of both."""

import math

import pytest

from checks.derived import Estimate
from checks.tone.analysis import analyse
from checks.tone.requests import FigureRequest, find_figure
from checks.tone.sources import Signal, SignalPlan
from tests.checks.tone.signals import in_blocks, quantised, sines

TONE = SignalPlan(Signal.TONE, 48_000, (1000.0,), 3.0)
OWN = {2: 1e-3, 3: 8e-4}  # shares of the card's
AMPLIFIER = {2: 1.6e-3, 3: 1.5e-3}


def measured(turn):
    """The card's harmonics at an angle to the amplifier's."""
    f = TONE.exact_hertz[0]
    parts = [(0.3, f, 0.0)]
    for order in OWN:
        parts += [(0.3 * AMPLIFIER[order], order * f, 0.4), (0.3 * OWN[order], order * f, 0.4 + turn)]
    return analyse(TONE, 48_000, 1, in_blocks(quantised(sines(3, 48_000, parts), 24)))[0]


@pytest.mark.parametrize("turn", [0.0, 1.0, 2.2, math.pi])
@pytest.mark.parametrize(("measure", "order"), [("second harmonic", 2), ("third harmonic", 3)])
def test_a_harmonic_passes_only_where_the_amplifier_s_own_would(turn, measure, order):
    analysis = measured(turn)
    found = find_figure(FigureRequest(measure, TONE), analysis, None, own=OWN)
    assert found.value + 1.645 * found.u > 20 * math.log10(AMPLIFIER[order])
    alone = find_figure(FigureRequest(measure, TONE), analysis, None)
    assert alone.value == found.value and alone.u < found.u


@pytest.mark.parametrize("turn", [0.0, 2.2, math.pi])
@pytest.mark.parametrize(("measure", "orders"), [("distortion", (2, 3)), ("distortion less 2nd", (3,))])
def test_a_distortion_does_likewise(turn, measure, orders):
    found = find_figure(FigureRequest(measure, TONE), measured(turn), None, own=OWN)
    assert found.value + 1.645 * found.u > 100 * math.hypot(*(AMPLIFIER[order] for order in orders))


def test_a_card_that_is_far_below_changes_nothing_that_counts():
    clean, analysis = dict.fromkeys(OWN, 1e-6), measured(1.0)
    for measure in ("second harmonic", "distortion"):
        found, alone = (find_figure(FigureRequest(measure, TONE), analysis, None, own=own) for own in (clean, None))
        assert found.value == alone.value and found.u == pytest.approx(alone.u, rel=0.01)
    volts = FigureRequest("output volts", TONE)
    assert find_figure(volts, analysis, Estimate(10.0), own=OWN) == find_figure(volts, analysis, Estimate(10.0))
