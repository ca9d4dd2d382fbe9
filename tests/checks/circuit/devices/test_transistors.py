"""MOSFETs and bipolar transistors: against closed forms, worked examples, and the same circuits written with scipy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq, fsolve

from checks.circuit import Condition, component_stresses, parts_list_errors, predict, predict_scatter
from checks.circuit.devices.transistors import THERMAL_VOLTS, Bipolar, Mosfet
from checks.circuit.netlist.transistors import Figure, assumed_figures
from checks.circuit.validation.problems import circuit_errors
from checks.errors import ChecksError
from tests.checks.circuit.kits import bench_supply, parts_of, resistor, triode

ONES = np.ones((1, 1))


def mosfet(ref, gate, drain, source, kind="n-channel mosfet", **more):
    return {"ref": ref, "kind": kind, "joins": {"gate": gate, "drain": drain, "source": source}, **more}


def bipolar(ref, base, collector, emitter, kind="npn transistor", **more):
    return {"ref": ref, "kind": kind, "joins": {"base": base, "collector": collector, "emitter": emitter}, **more}


def volts(rows, *nodes):
    parts = parts_of(*rows)
    assert not circuit_errors(parts)
    predicted = predict(parts, Condition(), [(node, "chassis", "dc volts") for node in nodes])
    return [f.value for f in predicted]


SQUARE = {"threshold": 1.0, "transconductance": 0.001, "amps": 0.0005}  # k = 1 mA/V²


def divider_stage(kind="n-channel mosfet", model=SQUARE):
    return [
        *bench_supply(10.0),
        resistor("R1", "ht", "g", "10M"),
        resistor("R2", "g", "chassis", "10M"),
        resistor("R3", "ht", "d", "6k"),
        resistor("R4", "s", "chassis", "6k"),
        mosfet("Q1", "g", "d", "s", kind, model=model),
    ]


def test_a_mosfet_stage_comes_out_as_a_textbook_solves_it():
    """A. Sedra and K. Smith, Microelectronic Circuits, 6th ed., example 5.6 (from memory): Vt 1 V, k 1 mA/V², 10 V,
    two 10 MΩ, two 6 kΩ give 0.5 mA, Vs 3 V, Vd 7 V."""
    assert volts(divider_stage(), "g", "s", "d") == pytest.approx([5.0, 3.0, 7.0], abs=0.02)


def test_a_bipolar_stage_comes_out_as_a_textbook_solves_it():
    """R. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, 11th ed., example 4.8 (from memory): 22 V,
    39 kΩ and 3.9 kΩ, 10 kΩ, 1.5 kΩ, gain 100, Vbe 0.7 V give 0.84 mA and Vce 12.34 V."""
    rows = [
        *bench_supply(22.0),
        resistor("R1", "ht", "b", "39k"),
        resistor("R2", "b", "chassis", "3k9"),
        resistor("R3", "ht", "c", "10k"),
        resistor("R4", "e", "chassis", "1k5"),
        bipolar("Q1", "b", "c", "e", model={"gain": 100, "volts": 0.7, "amps": 0.00084}),
    ]
    ht, collector, emitter = volts(rows, "ht", "c", "e")
    assert (ht - collector) / 10_000 == pytest.approx(0.00084, rel=0.01)
    assert collector - emitter == pytest.approx(12.34, abs=0.1)


@pytest.mark.parametrize("load", [2_000, 20_000, 200_000])
def test_a_source_follower_stands_a_gate_voltage_below_its_gate(load):
    """Closed form of the square law: Vg - Vs = Vt + sqrt(2 I/k). At 1 mA the tail below the threshold adds 0.12 V."""
    rows = [
        *bench_supply(400.0),
        resistor("R1", "ht", "g", "1M"),
        resistor("R2", "g", "chassis", "1M"),
        resistor("R3", "s", "chassis", f"{load}"),
        mosfet("Q1", "g", "ht", "s", model={"threshold": 3.5, "transconductance": 1.2, "amps": 0.5}),
    ]
    gate, source = volts(rows, "g", "s")
    k = 1.2**2 / (2 * 0.5)
    expected = brentq(lambda s: gate - s - 3.5 - math.sqrt(2 * s / load / k), 0, gate - 3.5)
    assert source == pytest.approx(expected, abs={2_000: 0.01, 20_000: 0.05, 200_000: 0.15}[load])


def test_a_depletion_mosfet_on_its_source_resistor_is_a_constant_current():
    """Closed form: I = k/2 (I R + Vt)², Vt -2.5 V; the same at 100 V and at 300 V."""
    model = {"threshold": -2.5, "transconductance": 0.15, "amps": 0.1}
    k, ohms = 0.15**2 / (2 * 0.1), 220.0
    expected = brentq(lambda i: i - k / 2 * (2.5 - i * ohms) ** 2, 0, 2.5 / ohms)
    for supply in (100.0, 300.0):
        rows = [
            *bench_supply(supply, ohms="1R"),
            mosfet("Q1", "n", "ht", "s", model=model),
            resistor("R1", "s", "n", f"{ohms}"),
            resistor("R2", "n", "chassis", "1k"),
        ]
        (node,) = volts(rows, "n")
        assert node / 1000 == pytest.approx(expected, rel=0.02)


@pytest.mark.lengthy
def test_a_p_channel_and_a_pnp_mirror_their_twins():
    """The same circuit upside down, read from the supply: as far below it as its twin is above the chassis."""
    up = volts(divider_stage(), "s", "d")
    mirror = [
        *bench_supply(10.0),
        resistor("R1", "ht", "g", "10M"),
        resistor("R2", "g", "chassis", "10M"),
        resistor("R3", "chassis", "d", "6k"),
        resistor("R4", "s", "ht", "6k"),
        mosfet("Q1", "g", "d", "s", "p-channel mosfet", model=SQUARE | {"threshold": -1.0}),
    ]
    ht, *down = volts(mirror, "ht", "s", "d")
    assert [ht - v for v in down] == pytest.approx(up, abs=1e-3)
    for kind, rail, other in (("npn transistor", "ht", "chassis"), ("pnp transistor", "chassis", "ht")):
        rows = [
            *bench_supply(22.0),
            resistor("R1", rail, "b", "39k"),
            resistor("R2", "b", other, "3k9"),
            resistor("R3", rail, "c", "10k"),
            resistor("R4", "e", other, "1k5"),
            bipolar("Q1", "b", "c", "e", kind),
        ]
        ht, *result = volts(rows, "ht", "c", "e")
        result = [ht - v for v in result] if kind.startswith("pnp") else result
        up = up if kind.startswith("pnp") else result
    assert result == pytest.approx(up, abs=1e-3)


def test_a_regulator_with_current_limit_is_what_scipy_makes_of_it():
    """A Zener's follower with a bipolar transistor that takes its gate down: written a second time with scalar laws."""
    rows = [
        *bench_supply(350.0),
        resistor("R1", "ht", "g", "100k"),
        resistor("R2", "g", "chassis", "220k"),
        mosfet("Q1", "g", "ht", "s", model={"threshold": 3.0, "transconductance": 1.0, "amps": 0.5}),
        resistor("R3", "s", "out", "22R"),
        bipolar("Q2", "s", "g", "out", model={"gain": 150, "volts": 0.65, "amps": 0.005}),
        resistor("R4", "out", "chassis", "3k3"),
    ]
    read_volts = volts(rows, "g", "s", "out")

    def excess(x):
        g, s, out = x
        over = lambda v: max(v, 0.0) ** 2  # noqa: E731
        drain = 1.0**2 / (2 * 0.5) / 2 * (over(g - s - 3.0) - over(g - 350.0 - 3.0))
        ic = 0.005 * math.exp(min((s - out - 0.65) / THERMAL_VOLTS, 50))
        return (
            (350.0 - g) / 100e3 - g / 220e3 - ic,
            drain - (s - out) / 22 - ic / 150,
            (s - out) / 22 + ic * (1 + 1 / 150) - out / 3300,
        )

    expected, _info, arrived, _words = fsolve(
        excess, (read_volts[0] + 1, read_volts[1] - 0.01, read_volts[2] + 1), full_output=True
    )
    assert arrived == 1
    assert read_volts == pytest.approx(list(expected), rel=2e-3)
    assert (read_volts[1] - read_volts[2]) / 22 < 0.032  # it does limit


def test_a_saturated_transistor_and_a_triode_below_a_constant_current_settle():
    rows = [
        *bench_supply(300.0, ohms="1R"),
        resistor("R1", "ht", "b", "100k"),
        resistor("R2", "ht", "c", "100k"),
        bipolar("Q1", "b", "c", "chassis"),
        mosfet("Q2", "a", "ht", "s", model={"threshold": -2.5, "transconductance": 0.1, "amps": 0.05}),
        resistor("R3", "s", "a", "4k7"),
        resistor("R4", "k", "chassis", "1k5"),
        resistor("R5", "gr", "chassis", "1M"),
        triode("V1", "a", "gr", "k", "ECC82"),
    ]
    collector, anode, source, cathode = volts(rows, "c", "a", "s", "k")
    assert 0.0 < collector < 0.2
    assert 10 < anode < 250
    assert (source - anode) / 4700 == pytest.approx(cathode / 1500, rel=1e-4)


@pytest.mark.lengthy
@given(st.floats(-5, 12), st.floats(-2, 50))
def test_a_mosfets_slopes_are_those_of_its_current_and_it_never_delivers_power(gate, drain):
    device, h = Mosfet("Q1", 0, 1, 2, False, 3.0, 1.0, 0, 0), 1e-6

    def current(g, d):
        return float(device.law(np.array([[g, d]]), ONES, None)[0][0, 0])

    by_gate, by_drain = device.law(np.array([[gate, drain]]), ONES, None)[1][0, 0]
    assert by_gate == pytest.approx((current(gate + h, drain) - current(gate - h, drain)) / (2 * h), rel=1e-3, abs=1e-6)
    assert by_drain == pytest.approx(
        (current(gate, drain + h) - current(gate, drain - h)) / (2 * h), rel=1e-3, abs=1e-6
    )
    assert current(gate, drain) * drain >= -1e-9


@pytest.mark.lengthy
@given(st.floats(-1, 1.2), st.floats(-30, 1.2))
def test_a_bipolar_transistors_slopes_are_those_of_its_currents_and_it_never_delivers_power(vbe, vbc):
    device, h = Bipolar("Q1", 0, 1, 2, False, 100.0, 0.65, 0.005, 0, 0), 1e-8

    def currents(a, b):
        return device.law(np.array([[a, b]]), ONES, None)[0][0]

    _, slopes = device.law(np.array([[vbe, vbc]]), ONES, None)
    for column, (da, db) in enumerate(((h, 0), (0, h))):
        expected = (currents(vbe + da, vbc + db) - currents(vbe - da, vbc - db)) / (2 * h)
        assert slopes[0, :, column] == pytest.approx(expected, rel=1e-3, abs=1e-6)
    main, into, back = currents(vbe, vbc)
    assert main * (vbe - vbc) + into * vbe + back * vbc >= -1e-12


def test_good_builds_scatter_by_threshold_and_gain():
    (source,) = predict_scatter(parts_of(*divider_stage()), Condition(), [("s", "chassis", "dc volts")], samples=500)
    assert source.drivers[0].ref == "Q1" and source.drivers[0].what == "threshold"
    assert source.low < 2.9 and source.high > 3.1


def test_what_no_sheet_was_quoted_for_is_listed():
    parts = parts_of(mosfet("Q1", "g", "d", "s", model={"threshold": 4.0}), bipolar("Q2", "b", "c", "e"))
    results = {(row.of, row.value): row.refs for row in assumed_figures(parts)}
    assert (Figure.THRESHOLD, 3.0) not in results
    assert results[Figure.TRANSCONDUCTANCE, 1.0] == ("Q1",)
    assert results[Figure.GAIN, 100.0] == ("Q2",)


@pytest.mark.lengthy
def test_a_mosfet_past_its_watts_and_volts_is_told():
    rows = [
        *bench_supply(400.0),
        resistor("R1", "ht", "g", "1M"),
        resistor("R2", "g", "chassis", "1M"),
        resistor("R3", "s", "chassis", "2k", power="50W"),
        mosfet("Q1", "g", "ht", "s", power="10 W", volts="200 V", amps="0.05 A", limits={"gate_volts": 3}),
    ]
    over = {(s.ref, s.what) for s in component_stresses(parts_of(*rows), Condition(), samples=200) if s.over}
    assert {
        ("Q1", "dissipation"),
        ("Q1", "drain-source voltage"),
        ("Q1", "drain current"),
        ("Q1", "gate-source voltage"),
    } <= over


@pytest.mark.parametrize(
    ("row", "key"),
    [
        (mosfet("Q1", "g", "d", "s", model={"gain": 100}), "model.gain"),
        (mosfet("Q1", "g", "d", "s", model={"transconductance": 1}), "model.amps"),
        (mosfet("Q1", "g", "d", "s", "p-channel mosfet", model={"threshold": 3}), "model.threshold"),
        (mosfet("Q1", "g", "d", ""), "joins.source"),
        (bipolar("Q1", "b", "c", "e", model={"gain": -5}), "model.gain"),
        (bipolar("Q1", "b", "c", "e", model={"volts": 0.6}), "model.amps"),
        (bipolar("Q1", "b", "c", "e", pins={"base": "1", "collector": "1"}), "pins.collector"),
    ],
)
def test_an_incomplete_transistor_is_refused_by_key(row, key):
    with pytest.raises(ChecksError) as refused:
        parts_of(row)
    assert refused.value.argument == key


def test_a_gate_that_hangs_in_the_air_is_refused_and_a_probe_may_name_a_pin():
    pins = {"gate": "1", "drain": "2", "source": "3"}
    rows = [*bench_supply(100.0), resistor("R3", "s", "chassis", "2k"), mosfet("Q1", "g", "ht", "s", pins=pins)]
    codes = {e.code for e in circuit_errors(parts_of(*rows))}
    assert "electrode-without-dc" in codes
    rows += [resistor("R1", "ht", "g", "1M"), resistor("R2", "g", "chassis", "1M")]
    (source,) = predict(parts_of(*rows), Condition(), [("Q1.3", "chassis", "dc volts")])
    assert 40 < source.value < 50


def test_a_transistor_that_nothing_feeds_is_refused():
    rows = [
        *bench_supply(100.0),
        resistor("R3", "s", "chassis", "2k"),
        resistor("R4", "d", "s", "2k"),
        resistor("R5", "ht", "chassis", "100k"),
        resistor("R2", "g", "chassis", "1M"),
        mosfet("Q1", "g", "d", "s"),
    ]
    assert "not-fed" in {e.code for e in parts_list_errors(parts_of(*rows))}
