"""Figures from volts under a test tone, against closed forms and published definitions."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.tone.volts import (
    LoadedVolts,
    ResponsePoint,
    band_edges,
    channel_difference,
    gain,
    level_below,
    output_impedance,
    power_in_load,
)
from tests.references.reader import named, row, rows


@pytest.mark.parametrize("r", rows("PW-"), ids=named)
def test_power_is_volts_squared_over_the_load(r):
    watts = power_in_load(Estimate(r["inputs"]["V_rms"]), Estimate(r["inputs"]["R_ohm"]))
    assert watts.value == pytest.approx(r["expected"]["P_W"], rel=r["rel_tol"])


def test_the_power_s_doubt_counts_the_volts_twice_and_the_load_once():
    """JCGM 100:2008, 5.1.6: relative variances add, the exponent squared."""
    watts = power_in_load(Estimate(6.0, 0.06), Estimate(8.0, 0.4))
    assert watts.u / watts.value == pytest.approx(math.hypot(2 * 0.01, 0.05), rel=1e-3)


def test_hum_lies_below_full_output_as_defined():
    r = row("HUMDB")
    full = math.sqrt(r["inputs"]["P_W"] * r["inputs"]["R"])
    assert level_below(Estimate(r["inputs"]["hum_V"]), Estimate(full)).value == pytest.approx(-r["expected"])


def test_gain_and_balance_are_ratios_of_volts():
    assert gain(Estimate(6.0), Estimate(0.06)).value == pytest.approx(40)
    assert channel_difference(Estimate(1.0), Estimate(2.0)).value == pytest.approx(-6.0206, abs=1e-4)


@pytest.mark.parametrize("volts", (0.0, -1.0))
def test_volts_that_are_not_above_zero_give_no_figure(volts):
    for figure in (gain, channel_difference, level_below):
        with pytest.raises(ChecksError):
            figure(Estimate(volts), Estimate(1.0))
    with pytest.raises(ChecksError):
        power_in_load(Estimate(volts), Estimate(8.0))


@pytest.mark.lengthy
@given(source=st.floats(0.1, 100), impedance=st.floats(0.05, 50), light=st.floats(10, 1000), share=st.floats(0.05, 0.9))
def test_the_output_impedance_that_made_the_volts_is_found_again(source, impedance, light, share):
    loads = light, light * share
    pair = [LoadedVolts(Estimate(source * r / (r + impedance)), Estimate(r)) for r in loads]
    assert output_impedance(*pair).value == pytest.approx(impedance, rel=1e-6)


def test_the_output_impedance_from_no_load_and_one():
    ohms = output_impedance(LoadedVolts(Estimate(10.0, 0.05)), LoadedVolts(Estimate(8.0, 0.04), Estimate(8.0, 0.08)))
    assert ohms.value == pytest.approx(2.0)
    assert ohms.u == pytest.approx(math.hypot(2 * 0.01, *(2.0 * 0.005 * 8 * 10 / (8 * 2),) * 2), rel=0.02)


def test_volts_that_rise_with_the_heavier_load_are_refused():
    with pytest.raises(ChecksError) as refused:
        output_impedance(LoadedVolts(Estimate(8.0), Estimate(16.0)), LoadedVolts(Estimate(8.1), Estimate(8.0)))
    assert refused.value.code == "volts rise"
    with pytest.raises(ChecksError) as refused:
        output_impedance(LoadedVolts(Estimate(8.0), Estimate(8.0)), LoadedVolts(Estimate(7.0), Estimate(8.0)))
    assert refused.value.code == "same load"


def first_order(hertz: float, low: float, high: float) -> float:
    return 1 / math.sqrt((1 + (low / hertz) ** 2) * (1 + (hertz / high) ** 2))


@pytest.mark.parametrize("r", rows("FC-"), ids=named)
def test_the_corner_of_a_coupling_is_its_3_db_point(r):
    corner = r["expected"]
    points = [
        ResponsePoint(corner * 2 ** (k / 6), Estimate(first_order(corner * 2 ** (k / 6), corner, 1e9)))
        for k in range(-12, 61)
    ]
    edges = band_edges(points, 10 * math.log10(2), reference=points[-1].hertz)
    assert edges.low.value == pytest.approx(corner, rel=0.005)
    assert edges.high is None


@pytest.mark.parametrize("order", [1, 2])
@pytest.mark.parametrize("drop", [1.0, 3.0])
@pytest.mark.parametrize("a_point_every", [0.5, 1.0, 2.0])
def test_an_edge_between_points_far_apart_is_as_uncertain_as_the_straight_line_makes_it(order, drop, a_point_every):
    """Read without error, at points an octave or more apart: where a network of the first order, or two alike, has
    fallen by so much follows from its form. Straight lines put it
    5 % off, and 17 times its uncertainty where that is the readings' alone."""
    corner, asked = 100.0, 10 ** (drop / 10 / order) - 1
    exact = corner / math.sqrt(asked + (corner / 8000) ** 2 * 10 ** (drop / 10 / order))
    for turn in np.linspace(0, 1, 9):
        hertz = [*(8000 * 2 ** (-(k + turn) * a_point_every) for k in range(round(10 / a_point_every))), 8000.0]
        points = [ResponsePoint(f, Estimate(first_order(f, corner, 1e9) ** order)) for f in dict.fromkeys(hertz)]
        edge = band_edges(points, drop, reference=8000.0).low
        assert abs(edge.value - exact) < 3 * edge.u + 0.002 * exact


def test_an_edge_that_the_last_reading_hardly_reaches_is_not_certain():
    """A little less at 20 Hz, or more, and there would be none."""
    down = 10 ** (-3.0000001 / 20)
    points = [ResponsePoint(f, Estimate(v, 0.005 * v)) for f, v in ((20, down), (100, 1.0), (1000, 1.0))]
    assert band_edges(points, 3.0).low.u > 10


def test_both_edges_of_a_response_with_their_doubt():
    hertz = [20, 40, 100, 1000, 8000, 16000, 32000]
    points = [ResponsePoint(f, Estimate(2 * first_order(f, 30, 12_000), 0.01)) for f in hertz]
    edges = band_edges(points, 3.0)
    assert 25 < edges.low.value < 32 and 11_000 < edges.high.value < 13_000
    assert 0 < edges.low.u < 3 and 0 < edges.high.u < 1000


@pytest.mark.parametrize(
    ("hertz", "reference"), [((1000,), 1000), ((1000, 1000), 1000), ((2000, 4000), 1000), ((10, 20), 1000)]
)
def test_a_response_without_its_reference_has_no_edges(hertz, reference):
    with pytest.raises(ChecksError):
        band_edges([ResponsePoint(f, Estimate(1.0)) for f in hertz], 3.0, reference)
