"""Signals against closed forms of the handbooks: stages, followers, couplings, Miller's input, transformers, ripple.

The forms are F. Langford-Smith, Radio Designer's Handbook, 4th ed. 1953, chapters 2, 5, 7, 12 and 31 (from memory).
"""

import math

import numpy as np
import pytest

from checks.circuit import Condition, Signal
from checks.circuit.prediction.signals import solve_signal_point
from checks.circuit.signals.response import frequency_response, respond, stage_gains
from checks.circuit.signals.ripple import pulse_share, ripple_lines, ripple_volts
from checks.errors import ChecksError
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer
from tests.checks.circuit.signals.circuits import film, operating, slopes, stage, supply, triode

LOAD, CATHODE = 100e3, 1500.0


def test_a_bypassed_stage_gives_mu_times_its_share_of_the_load():
    point = operating(stage(film("C1", "k", "chassis", "10000u")))
    _, rp, mu = slopes(point)
    (gain,) = respond(point, "a", "chassis", [1000.0])
    assert gain == pytest.approx(-mu * LOAD / (rp + LOAD), rel=1e-3)


def test_an_unbypassed_cathode_takes_its_part():
    point = operating(stage())
    _, rp, mu = slopes(point)
    (gain,) = respond(point, "a", "chassis", [1000.0])
    assert gain == pytest.approx(-mu * LOAD / (rp + LOAD + (mu + 1) * CATHODE), rel=1e-3)


def test_a_bypass_capacitor_lifts_the_gain_over_its_shelf():
    point = operating(stage(film("C1", "k", "chassis", "1u")))
    _, rp, mu = slopes(point)
    hertz = np.geomspace(1, 10e3, 13)
    held = CATHODE / (1 + 2j * np.pi * hertz * CATHODE * 1e-6)
    expected = -mu * LOAD / (rp + LOAD + (mu + 1) * held)
    assert respond(point, "a", "chassis", hertz) == pytest.approx(expected, rel=1e-3)


def test_the_corner_of_a_bypass_is_where_the_closed_form_has_it():
    point = operating(stage(film("C1", "k", "chassis", "1u")))
    _, rp, mu = slopes(point)
    inside = (rp + LOAD) / (mu + 1)
    zero, pole = (1 / (2 * math.pi * r * 1e-6) for r in (CATHODE, CATHODE * inside / (CATHODE + inside)))
    # |1 + jf/fz|/|1 + jf/fp| falls to 10^(-3/20) of its value at the top, fp/fz
    top, drop = pole / zero, 10 ** (-3 / 20)
    square = ((drop * top) ** 2 - 1) / (1 / zero**2 - (drop * top / pole) ** 2)
    assert frequency_response(point, "a", hertz=20e3).low_3 == pytest.approx(math.sqrt(square), rel=1e-3)


def test_a_cathode_follower_gives_less_than_one_from_few_ohms():
    rows = [supply(250), triode(anode="ht"), resistor("R3", "k", "chassis", "47k")]
    rows += [resistor("R4", "ht", "g", "1M"), resistor("R5", "g", "chassis", "680k")]
    point = operating(rows)
    gm, rp, mu = slopes(point, anode="ht")
    response = frequency_response(point, "k")
    assert response.gain == pytest.approx(mu * 47e3 / (rp + (mu + 1) * 47e3), rel=1e-3)
    assert response.output_ohms == pytest.approx(1 / (gm + 1 / rp + 1 / 47e3), rel=3e-3)  # grid current again
    assert response.input_ohms.real == pytest.approx(1e6 * 0.68 / 1.68, rel=3e-2)  # grid current takes a little


def test_a_coupling_capacitor_s_corner_is_that_of_all_ohms_in_its_way():
    bypass = film("C1", "k", "chassis", "10000u")
    point = operating(stage(bypass, film("C2", "a", "out", "22n"), resistor("R4", "out", "chassis", "470k")))
    _, rp, mu = slopes(point)
    source = rp * LOAD / (rp + LOAD)
    corner = 1 / (2 * math.pi * 22e-9 * (source + 470e3))
    response = frequency_response(point, "out", hertz=5e3)
    assert response.low_3 == pytest.approx(corner, rel=3e-3)  # 3 dB is 0.24 % past the half-power point
    assert response.low_1 / response.low_3 == pytest.approx(1.9611, rel=3e-3)  # a first-order corner's own ratio
    assert abs(response.gain) == pytest.approx(mu * LOAD / (rp + LOAD) * 470e3 / (470e3 + source), rel=2e-3)


def test_miller_s_capacitance_and_the_source_set_the_upper_corner():
    rows = stage(film("C1", "k", "chassis", "10000u"), resistor("R4", "in", "g", "470k"))
    rows[1]["limits"] = {"grid_anode_picofarads": 1.6, "grid_cathode_picofarads": 1.6, "anode_cathode_picofarads": 0}
    point = operating(rows, into="in")
    _, rp, mu = slopes(point)
    gain = mu * LOAD / (rp + LOAD)
    farads, ohms = 1.6e-12 + 1.6e-12 * (1 + gain), 1 / (1 / 470e3 + 1 / 1e6)
    shunt = rp * LOAD / (rp + LOAD)  # the anode's own ohms, by which the plain form is off
    corner = 1 / (2 * math.pi * (ohms * farads + 1.6e-12 * shunt))
    assert frequency_response(point, "a", hertz=100).high_3 == pytest.approx(corner, rel=4e-3)


def test_two_stages_agree_with_nodal_equations_written_out_and_solved_by_scipy():
    from scipy.linalg import solve

    rows = stage(
        film("C1", "a", "g2", "22n"), resistor("R4", "g2", "chassis", "470k"),
        triode("V2", "a2", "g2", "k2"), resistor("R5", "ht", "a2", "100k"), resistor("R6", "k2", "chassis", "1k5"),
        film("C2", "k2", "chassis", "2u2"),
    )  # fmt: skip
    rows[-4]["limits"] = {
        "grid_anode_picofarads": 1.7,
        "grid_cathode_picofarads": 1.6,
        "anode_cathode_picofarads": 0.46,
    }
    point = operating(rows)
    gm1, rp1, _ = slopes(point)
    gm2, rp2, _ = slopes(point, "a2", "g2", "k2")
    for f in (5.0, 300.0, 8e3, 150e3):
        s = 2j * math.pi * f
        c, ga, gk, ak = s * 22e-9, s * 1.7e-12, s * 1.6e-12, s * 0.46e-12
        # unknowns: k, a, g2, a2, k2, for 1 V at the first grid
        y = np.array(
            [
                [1 / 1500 + gm1 + 1 / rp1, -1 / rp1, 0, 0, 0],
                [-gm1 - 1 / rp1, 1e-5 + 1 / rp1 + c, -c, 0, 0],
                [0, -c, c + 1 / 470e3 + ga + gk, -ga, -gk],
                [0, 0, gm2 - ga, 1e-5 + 1 / rp2 + ga + ak, -gm2 - 1 / rp2 - ak],
                [0, 0, -gm2 - gk, -1 / rp2 - ak, 1 / 1500 + s * 2.2e-6 + gm2 + 1 / rp2 + gk + ak],
            ]
        )
        expected = solve(y, np.array([gm1, -gm1, 0, 0, 0]))[3]
        assert respond(point, "a2", "chassis", [f])[0] == pytest.approx(expected, rel=2e-3)
    first, second = stage_gains(point)
    between = 1 / (1 + 1 / (2j * math.pi * 1000 * 22e-9 * 470e3))  # less what the grid's picofarads take
    assert abs(first.gain * between * second.gain) == pytest.approx(abs(second.from_input), rel=1e-2)


# Supply V, anode load, cathode ohms, gain, with the usual next grid leak: Philips, ECC83/12AX7 data sheet, table
# "Operating characteristics as resistance-coupled A.F. amplifier" (from memory, page and edition not known; the same
# figures stand in other makers' sheets, rounded differently: hence the tenth).
PUBLISHED = [
    (200, "100k", "1k8", 50.0),
    (250, "47k", "1k2", 37.5),
    (250, "100k", "1k5", 54.5),
    (250, "220k", "2k7", 66.5),
    (300, "47k", "1k", 40.0),
    (300, "100k", "1k2", 57.0),
]


@pytest.mark.parametrize(("ht", "load", "cathode", "gain"), PUBLISHED)
def test_published_resistance_coupled_stages_come_out_within_a_tenth(ht, load, cathode, gain):
    after = {"47k": "150k", "100k": "330k", "220k": "680k"}[load]
    coupled = [film("C2", "a", "out", "1u"), resistor("R4", "out", "chassis", after)]
    rows = stage(film("C1", "k", "chassis", "1000u"), *coupled, anode=load, cathode=cathode, ht=ht)
    assert abs(respond(operating(rows), "out", "chassis", [1000.0])[0]) == pytest.approx(gain, rel=0.1)


def output_stage(**primary):
    windings = [
        {"name": "primary", "ohms": "200R", "joins": ["ht", "a"], "impedance": "5k", **primary},
        {"name": "secondary", "ohms": "0.4R", "joins": ["out", "chassis"], "impedance": "8R"},
    ]
    iron = {"ref": "T2", "kind": "output transformer", "winding": windings}
    return [
        supply(250), triode(type_="2A3", grid="g"), resistor("R1", "g", "chassis", "470k"), iron,
        resistor("R3", "k", "chassis", "750R"), film("C1", "k", "chassis", "100000u"),
    ]  # fmt: skip


def test_a_transformer_steps_down_by_the_root_of_its_impedances():
    point = operating(output_stage(), load_at="out", load_ohms=8.0)
    _, rp, mu = slopes(point, type_="2A3")
    turns = math.sqrt(5000 / 8)
    load = turns**2 * 8.4
    expected = mu * load / (rp + 200 + load) / turns * 8 / 8.4
    assert abs(respond(point, "out", "chassis", [1000.0])[0]) == pytest.approx(expected, rel=5e-3)


def test_a_primary_s_inductance_sets_the_lower_corner():
    point = operating(output_stage(inductance="10H"), load_at="out", load_ohms=8.0)
    _, rp, _ = slopes(point, type_="2A3")
    beside = 1 / (1 / (rp + 200) + 1 / (625 * 8.4))
    found_at = frequency_response(point, "out", hertz=5e3).low_3
    assert found_at == pytest.approx(beside / (2 * math.pi * 10), rel=1e-2)


def test_leakage_inductance_sets_the_upper_corner():
    point = operating(output_stage(leakage_inductance="20mH"), load_at="out", load_ohms=8.0)
    _, rp, _ = slopes(point, type_="2A3")
    loop = rp + 200 + 625 * 8.4
    assert frequency_response(point, "out").high_3 == pytest.approx(loop / (2 * math.pi * 0.02), rel=1e-2)


def test_the_output_impedance_is_that_of_valve_and_windings_stepped_down():
    point = operating(output_stage(), load_at="out", load_ohms=1e6)
    _, rp, _ = slopes(point, type_="2A3")
    assert frequency_response(point, "out").output_ohms.real == pytest.approx((rp + 200) / 625 + 0.4, rel=1e-2)


def test_a_volume_control_divides_at_the_stage_s_setting():
    pot = {
        "ref": "RV1",
        "kind": "potentiometer",
        "value": "1M",
        "joins": {"top": "in", "wiper": "w", "bottom": "chassis"},
    }
    rows = [supply(9, "p"), resistor("R1", "p", "chassis", "1k"), pot, resistor("R2", "w", "chassis", "10M")]
    signal = Signal("in")
    for share in (0.25, 0.5, 1.0):
        found = solve_signal_point(parts_of(*rows), Condition(settings=(("RV1", share),), signal=signal))
        below = 1 / (1 / (share * 1e6) + 1 / 10e6)
        expected = below / (below + (1 - share) * 1e6)
        assert respond(found, "w", "chassis", [1000.0])[0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.lengthy
def test_an_op_amp_s_gain_falls_with_its_bandwidth():
    rows = [
        supply(15, "v+"), supply(15, "chassis") | {"ref": "PS2", "joins": {"plus": "chassis", "minus": "v-"}},
        {"ref": "U1", "kind": "op-amp", "model": {"bandwidth": 1e6},
         "joins": {"plus_input": "in", "minus_input": "m", "output": "out", "plus_supply": "v+", "minus_supply": "v-"}},
        resistor("R1", "m", "chassis", "1k"), resistor("R2", "m", "out", "99k"), resistor("R3", "in", "chassis", "10k"),
    ]  # fmt: skip
    response = frequency_response(operating(rows, into="in"), "out", hertz=100)
    assert abs(response.gain) == pytest.approx(100, rel=2e-3) and response.high_3 == pytest.approx(1e4, rel=1e-2)


def reservoir(hertz=50.0, more=(), half=False):
    iron = transformer(("ht", "250 V", "50R", ("b1", "chassis", "b2")))
    rows = [
        iron,
        diode("D1", "b1", "ht"),
        capacitor("C1", "ht", "chassis", "100u"),
        resistor("R1", "ht", "chassis", "5k"),
    ]
    rows += [] if half else [diode("D2", "b2", "ht")]
    return operating_of_ripple(rows, more, hertz)


def operating_of_ripple(rows, more, hertz):
    from checks.circuit.prediction.nominal import solve_nominal

    return solve_nominal(parts_of(*rows, *more), Condition(hertz=hertz, signal=Signal()))[1]


def test_ripple_of_a_reservoir_is_the_pulses_second_harmonic():
    """V = √2 I s/(4πfC) at 2f; s, the pulse's share, within 3 % of 1 here; harmonics beyond add some percent."""
    charged = reservoir()
    node = charged.net.node("ht")
    amps = charged.volts[0, node] / 5000
    expected = math.sqrt(2) * amps / (4 * math.pi * 50 * 100e-6)
    assert ripple_volts(charged, node, charged.net.size)[0] == pytest.approx(expected, rel=0.1)


def test_ripple_agrees_with_the_steady_state_in_time():
    from checks.circuit.rectifiers.conduction import Law, steady_state

    charged = reservoir()
    node = charged.net.node("ht")
    timed = steady_state(250 * math.sqrt(2), 50.0, 100e-6, 5000.0, 50.0, Law())
    assert ripple_volts(charged, node, charged.net.size)[0] == pytest.approx(timed.ripple_rms, rel=0.07)


def test_a_half_wave_supply_ripples_at_the_mains_frequency_and_twice_as_much():
    full, half = reservoir(), reservoir(half=True)
    a, b = (ripple_volts(f, f.net.node("ht"), f.net.size)[0] for f in (full, half))
    assert b / a == pytest.approx(2.0, rel=0.15)


def test_a_filter_takes_its_closed_form_off_the_ripple():
    more = [resistor("R9", "ht", "b", "1k"), capacitor("C9", "b", "chassis", "47u")]
    charged = reservoir(more=more)
    before, after = (ripple_lines(charged, charged.net.node(n), charged.net.size)[2][0] for n in ("ht", "b"))
    assert abs(after / before) == pytest.approx(1 / abs(1 + 2j * math.pi * 100 * 1e3 * 47e-6), rel=2e-3)


@pytest.mark.parametrize("angle", [0.05, 0.3, 1.0, math.pi / 2])
def test_a_pulse_s_share_is_its_integral(angle):
    """∫(cos φ - cos θ) cos 2φ / ∫(cos φ - cos θ), in closed form."""
    sin, cos = math.sin, math.cos
    top = sin(angle) + sin(3 * angle) / 3 - cos(angle) * sin(2 * angle)
    whole = 2 * (sin(angle) - angle * cos(angle))
    assert pulse_share(np.array([angle]), 2)[0] == pytest.approx(top / whole, rel=2e-3)


def test_stated_heater_leakage_drives_an_unbypassed_cathode():
    rows = [*stage(), {"ref": "T1", "kind": "mains transformer", "regulation": "5%", "winding": [
        {"name": "primary", "volts": "230 V", "ohms": "50R", "joins": ["mains.l", "mains.n"]},
        {"name": "heater", "volts": "6.3 V", "amps": "1 A", "ohms": "0.1R", "joins": ["h", "chassis"]}]}]  # fmt: skip
    rows[1]["joins"] |= {"heater": ["h", "chassis"]}
    quiet = operating_of_ripple(rows, (), 50.0)
    rows[1]["limits"] |= {"heater_leakage_microamps": 10}
    humming = operating_of_ripple(rows, (), 50.0)
    gm, rp, _ = slopes(humming)
    k = humming.net.node("k")
    ohms = 1 / (1 / 1500 + (gm + 1 / rp) * rp / (rp + 100e3))
    assert ripple_volts(quiet, k, quiet.net.size)[0] < 1e-9
    assert ripple_volts(humming, k, humming.net.size)[0] == pytest.approx(6.5 / 10e6 * ohms, rel=0.05)


@pytest.mark.parametrize(
    ("signal", "code"),
    [(Signal(), "no-signal"), (Signal("chassis"), "signal-into-chassis"), (Signal("no"), "unknown-node")],
)
def test_a_signal_into_nothing_is_refused(signal, code):
    with pytest.raises(ChecksError) as refused:
        solve_signal_point(parts_of(*stage()), Condition(signal=signal))
    assert refused.value.code == code


def test_points_that_no_signal_reaches_have_no_response():
    with pytest.raises(ChecksError) as refused:
        apart = [supply(9, "p") | {"ref": "PS2"}, resistor("R9", "p", "chassis", "1k")]
        frequency_response(operating(stage(*apart)), "p")
    assert refused.value.code == "no-signal-there"
