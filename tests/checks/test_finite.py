"""No figure that is no number gets in, and none comes out: whatever holds an uncertainty or a circuit's figure refuses
NaN, infinity and what is below zero where nothing can be."""

import importlib
import math
import pkgutil
from dataclasses import dataclass, fields, is_dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import checks
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
from checks.derived import Derived, Known, Quantity
from checks.errors import ChecksError
from checks.finite import finite_figures
from checks.mains import Line
from checks.meter import Measurement
from checks.statistics.tolerance import Scatter, SharedScatter
from checks.tone.comparison import Better, Difference
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
    Known(300.0, 1.0),
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
    "Fed",
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
