"""Estimates of clipping: a linear load line in closed form, the demonstration's output, and what a check refuses."""

import math

import pytest

from checks.circuit import Condition, Probe, Signal, part_from_mapping, predict, predict_scatter
from checks.circuit.netlist.remark import RemarkCode
from checks.circuit.prediction.signals import solve_signal_point
from checks.circuit.signals.large_signal import ClipsBy, class_a_power, find_clipping
from tests.checks.circuit.kits import demo_rows, parts_of
from tests.checks.circuit.signals.circuits import film, operating, stage, volts


def amplifier(**settings):
    parts = [part_from_mapping(row) for row in demo_rows()]
    condition = Condition(settings=tuple(settings.items()), signal=Signal("in.tip", "out.hot", 8.2))
    return parts, condition


def test_a_bypassed_stage_clips_at_its_bias_or_its_current_whichever_is_first():
    point = operating(stage(film("C1", "k", "chassis", "1000u")))
    clip = find_clipping(point)
    bias = volts(point, "k") - volts(point, "g")
    assert clip.input_volts <= bias / math.sqrt(2) * 1.001 and clip.ref == "V1"


def test_a_stage_that_draws_little_is_cut_off_before_its_grid_conducts():
    point = operating(stage(film("C1", "k", "chassis", "1000u"), cathode="6k8"))
    assert find_clipping(point).by is ClipsBy.CUT_OFF


def test_the_demonstration_gives_some_four_watts_as_its_prototype_does():
    """Class A into the load line: at most Ia² R/2, 41 mA in 5 kilohms, less the windings; its guide says 4.4 W."""
    result = class_a_power(solve_signal_point(*amplifier(RV1=1.0)), "out.hot", 8.2)
    assert 3.0 < result.watts < 0.5 * 0.043**2 * 5200 and result.clipping.ref == "V2"
    assert result.output_volts**2 / 8.2 == pytest.approx(result.watts)


@pytest.mark.lengthy
def test_half_the_volume_takes_twice_the_input():
    full, half = (find_clipping(solve_signal_point(*amplifier(RV1=share))).input_volts for share in (1.0, 0.5))
    assert 1.5 < half / full < 2.5


@pytest.mark.lengthy
def test_a_check_beyond_clipping_gets_no_figure_and_one_below_does():
    parts, condition = amplifier(RV1=1.0)
    probes = [Probe("out.hot", "chassis", "ac volts", "", level, 1000.0, "tone") for level in (1e-3, 0.1)]
    below, beyond = predict(parts, condition, probes)
    assert 4 < below.value < 6 and beyond.value is None and beyond.reason.code is RemarkCode.SIGNAL_CLIPS
    one, other = predict_scatter(parts, condition, probes, samples=100)
    assert one.low < one.nominal < one.high and other.nominal is None


@pytest.mark.lengthy
def test_readings_under_a_tone_scatter_by_valves_and_volume():
    parts, condition = amplifier(RV1=1.0)
    (spread,) = predict_scatter(parts, condition, [Probe("out.hot", "chassis", "ac volts", "", 1e-3, 1e3, "tone")], 400)
    assert 0.03 < (spread.high - spread.low) / spread.nominal < 0.6
    assert {d.ref for d in spread.drivers} & {"V1", "V2", "load"}


def test_ripple_is_read_where_no_input_is_stated():
    parts = parts_of(*demo_rows())
    probe = Probe("ht.reservoir", "chassis", "ac volts", "", 0.0, 0.0, "ripple")
    (reading,) = predict(parts, Condition(signal=Signal()), [probe])
    assert 1.5 < reading.value < 3.5  # 48 mA into 47 µF at 100 Hz: 2.3 V of the second harmonic
