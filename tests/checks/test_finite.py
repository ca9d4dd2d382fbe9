"""No figure that is no number gets in, and none comes out: whatever holds or takes an uncertainty or a circuit's figure
refuses NaN, infinity and what is below zero where nothing can be."""

import importlib
import inspect
import math
import pkgutil
from dataclasses import dataclass, fields, is_dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import checks
from checks import codes, derived, discharge, mains, meter, quantity, safety, verdict
from checks.band import Band
from checks.circuit.devices.neons import Neon
from checks.circuit.devices.op_amps import OpAmp
from checks.circuit.devices.sources import DirectSource, Regulator
from checks.circuit.devices.transistors import Bipolar, Mosfet
from checks.circuit.netlist.parameters import Parameter
from checks.circuit.netlist.parts import PartSpec, Winding
from checks.circuit.netlist.signal import Signal
from checks.circuit.prediction.heaters import HeaterVolts
from checks.circuit.valves.types import Capacitances, Heater
from checks.codes import decode_colours
from checks.derived import Derived, Estimate, Quantity
from checks.entry import unit_for
from checks.errors import ChecksError
from checks.finite import finite_arguments, finite_figures, real_arguments
from checks.mains import Line
from checks.meter import Measurement
from checks.statistics import difference, order_statistics, programme, proportions, tolerance
from checks.statistics.tolerance import Scatter, SharedScatter
from checks.tone.card import volts_per_unit
from checks.tone.comparison import Better, Difference
from checks.tone.decibels import decibels
from checks.tone.lines import Frequency
from checks.tone.lines import Line as Tone
from checks.verdict import judge_at_line

VERDICT = judge_at_line(Measurement(300.0, 1.0, 300.0), Band(285.0, 315.0))
GOOD = [
    PartSpec("R1", "resistor", value=1e3, power=0.5),
    PartSpec("C1", "electrolytic", value=47e-6, volts=450.0, leakage=1e-4),
    Winding("secondary", ("a", "b"), volts=250.0, amps=0.1, ohms=120.0),
    Parameter("R1", "value", 0.05, 0.05),
    DirectSource("BT1", 0, 1, 9.0, 0.5, 0),
    Regulator("U1", 0, 1, 2, False, 12.0, 2.0, 0.005, 0),
    Mosfet("Q1", 0, 1, 2, False, 3.0, 0.5, 0, 1),
    Bipolar("Q2", 0, 1, 2, False, 100.0, 0.65, 1e-3, 0, 1),
    Neon("NE1", 0, 1, 60.0, 75.0, 0, 1),
    OpAmp("U2", 0, 1, 2, 3, 4, 1e5, 2.0, 0.02, 0.002, 1e6, 0, 1),
    Heater(6.3, 0.3),
    Capacitances(1.6e-12, 1.6e-12, 0.5e-12),
    Signal("in.tip", "out.hot", 8.0),
    HeaterVolts("V1", 6.3, 6.3),
    decode_colours(("brown", "black", "red", "gold")),
    Estimate(300.0, 1.0),
    Derived("V1", Quantity.ANODE_DISSIPATION, 5.0, 0.2, "W", ("a",), 9.0, 0.99),
    Line(1.0, 0.01, 0.1, 0.1),
    Measurement(300.0, 1.0, 300.0),
    Scatter(8, 300.0, 4.0, 1.0),
    SharedScatter(4.0, 7.0),
    Tone(1000.0, 1.0, 1e-4, 0.01, True),
    Frequency(1000.0, 0.01, 0.0),
    Difference(3.0, 0.1, Better.NEITHER),
    VERDICT,
]
NOT_BELOW_ZERO = {"u", "var", "ohms", "minus", "plus", "amps", "spread", "fall", "rms", "floor", "probability"}


def figures(owner) -> list[str]:
    held = [field.name for field in fields(owner) if isinstance(getattr(owner, field.name), float)]
    assert held, owner
    return held


@pytest.mark.parametrize("owner", GOOD, ids=lambda owner: type(owner).__name__)
def test_no_figure_is_anything_but_a_finite_number(owner):
    for name in figures(owner):
        endless = () if type(owner).__module__.startswith("checks.tone") else (math.inf,)  # a doubt without end
        for value in (math.nan, -math.inf, *endless):
            with pytest.raises(ChecksError):
                replace(owner, **{name: value})
        assert replace(owner, **{name: getattr(owner, name)}) == owner


@pytest.mark.parametrize("owner", GOOD, ids=lambda owner: type(owner).__name__)
def test_no_uncertainty_and_no_resistance_is_below_zero(owner):
    for name in NOT_BELOW_ZERO & set(figures(owner)):
        if type(owner) is PartSpec:  # of which the reader of a parts list refuses what is below zero, in its own words
            continue
        with pytest.raises(ChecksError):
            replace(owner, **{name: -1e-9})


def test_every_class_that_holds_an_uncertainty_looks_at_it():
    held = set()
    for result in pkgutil.walk_packages(checks.__path__, "checks."):
        for one in vars(importlib.import_module(result.name)).values():
            if isinstance(one, type) and is_dataclass(one) and {"u", "line_u"} & {f.name for f in fields(one)}:
                held.add(one)
    assert len(held) >= 10
    arrays = {"Response"}  # a figure for every point
    unguarded = {one.__name__ for one in held if not hasattr(one, "__post_init__")} - arrays
    assert not unguarded


INNER = {  # what the solvers hold between two steps, which may be endless on the way; and drawings
    *("Junction", "Rectifier", "CapacitorFed", "Doubler", "BiasFed", "ChokeFed", "Unsmoothed", "Diode", "Feed", "Loop"),
    "CapacitorFeed",
    *("Falling", "Clipping", "Power", "Response", "Transfer", "Heater", "Operating", "Half", "Settling", "Shape"),
    *("Text", "Pointer", "_Row", "_Told", "_Joined", "Dependence", "Intermodulation", "Survey", "Remark", "BandEdges"),
}


def test_every_class_with_a_figure_is_guarded_or_named_as_a_solvers_own():
    open_ones, guarded = set(), 0
    for result in pkgutil.walk_packages(checks.__path__, "checks."):
        for one in vars(importlib.import_module(result.name)).values():
            if not (isinstance(one, type) and is_dataclass(one) and one.__module__ == result.name):
                continue
            if any(field.type in (float, float | None) for field in fields(one)):
                is_guarded = hasattr(one, "__post_init__") or hasattr(one, "guarded_figures")
                guarded += is_guarded
                open_ones |= set() if is_guarded else {one.__name__}
    assert open_ones <= INNER
    assert guarded > 70


NAN_REFUSED_WITHIN = [  # functions with a rule of their own, and a call that it lets through
    (codes.neighbours, {"value": 4700.0, "name": "E12"}),
    (codes.nearest, {"value": 4700.0, "name": "E12"}),
    (derived.current_through, {"drop": Estimate(8.0, 0.1), "ohms": 180.0, "tolerance": 0.01}),
    (derived.heater_current, {"volts": Estimate(6.3, 0.1), "rated_volts": 6.3, "rated_amps": 0.3}),
    (discharge.discharge, {"parts": [], "start_volts": 300.0, "end_volts": 60.0}),
    (mains.tap_for, {"nominal_volts": 230.0, "taps": (115.0, 230.0)}),
    (mains.find_supply, {"nominal_volts": 230.0}),
    (meter.half_width, {"reading": 300.0, "accuracy": meter.Accuracy(1), "resolution": 0.1, "range_": 600.0}),
    (mains.best_tap, {"nominal_volts": 230.0, "taps": (115.0, 230.0)}),
    (verdict.nearer_limit, {"value": 300.0, "band": Band(285.0, 315.0)}),
    (meter.standard_uncertainty, {"half": 0.5}),
    (quantity.format_quantity, {"value": 300.0, "unit": "V"}),
    (safety.stored_energy, {"farads": 47e-6, "volts": 300.0}),
    (safety.energy_class, {"dc_volts": 300.0, "ac_volts_rms": 1.0}),
    (difference.compare, {"before_successes": 8, "before_n": 9, "after_successes": 5, "after_n": 5}),
    (difference.clean_builds_needed, {"successes": 8, "n": 9, "least": 0.9, "confidence": 0.9}),
    (order_statistics.content_of_range, {"n": 8, "confidence": 0.9}),
    (programme.forecast_builds, {"right": 8, "n": 9, "least": 0.9, "confidence": 0.9}),
    (proportions.wilson, {"successes": 8, "n": 9, "confidence": 0.9}),
    (tolerance.content_for, {"checks": 30, "through": 0.9}),
    (tolerance.factor, {"n": 8, "degrees": 7.0, "content": 0.95, "confidence": 0.9}),
    (tolerance.compute_scatter, {"values": [300.0, 301.0, 299.0, 302.0], "u": 0.5}),
    (volts_per_unit, {"meter": Estimate(2.0, 0.01), "tone_rms": 0.5}),
    (decibels, {"ratio": 2.0}),
    (verdict.judge, {"measurement": Measurement(300.0, 1.0, 300.0), "band": Band(285.0, 315.0), "exponent": 1.0}),
    (verdict.judge_at_line, {"measurement": Measurement(3.0, 1.0, 3.0), "band": Band(2.0, 4.0), "line_share": 0.01}),
    (verdict.conformance_of_one, {"value": 300.0, "u": 1.0, "low": 285.0, "high": 315.0}),
    (meter.measure, {"reading": quantity.parse_quantity("300.0 V"), "function": "dc volts", "source_ohms": 1e3}),
]


NOT_JUDGED = ("checks.schematic", "checks.tone.trust")  # places on paper; what makes a recording doubtful


def scalars(function) -> set[str]:
    return {p.name for p in inspect.signature(function).parameters.values() if p.annotation in (float, float | None)}


@pytest.mark.parametrize(("function", "call"), NAN_REFUSED_WITHIN, ids=lambda it: getattr(it, "__name__", ""))
def test_a_function_with_a_rule_of_its_own_refuses_what_is_no_number(function, call):
    call = call | ({"meter": meter.PRESETS["handheld"]} if function is meter.measure else {})
    function(**call)
    for name in scalars(function) & set(call):
        with pytest.raises(ChecksError):
            function(**call | {name: math.nan})


def test_every_public_function_that_takes_a_figure_is_guarded_or_has_a_rule_of_its_own():
    own = {function.__qualname__ for function, _call in NAN_REFUSED_WITHIN} | {"refuse_unreal", "unit_for"}
    open_ones, guarded = set(), 0
    for result in pkgutil.walk_packages(checks.__path__, "checks."):
        if result.name.startswith(NOT_JUDGED):
            continue
        for name, one in vars(importlib.import_module(result.name)).items():
            is_own = getattr(one, "__module__", "") == result.name and not name.startswith("_")
            if not is_own or isinstance(one, type) or not callable(one) or not scalars(one):
                continue
            guarded += hasattr(one, "guarded_figures")
            open_ones |= set() if hasattr(one, "guarded_figures") or name in own else {name}
    assert not open_ones
    assert guarded > 60


@finite_arguments
def _halved(value: float, share: float | None = None, *, many: list[float] = ()):
    return value / 2


@real_arguments
def _louder(level: float) -> float:
    return level + 1


@pytest.mark.parametrize("worse", [math.nan, math.inf, -math.inf])
def test_a_guarded_function_takes_no_figure_that_is_no_number_however_it_is_handed_over(worse):
    assert _halved(3.0, None) == 1.5 and _halved(value=3, many=[1.0]) == 1.5
    for call in (lambda: _halved(worse), lambda: _halved(1.0, share=worse), lambda: _halved(1.0, many=[2.0, worse])):
        with pytest.raises(ChecksError):
            call()
    if math.isnan(worse):
        with pytest.raises(ChecksError):
            _louder(worse)
    else:
        assert _louder(worse) == worse


@pytest.mark.parametrize("worse", [math.nan, math.inf, -math.inf])
def test_no_unit_is_pressed_beforehand_for_limits_that_are_no_numbers(worse):
    assert unit_for(285.0, 315.0, "V") == "V"
    assert unit_for(worse, 315.0, "V") == unit_for(285.0, worse, "V") == ""


def test_a_guard_is_put_on_nothing_that_takes_no_figure():
    with pytest.raises(ChecksError):
        finite_arguments(len)


@finite_figures
@dataclass(frozen=True)
class Held:
    value: float
    u: float | None = None
    name: str = ""


ANY = st.floats(allow_nan=True, allow_infinity=True)


@given(ANY, st.none() | ANY)
def test_only_finite_figures_and_no_uncertainty_below_zero_get_in(value, u):
    is_real = math.isfinite(value) and (u is None or (math.isfinite(u) and u >= 0))
    try:
        made = Held(value, u)
    except ChecksError:
        assert not is_real
    else:
        assert is_real and (made.value, made.u) == (value, u)


@pytest.mark.lengthy
@given(ANY, ANY, st.floats(-1e6, 1e6), st.floats(0, 1e6))
def test_no_verdict_is_made_of_what_is_no_number_and_none_comes_out(value, u, low, width):
    try:
        verdict = judge_at_line(Measurement(value, u, value), Band(low, low + width))
    except ChecksError:
        assert not (math.isfinite(value) and math.isfinite(u) and u >= 0)
        return
    assert math.isfinite(verdict.u) and verdict.u >= 0 and math.isfinite(verdict.deviation)
    assert verdict.probability is None or 0 <= verdict.probability <= 1
