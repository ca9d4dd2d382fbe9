"""Neon lamps strike and then hold; thermistors are cold for the ohmmeter and the inrush, hot for the volts."""

import math

import numpy as np
import pytest

from checks.circuit import Condition, inrush_currents, predict, predict_scatter
from checks.circuit.validation.problems import circuit_errors
from checks.errors import ChecksError
from tests.checks.circuit.kits import bench_supply, capacitor, diode, parts_of, resistor, transformer


def neon(a="lamp", b="chassis", **more):
    return {"ref": "NE1", "kind": "neon", "value": "60 V", "joins": [a, b], **more}


def supply(volts):
    return {
        "ref": "PS1",
        "kind": "dc supply",
        "value": f"{volts} V",
        "ohms": "1R",
        "joins": {"plus": "ht", "minus": "chassis"},
    }


def read(rows, node, power="on"):
    parts = parts_of(*rows)
    assert not circuit_errors(parts)
    measure = "dc volts" if power == "on" else "resistance"
    (reading,) = predict(parts, Condition(power=power), [(node, "chassis", measure)])
    return reading.value


def test_a_lamp_that_strikes_holds_its_maintaining_voltage():
    assert read([supply(250), resistor("R1", "ht", "lamp", "220k"), neon()], "lamp") == pytest.approx(61.7, abs=1.0)


def test_a_lamp_below_its_strike_stays_dark_though_it_would_hold():
    rows = [supply(75), resistor("R1", "ht", "lamp", "220k"), resistor("R2", "lamp", "chassis", "10M")]
    assert read([*rows, neon(model={"strike": 85})], "lamp") == pytest.approx(75 * 10 / 10.22, rel=1e-3)


def test_a_lamp_works_either_way_round():
    rows = [supply(250), resistor("R1", "ht", "lamp", "220k")]
    assert read([*rows, neon("chassis", "lamp")], "lamp") == pytest.approx(61.7, abs=1.0)


def test_lamps_near_their_strike_light_in_some_builds_and_not_in_others():
    rows = [supply(81), resistor("R1", "ht", "lamp", "220k"), resistor("R2", "lamp", "chassis", "100M")]
    (spread,) = predict_scatter(parts_of(*rows, neon()), Condition(), [("lamp", "chassis", "dc volts")], samples=400)
    alight = (spread.samples < 72).mean()
    assert 0.1 < alight < 0.9


def test_a_strike_below_the_maintaining_voltage_is_refused():
    with pytest.raises(ChecksError) as refused:
        parts_of(neon(model={"strike": 50}))
    assert refused.value.code == "neon-strike"


def thermistor(a, b, **more):
    return {"ref": "TH1", "kind": "thermistor", "value": "120R", "ohms": "1.5R", "amps": "2 A", "joins": [a, b], **more}


def in_the_mains(ohms="30R"):
    iron = transformer(("ht", "230 V", "100R", ("s.a", "chassis")), primary=ohms)
    iron["winding"][0]["joins"] = ["mains.hot", "mains.neutral"]
    inlet = {"ref": "P1", "kind": "connector", "joins": {"live": "mains.live", "neutral": "mains.neutral"}}
    rows = [iron, thermistor("mains.live", "mains.hot"), inlet, diode("D1", "s.a", "ht")]
    return [*rows, capacitor("C1", "ht", "chassis", "100u"), resistor("R1", "ht", "chassis", "2k2", power="20W")]


def test_an_ohmmeter_reads_it_cold():
    assert read([thermistor("a", "chassis"), resistor("R1", "a", "chassis", "1M")], "a", "off") == pytest.approx(
        120, rel=1e-3
    )


def test_at_its_rated_current_it_has_its_hot_ohms():
    rows = [supply(203), thermistor("ht", "out"), resistor("R1", "out", "chassis", "100R")]
    rows[0]["ohms"] = "0.001R"
    assert read(rows, "out") == pytest.approx(203 * 100 / 101.5, rel=1e-3)


def test_at_less_it_has_more_by_the_power_law():
    """R = 1.5 (I/2 A)^-1.3 against 100 ohms at 20 V, by bisection written apart."""
    rows = [supply(20), thermistor("ht", "out"), resistor("R1", "out", "chassis", "100R")]
    low, high = 0.0, 0.2
    for _ in range(80):
        amps = (low + high) / 2
        drop = amps * (101 + min(120.0, 1.5 * (amps / 2) ** -1.3))
        low, high = (amps, high) if drop < 20 else (low, amps)
    assert read(rows, "out") == pytest.approx(100 * amps, rel=2e-3)


def test_in_a_mains_lead_it_takes_its_drop_off_every_winding():
    with_it, without = in_the_mains(), in_the_mains()
    without[1] = resistor("R9", "mains.live", "mains.hot", "0.001R")
    assert 0.90 < read(with_it, "ht") / read(without, "ht") < 0.995


def test_the_inrush_is_the_peak_of_the_highest_line_over_the_cold_ohms():
    (result,) = inrush_currents(parts_of(*in_the_mains()), Condition())
    peak = math.sqrt(2) * 230 * 1.10
    assert result.amps == pytest.approx(peak / 150, rel=0.02) and result.without == pytest.approx(peak / 30, rel=0.02)
    assert result.thermistors == ("TH1",)


def test_without_a_thermistor_no_inrush_is_stated():
    assert inrush_currents(parts_of(*bench_supply(100)), Condition()) == []


@pytest.mark.parametrize(("wrong", "code"), [({"ohms": ""}, "thermistor-hot"), ({"ohms": "200R"}, "thermistor-cold")])
def test_a_thermistor_without_a_lower_hot_resistance_is_refused(wrong, code):
    with pytest.raises(ChecksError) as refused:
        parts_of(thermistor("a", "b", **wrong))
    assert refused.value.code == code


def test_good_thermistors_scatter_by_their_tolerance():
    rows = parts_of(thermistor("a", "chassis", tolerance="25%"), resistor("R1", "a", "chassis", "1M"))
    (spread,) = predict_scatter(rows, Condition(power="off"), [("a", "chassis", "resistance")], samples=500)
    assert np.ptp(spread.samples) / spread.nominal == pytest.approx(0.5, abs=0.03)
