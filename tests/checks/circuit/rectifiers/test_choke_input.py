"""Choke input: solved above the critical current, refused below it: handbook, data sheet, a simulation in time."""

import math

import pytest

from checks.circuit import Condition, component_stresses, predict, predict_scatter
from checks.circuit.netlist.remark import RemarkCode
from checks.circuit.rectifiers.choke_input import dry_curve
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor, transformer
from tests.checks.circuit.timed import Timed

CENTRE = ("ht", "250 V", "100R", ("a", "chassis", "b"))
HALVES = [diode("D1", "a", "r"), diode("D2", "b", "r")]
BRIDGE = {"ref": "D1", "kind": "bridge", "joins": {"ac1": "a", "ac2": "b", "plus": "r", "minus": "chassis"}}
CHOKE = {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "150R", "tolerance": "0.1%", "joins": ["r", "p"]}


def supply(load="3k", rectifier=HALVES, winding=CENTRE, choke=CHOKE, *more):
    return [
        transformer(winding),
        *rectifier,
        choke,
        capacitor("C1", "p", "chassis", "100u"),
        resistor("R1", "p", "chassis", load, power="50W"),
        *more,
    ]


def read(rows, node="p", measure="dc volts"):
    return predict(parts_of(*rows), Condition(), [(node, "chassis", measure)])[0]


@pytest.mark.lengthy
def test_above_its_critical_current_a_choke_gives_the_mean_of_the_rectified_volts():
    """2/π of the peak (0.9 of the rms volts: common practice), less the diode, and what winding and choke drop."""
    peak, load = 250 * math.sqrt(2), 3000
    assert read(supply()).value == pytest.approx((2 * peak / math.pi - 0.7) * load / (load + 150 + 50), rel=1e-3)
    across = supply(rectifier=[BRIDGE], winding=("ht", "250 V", "50R", ("a", "b")))
    assert read(across).value == pytest.approx((2 * peak / math.pi - 1.4) * load / (load + 150 + 50), rel=1e-3)


@pytest.mark.lengthy
@pytest.mark.parametrize("ohms", ["1e14", "1e12"])
def test_the_place_where_a_fault_may_put_a_path_is_no_part_before_the_choke(ohms):
    """Else no fault that puts one anywhere could be solved in a kit with a choke input."""
    with_place = supply("3k", HALVES, CENTRE, CHOKE, resistor("path r to chassis", "r", "chassis", ohms))
    assert read(with_place).value == pytest.approx(read(supply()).value, rel=1e-6)
    loaded = supply("3k", HALVES, CENTRE, CHOKE, resistor("R9", "r", "chassis", "1M"))
    assert read(loaded).value is None


@pytest.mark.lengthy
def test_a_simulation_in_time_says_the_same():
    peak = 250 * math.sqrt(2)
    timed = Timed(
        [("p", "0", 3e3)],
        [("p", "0", 100e-6)],
        [("r", "p", 10.0, 150.0)],
        [("a", "0", peak, 50.0, 0.0), ("b", "0", peak, 50.0, math.pi)],
        [("a", "r", None), ("b", "r", None)],
        steps=200,
    ).means(cycles=80, p=210.0, r=210.0)
    assert read(supply()).value == pytest.approx(timed["p"], rel=0.01)


@pytest.mark.lengthy
def test_a_rectifier_valve_into_a_choke_gives_about_its_sheets_volts():
    """RCA 5Y3GT, typical operation, choke input: 2 x 500 V, 10 H, 125 mA: 390 V before the choke (from memory)."""
    valve = {
        "ref": "V1",
        "kind": "rectifier valve",
        "type": "5Y3",
        "base": "octal",
        "joins": {"anode_1": "a", "anode_2": "b", "cathode": "r"},
        "pins": {"anode_1": "4", "anode_2": "6", "cathode": "8"},
    }
    rows = supply("3k1", [valve], ("ht", "500 V", "2R", ("a", "chassis", "b")), CHOKE | {"ohms": "1R"})
    assert read(rows, "r").value == pytest.approx(390, rel=0.05)


@pytest.mark.lengthy
def test_a_negative_supply_by_a_choke_mirrors_a_positive_one():
    turned = [diode("D1", "r", "a"), diode("D2", "r", "b")]
    rows = supply(rectifier=turned)
    rows[-2] = capacitor("C1", "chassis", "p", "100u")
    assert read(rows).value == pytest.approx(-read(supply()).value, rel=1e-6)


def test_the_curve_of_a_dry_choke_ends_at_the_handbooks_critical_current():
    """R/(6 π f): F. Langford-Smith, Radio Designer's Handbook, 4th ed. (from memory): I ωL/E = 4/6π."""
    amps, ratios = dry_curve()
    assert ratios[-1] == pytest.approx(2 / math.pi)
    assert amps[-1] == pytest.approx(4 / (6 * math.pi), rel=0.02)
    assert list(amps) == sorted(amps) and amps[0] == 0


@pytest.mark.lengthy
@pytest.mark.parametrize(("load", "given"), [("8k", True), ("11k", False), ("100k", False)])
def test_below_its_critical_current_no_reading_is_given(load, given):
    """10 H at 50 Hz: critical at 6 π f L = 9,425 Ω (some 24 mA here)."""
    readings = read(supply(load))
    assert (readings.value is not None) is given
    if not given:
        assert readings.reason.code is RemarkCode.BELOW_CRITICAL and readings.reason.params["choke"] == "L1"
        assert readings.reason.params["critical"] == pytest.approx(23.9, rel=0.02)


@pytest.mark.lengthy
def test_a_capacitor_for_the_loaded_volts_only_is_over_its_rating_while_no_valve_draws():
    """Without a load the choke lets the volts rise to the peak, 354 V here: they do not stay at 225 V."""
    rows = supply("1M")
    rows[-2] = capacitor("C1", "p", "chassis", "100u", "300 V")
    over = {(s.ref, s.what) for s in component_stresses(parts_of(*rows), Condition(), samples=100) if s.over}
    assert ("C1", "voltage") in over


@pytest.mark.lengthy
def test_diodes_into_a_choke_bear_twice_the_peak():
    rows = supply(rectifier=[diode("D1", "a", "r") | {"volts": "700 V"}, diode("D2", "b", "r") | {"volts": "800 V"}])
    stresses = component_stresses(parts_of(*rows), Condition(), samples=100)
    worst = {s.ref: s.value for s in stresses if s.what == "reverse voltage" and s.at == "nominal"}
    assert worst["D1"] == pytest.approx(2 * 250 * math.sqrt(2), rel=0.01)


@pytest.mark.lengthy
def test_good_builds_scatter_with_the_windings_volts():
    (spread,) = predict_scatter(parts_of(*supply()), Condition(), [("p", "chassis", "dc volts")], samples=300)
    assert spread.drivers[0].ref == "T1" and 0.02 < (spread.high - spread.low) / spread.nominal < 0.10


@pytest.mark.parametrize(
    "rows",
    [
        supply(rectifier=HALVES[:1]),
        supply("3k", HALVES, CENTRE, CHOKE, resistor("R9", "r", "chassis", "47k")),
        [*supply()[:3], CHOKE | {"joins": ["r", "q"]}, resistor("R2", "q", "p", "10k"), *supply()[4:]],
    ],
)
def test_a_choke_that_is_not_right_behind_a_full_wave_rectifier_is_refused(rows):
    assert read(rows).reason.code in (RemarkCode.CHOKE_INPUT, RemarkCode.NO_RESERVOIR)


def test_the_ripple_before_the_choke_is_not_given():
    assert read(supply(), "r", measure="ac volts").value is None


@pytest.mark.lengthy
@pytest.mark.parametrize("kind", ["switch", "link"])
def test_a_closed_standby_switch_before_the_choke_is_wire(kind):
    standby = {"ref": "S2", "kind": kind, "joins": ["r", "s"]}
    rows = supply("3k", HALVES, CENTRE, CHOKE | {"joins": ["s", "p"]}, standby)
    assert read(rows).value == pytest.approx(read(supply()).value, rel=1e-9)


def test_a_resistor_before_the_choke_is_still_refused():
    rows = supply("3k", HALVES, CENTRE, CHOKE | {"joins": ["s", "p"]}, resistor("R3", "r", "s", "47R"))
    result = read(rows)
    assert result.value is None and result.reason.code is RemarkCode.CHOKE_INPUT
