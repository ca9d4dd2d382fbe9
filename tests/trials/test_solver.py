"""The trials' own solver against closed forms, data sheets and a handbook."""

import math

import numpy as np
import pytest

from tests.trials.bench import Bench
from tests.trials.circuit import circuit_of
from tests.trials.elements import Elements, silicon
from tests.trials.figures import figure, limits, percent
from tests.trials.network import Network, NoSolution
from tests.trials.valves import LAWS, POINTS, emission

LINE = 230.0


def fed(*, farads=0.0, ohms=0.0, into=(), hertz=50.0):
    """A 230 V source with one end earthed, and what hangs on it."""
    made = Elements()
    made.resistor("mains.neutral", "chassis", 1e-3)
    made.node("mains.inlet")
    for a, b, r in into:
        made.resistor(a, b, r)
    if farads:
        made.capacitors.append((made.node("out"), -1, farads))
    if ohms:
        made.resistor("out", "chassis", ohms)
    return Network(made, LINE, hertz)


def test_a_divider_divides():
    made = Elements()
    made.resistor("top", "middle", 100e3)
    made.resistor("middle", "chassis", 47e3)
    net = Network(made)
    v, *_ = net.at_rest(net.row(made.nodes["top"], -1) * 1e-3)
    assert v[made.nodes["top"]] == pytest.approx(147, rel=1e-4)
    assert v[made.nodes["middle"]] == pytest.approx(47, rel=1e-4)


def test_a_low_pass_passes_what_its_formula_says():
    """|H| = 1 / sqrt(1 + (w R C)^2), within the few per cent of 80 backward steps a period."""
    net = fed(farads=1e-6, into=[("mains.inlet", "out", 10e3)])
    steady = net.steady()
    result = steady.rms(net.row(net.e.nodes["out"], -1)) / LINE
    assert result == pytest.approx(1 / math.sqrt(1 + (2 * math.pi * 50 * 10e3 * 1e-6) ** 2), rel=0.03)
    assert abs(steady.mean[net.e.nodes["out"]]) < 0.05


def half_wave(farads: float, ohms: float):
    net = fed(farads=farads, ohms=ohms)
    made = net.e
    made.devices.append((silicon, (made.nodes["mains.inlet"], made.node("out")), "D1"))
    net = Network(made, LINE)
    return net.steady(), net.row(made.nodes["out"], -1)


def test_a_half_wave_rectifier_charges_to_the_peak_less_a_diode():
    steady, out = half_wave(47e-6, 1e7)
    assert steady.mean @ out == pytest.approx(LINE * math.sqrt(2) - 0.7, abs=1.5)


def test_ripple_of_a_half_wave_rectifier_is_the_charge_drawn_in_a_period():
    """dV = I / (f C) while the conduction is short; any handbook of power supplies."""
    steady, out = half_wave(100e-6, 20e3)
    wave = steady.wave @ out
    assert wave.max() - wave.min() == pytest.approx(wave.mean() / 20e3 / 50 / 100e-6, rel=0.12)


def test_a_circuit_without_an_answer_is_refused():
    """v/1000 + sign(v) = 0.5 holds for no v: nothing is made up for it."""
    made = Elements()
    made.resistor("a", "chassis", 1e3)
    made.devices.append((lambda v: ((math.copysign(1.0, v),), ((0.0,),)), (made.nodes["a"], -1), "X1"))
    net = Network(made)
    with pytest.raises(NoSolution):
        net.at_rest(np.array([0.5]))


# ---- valves
def test_a_law_goes_through_the_point_it_was_fitted_to():
    for name, point in POINTS.items():
        volts = [point[k] for k in ("va", "vs", "vg") if k in point]
        (ia, *others), slopes = LAWS[name].currents(*volts)
        assert ia == pytest.approx(point["ia"], rel=0.01), name
        assert slopes[0][-1] == pytest.approx(point["gm"], rel=0.02), name
        if "i_s" in point:
            assert others[0] == pytest.approx(point["i_s"], rel=0.01), name


@pytest.mark.parametrize(
    ("name", "volts", "milliamps"),
    [("ECC83", (100, -1), 0.5), ("6V6GT", (180, 180, -8.5), 29), ("6SN7", (90, 0), 10)],
)
def test_a_law_meets_the_sheets_other_point(name, volts, milliamps):
    """RCA 12AX7-A, 100 V; 6SN7, 90 V and no bias (RCA; from memory). The 6V6GT met its 180 V by choice of mu."""
    assert LAWS[name].currents(*volts)[0][0] * 1000 == pytest.approx(milliamps, rel=0.15)


@pytest.mark.parametrize("name", LAWS)
def test_slopes_of_a_law_are_those_of_its_currents(name):
    volts = [120.0, 150.0, -1.5] if "vs" in POINTS[name] else [120.0, -1.5]
    _i, slopes = LAWS[name].scaled(gas=1e-3).currents(*volts)
    for k in range(len(volts)):
        up, down = (volts[:k] + [volts[k] + h] + volts[k + 1 :] for h in (1e-4, -1e-4))
        more, less = (LAWS[name].scaled(gas=1e-3).currents(*x)[0] for x in (up, down))
        for row in range(len(volts)):
            assert slopes[row][k] == pytest.approx((more[row] - less[row]) / 2e-4, rel=1e-3, abs=1e-11)


def test_a_cold_cathode_gives_nothing():
    assert emission(1.0) == emission(0.9) == 1.0
    assert 0 < emission(0.6) < 1
    assert emission(0.4) == 0.0


# ---- whole stages, written as a guide writes them
def bench(parts: str, **stage):
    import tomllib

    guide = tomllib.loads(parts)
    guide["stage"] = [{"key": "on", "power": "on", "intro": "A tone of 1 mV", **stage}]
    return Bench(guide, circuit_of(guide), LINE)


def supply(volts: float, heater=True) -> str:
    """A stiff source of so many volts, after a diode and without ripple to speak of."""
    return f"""
[[part]]
ref = "T1"
kind = "mains transformer"
[[part.winding]]
name = "primary"
volts = "230 V"
ohms = "0.01R"
joins = ["mains.inlet", "mains.neutral"]
[[part.winding]]
name = "ht"
volts = "{(volts + 0.75) / math.sqrt(2):.4f} V"
ohms = "0.01R"
joins = ["ht.x", "chassis"]
[[part.winding]]
name = "heater"
volts = "6.3 V"
ohms = "0.001R"
joins = ["heater.a", "heater.b"]
[[part]]
ref = "R99"
kind = "resistor"
value = "100R"
joins = ["heater.b", "chassis"]
[[part]]
ref = "D1"
kind = "diode"
joins = {{ anode = "ht.x", cathode = "ht" }}
[[part]]
ref = "C1"
kind = "electrolytic"
value = "2000u"
joins = ["ht", "chassis"]
"""


def part(ref: str, value: str, a: str, b: str, kind="resistor") -> str:
    return f'[[part]]\nref = "{ref}"\nkind = "{kind}"\nvalue = "{value}"\njoins = ["{a}", "{b}"]\n'


TRIODE = """
[[part]]
ref = "V1"
kind = "triode"
type = "ECC83"
pins = {{ anode = "6", grid = "7", cathode = "8", heater = ["4", "5"] }}
joins = {{ anode = "{anode}", grid = "in.tip", cathode = "k", heater = ["heater.a", "heater.b"] }}
"""


def test_a_triode_on_its_load_line_rests_where_the_hand_puts_it():
    """The sheet's point, 1.2 mA at 250 V and -2 V, needs 2 V / 1.2 mA = 1667 ohm below and 372 V above 100 kilohm."""
    parts = supply(372) + TRIODE.format(anode="a") + part("R1", "100k", "ht", "a") + part("R2", "1667R", "k", "chassis")
    result = bench(parts + part("R3", "1M", "in.tip", "chassis"))
    assert result.volts(0, "ht", "chassis", "dc volts", None) == pytest.approx(372, abs=1.5)
    assert result.volts(0, "k", "chassis", "dc volts", None) == pytest.approx(2.0, rel=0.02)
    assert result.volts(0, "a", "k", "dc volts", None) == pytest.approx(250, rel=0.02)


def test_gain_of_a_resistance_coupled_triode_is_the_handbooks():
    """GE ET-T509B: 300 V, anode 100 kilohm, next grid 240 kilohm, cathode 900 ohm: 50 times. The tone is 1 mV."""
    parts = supply(300) + TRIODE.format(anode="a") + part("R1", "100k", "ht", "a") + part("R2", "900R", "k", "chassis")
    parts += part("C2", "1000u", "k", "chassis", "electrolytic") + part("R3", "1M", "in.tip", "chassis")
    parts += part("C3", "1u", "a", "out", "capacitor") + part("R4", "240k", "out", "chassis")
    result = bench(parts, key="under-signal")
    assert result.signal(0, "out", "chassis") * 1000 == pytest.approx(50, rel=0.15)
    result = bench(parts, key="under-signal")
    result.circuit.parts["C3"].is_["farads"] = 0.0
    assert result.signal(0, "out", "chassis") * 1000 < 0.01


def test_a_meter_loads_what_it_measures():
    """470 kilohm and 470 kilohm halve 300 V; 1 megohm across the lower makes it 320 kilohm: 121.5 V."""
    parts = supply(300) + part("R1", "470k", "ht", "m") + part("R2", "470k", "m", "chassis")
    result = bench(parts)
    assert result.volts(0, "m", "chassis", "dc volts", 1e6) == pytest.approx(300 * 319.7 / 789.7, abs=1)
    assert result.volts(0, "m", "chassis", "dc volts", 10e6) == pytest.approx(150 / (1 + 0.235 / 10), abs=1)


def test_an_ohmmeter_sees_through_a_diode_only_with_the_volts_for_it():
    parts = supply(300) + part("R1", "100k", "ht", "chassis")
    result = bench(parts, power="off")
    assert result.ohms(0, "ht", "chassis", 0.4) == pytest.approx(100e3, rel=0.02)
    assert result.ohms(0, "chassis", "ht", 2.5) < 20e3


def test_a_fuse_blows_and_stays_blown():
    parts = supply(300).replace('anode = "ht.x"', 'anode = "ht.fused"') + part(
        "F1", "100 mA", "ht.x", "ht.fused", "fuse"
    )
    sound, shorted = (bench(parts + part("R1", ohms, "ht", "chassis")) for ohms in ("30k", "10R"))
    assert sound.volts(0, "ht", "chassis", "dc volts", None) > 290
    assert abs(shorted.volts(0, "ht", "chassis", "dc volts", None)) < 1
    assert shorted.circuit.parts["F1"].is_["ohms"] > 1e9


@pytest.mark.parametrize(
    ("text", "value"), [("1k5", 1500), ("4M7", 4.7e6), ("0.5R", 0.5), ("22n", 22e-9), ("160 mA", 0.16), ("6.8 V", 6.8)]
)
def test_the_trial_solver_reads_figures_with_prefixes(text, value):
    assert figure(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["", "1k5k", "ten", "model", "5 %%"])
def test_what_is_no_figure_is_refused(text):
    with pytest.raises(ValueError, match="no figure"):
        figure(text)


def test_limits_are_read_and_a_band_without_a_percentage_is_refused():
    assert limits({"expected": "100k", "band": "5%"}) == (95e3, 105e3)
    assert limits({"at_most": "2 V"}) == (None, 2.0)
    assert percent("-20/+50%") == 0.5
    with pytest.raises(ValueError, match="no tolerance"):
        limits({"expected": "100k", "band": "5"})
