"""Supplies of every shape: against a simulation in time, against what they amount to in closed form, or refused by
name."""

import math
import tomllib

import numpy as np
import pytest

from checks.circuit import SHORTS, Condition, component_stresses, part_from_mapping, predict, read_condition
from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.remark import RemarkCode, remark
from checks.circuit.rectifiers.banks import Crowd, Twins
from checks.circuit.rectifiers.conduction import (
    LITTLE,
    TAKES,
    Law,
    child_current,
    in_series,
    mean_current,
    reservoir_share,
    steady_state,
)
from checks.circuit.valves.types import find_type
from checks.errors import ChecksError
from tests.checks.circuit import kits
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor
from tests.checks.circuit.timed import Timed

LOAD = resistor("R1", "p", "chassis", "5k")
FULL_WAVE = [diode("D1", "a", "p"), diode("D2", "b", "p"), capacitor("C1", "p", "chassis")]
BRIDGE = {"ref": "D1", "kind": "bridge", "joins": {"ac1": "a", "ac2": "b", "plus": "p", "minus": "chassis"}}


def transformer(*windings, primary="20R"):
    return kits.transformer(*windings, regulation="8%", primary=primary)


HT = ("ht", "250 V", "100R", ("a", "chassis", "b"))
HEATER = ("heater", "6.3 V", "0.1R", ("h", "chassis"))


def source(volts, ohms, primary=20.0):
    """(peak V, ohms) of a winding with 8 % of regulation behind a primary of 230 V."""
    return volts * 1.08 * math.sqrt(2), ohms + (volts * 1.08 / 230) ** 2 * primary


def read(rows, *nodes, condition=None, measure="dc volts"):
    predicted = predict(parts_of(*rows), condition or Condition(), [(n, "chassis", measure) for n in nodes])
    return predicted if len(predicted) > 1 else predicted[0]


def perveance(name):
    drop = find_type(name)["drop"]
    return drop["amps"] / drop["volts"] ** 1.5


def valve(ref, one, other, cathode, type_="EZ81"):
    joins = {"anode_1": one, "cathode": cathode} | ({"anode_2": other} if other else {})
    return {"ref": ref, "kind": "rectifier valve", "type": type_, "base": "B9A", "joins": joins}


@pytest.mark.lengthy
def test_a_bridge_of_a_valve_and_two_silicon_returns_is_a_bridge():
    rows = [
        transformer(("ht", "300 V", "60R", ("a", "b"))),
        valve("V1", "a", "b", "p"),
        diode("D3", "chassis", "a"),
        diode("D4", "chassis", "b"),
        capacitor("C1", "p", "chassis"),
        LOAD,
    ]
    k = perveance("EZ81")
    timed = Timed(
        [("p", "0", 5e3)],
        [("p", "0", 47e-6)],
        (),
        [("a", "b", *source(300, 60), 0.0)],
        [("a", "p", k), ("b", "p", k), ("0", "a", None), ("0", "b", None)],
    ).means(p=387.0)
    assert read(rows, "p").value == pytest.approx(timed["p"], rel=3e-3)


@pytest.mark.lengthy
def test_four_valves_make_a_bridge_and_two_beside_each_other_one_of_twice_the_size():
    k = perveance("EZ81")
    law = in_series(Law(0.0, k), Law(0.7, 2 * k))
    assert float(child_current(30.0 - law.drop, 1e-9, law.perveance)[0]) == pytest.approx(
        ((30 - 0.7) / (k ** (-2 / 3) + (2 * k) ** (-2 / 3))) ** 1.5, rel=1e-6
    )  # Child's law twice in series
    rows = [
        transformer(("ht", "300 V", "60R", ("a", "b"))),
        valve("V1", "a", "b", "p"),
        valve("V2", "chassis", "chassis", "a"),
        valve("V3", "chassis", "chassis", "b"),
        capacitor("C1", "p", "chassis"),
        LOAD,
    ]
    timed = Timed(
        [("p", "0", 5e3)],
        [("p", "0", 47e-6)],
        (),
        [("a", "b", *source(300, 60), 0.0)],
        [("a", "p", k), ("b", "p", k), ("0", "a", 2 * k), ("0", "b", 2 * k)],
    ).means(p=380.0)
    assert read(rows, "p").value == pytest.approx(timed["p"], rel=3e-3)


@pytest.mark.lengthy
def test_a_resistor_in_the_return_is_passed_by_every_pulse():
    rows = [
        transformer(("ht", "250 V", "100R", ("a", "ct", "b"))),
        *FULL_WAVE,
        LOAD,
        resistor("R8", "ct", "chassis", "100R"),
    ]
    peak, ohms = source(250, 50)
    timed = Timed(
        [("p", "0", 5e3), ("c", "0", 100.0)],
        [("p", "0", 47e-6)],
        (),
        [("a", "c", peak, ohms, 0.0), ("b", "c", peak, ohms, math.pi)],
        [("a", "p", None), ("b", "p", None)],
    ).means(p=328.0)
    supply, bias = read(rows, "p", "ct")
    assert supply.value == pytest.approx(timed["p"], rel=3e-3)
    assert bias.value == pytest.approx(timed["c"], rel=6e-3)


def two_supplies(loads=("2k", "2k")):
    second = [
        diode("D3", "c", "q"),
        diode("D4", "e", "q"),
        capacitor("C2", "q", "chassis", "220u"),
        resistor("R2", "q", "chassis", loads[1]),
    ]
    first = [
        diode("D1", "a", "p"),
        diode("D2", "b", "p"),
        capacitor("C1", "p", "chassis", "220u"),
        resistor("R1", "p", "chassis", loads[0]),
    ]
    return [
        transformer(
            ("x", "250 V", "10R", ("a", "chassis", "b")), ("y", "250 V", "10R", ("c", "chassis", "e")), primary="40R"
        ),
        *first,
        *second,
    ]


@pytest.mark.lengthy
@pytest.mark.parametrize(("one", "other"), [(2e3, 2e3), (2e3, 8e3)])
def test_two_supplies_of_one_transformer_load_each_other(one, other):
    """In time: both on one source behind the primary's resistance, each by its own winding's."""
    peak, _ = source(250, 0)
    shared = (250 * 1.08 / 230) ** 2 * 40
    # Seen through the transformer a full-wave pair is a bridge without its second drop (half a drop a diode, here left
    # out: 0.2 %).
    rows = [("m", "x", 5.0), ("m", "y", 5.0), ("p", "n", one), ("q", "z", other)]
    bridge = [("x", "p"), ("0", "p"), ("n", "x"), ("n", "0"), ("y", "q"), ("0", "q"), ("z", "y"), ("z", "0")]
    timed = Timed(
        rows,
        [("p", "n", 220e-6), ("q", "z", 220e-6)],
        (),
        [("m", "0", peak, shared, 0.0)],
        [(*d, None) for d in bridge],
    ).means(cycles=30, p=156.0, n=-156.0, q=160.0, z=-160.0)
    readings = read(two_supplies((f"{one:g}", f"{other:g}")), "p", "q")
    assert [f.value - 0.7 for f in readings] == pytest.approx(
        [timed["p"] - timed["n"], timed["q"] - timed["z"]], rel=4e-3
    )


@pytest.mark.parametrize("first", ["silicon", "a valve"])
def test_supplies_that_load_each_other_have_the_slopes_of_their_currents(first):
    rows = two_supplies()
    if first == "a valve":
        rows = [*(r for r in rows if r["ref"] not in ("D1", "D2")), valve("V1", "a", "b", "p")]
    net = build_network(parts_of(*rows), Condition())
    (both,) = net.banks
    bank = Crowd(both.members[:2])
    m, drive, u, h = net.parameters.nominal(), np.ones((1, 1)), np.array([[310.0, 325.0]]), 1e-3
    amps, slopes, _watts = (x[0] for x in bank.flow(u, m, drive))
    assert np.array_equal(both.flow(u[:, [0, 1, 0, 1]], m, drive)[0][0], np.tile(amps, 2))
    for n in range(2):
        step = np.eye(2)[n] * h
        up, down = (bank.flow(u + s * step, m, drive)[0][0] for s in (1, -1))
        assert slopes[:, n] == pytest.approx((up - down) / (2 * h), rel=0.02)


@pytest.mark.lengthy
@pytest.mark.parametrize(("phases", "ratio"), [(1, 0.001), (1, 0.03), (1, 0.3), (2, 0.001), (2, 0.03), (2, 0.3)])
def test_a_reservoir_counts_as_endless_only_where_its_steady_state_hardly_differs(phases, ratio):
    """Just beyond the bound, by the steady state itself, which is held to Schade's curves elsewhere."""

    def farads(bound):
        return (TAKES[phases] * ratio**-0.8 / LITTLE) ** 0.5 * bound / (2 * math.pi * 50 * 1000)

    law, rs = Law(0.0), 1000 * ratio
    assert reservoir_share(1.0, rs, farads(1.001), 1000.0, 50.0, law, phases) == 1.0
    real = steady_state(1.0, rs, farads(1.001), 1000.0, 50.0, law, phases).mean
    current = phases * float(mean_current(np.float64(real), np.float64(1.0), np.float64(rs), law)[0])
    slope = phases * float(mean_current(np.float64(real), np.float64(1.0), np.float64(rs), law)[1])
    assert real / (real + (real / 1000 - current) / slope) == pytest.approx(
        1, abs=2.5e-3
    )  # one step of Newton to the endless one
    assert reservoir_share(1.0, rs, farads(0.5), 1000.0, 50.0, law, phases) < 1 - 2e-3


@pytest.mark.lengthy
def test_a_half_wave_supply_loses_by_its_ripple_what_it_does_in_time():
    rows = [
        transformer(("y", "60 V", "5R", ("c", "chassis"))),
        diode("D5", "n", "c"),
        capacitor("C5", "chassis", "n", "100u"),
        resistor("R5", "n", "chassis", "2k"),
    ]
    timed = Timed(
        [("z", "0", 2e3)], [("z", "0", 100e-6)], (), [("a", "0", *source(60, 5), 0.0)], [("z", "a", None)]
    ).means(z=-83.0)
    assert read(rows, "n").value == pytest.approx(timed["z"], rel=3e-3)


@pytest.mark.lengthy
def test_a_bias_supply_meets_the_high_tension_in_one_half_cycle():
    """In time: a full-wave supply and a negative half-wave one, each winding's emf lowered by what both draw through
    the primary."""
    rows = [
        transformer(("x", "250 V", "10R", ("a", "chassis", "b")), ("y", "60 V", "5R", ("c", "chassis")), primary="40R"),
        *FULL_WAVE,
        resistor("R1", "p", "chassis", "3k"),
        diode("D5", "n", "c"),
        capacitor("C5", "chassis", "n", "100u"),
        resistor("R5", "n", "chassis", "2k"),
    ]
    n = 60 / 250  # both referred to one volt of the primary's: the bias winding's own are 1/n of volts and 1/n² of ohms
    peak, _ = source(250, 0)
    shared = (250 * 1.08 / 230) ** 2 * 40
    timed = Timed(
        [("p", "n", 3e3), ("q", "z", 2e3 / n**2), ("m", "x", 5.0), ("m", "y", 5.0 / n**2)],
        [("p", "n", 47e-6), ("q", "z", 100e-6 * n**2)],
        (),
        [("m", "0", peak, shared, 0.0)],
        [("x", "p", None), ("0", "p", None), ("n", "x", None), ("n", "0", None), ("y", "q", None), ("z", "0", None)],
    ).means(cycles=30, p=170.0, n=-170.0, q=166.0, z=-166.0)
    supply, bias = read(rows, "p", "n")
    assert supply.value - 0.7 == pytest.approx(timed["p"] - timed["n"], rel=3e-3)
    assert -bias.value == pytest.approx(n * (timed["q"] - timed["z"] + 1.4) - 0.7, rel=6e-3)


def test_supplies_of_two_transformers_do_not_load_each_other():
    second = transformer(("y", "250 V", "10R", ("c", "chassis", "e")), primary="60R") | {"ref": "T2"}
    first = transformer(("x", "250 V", "10R", ("a", "chassis", "b")), primary="40R")
    rest = two_supplies(("2k", "1k"))[1:]
    alone = read([first, *rest[:4]], "p").value
    both = read([first, second, *rest], "p", "q")
    assert both[0].value == pytest.approx(alone, rel=1e-9)
    assert both[1].value < alone


def test_the_halves_of_a_full_wave_rectifier_are_worked_out_once_and_give_the_same():
    net = build_network(parts_of(transformer(HT), *FULL_WAVE, LOAD), Condition())
    (bank,) = net.banks
    assert isinstance(bank, Twins)
    m, drive, u = net.parameters.draw(5, 1), np.ones((5, 1)), np.full((5, 2), 300.0)
    apart = [r.flow(u[:, n : n + 1], m, drive)[0][:, 0] for n, r in enumerate(bank.members)]
    assert np.array_equal(bank.flow(u, m, drive)[0], np.stack(apart, 1))


PLAIN_BRIDGE = [BRIDGE, capacitor("C1", "p", "chassis", "220u"), resistor("R1", "p", "chassis", "2k")]
SAME = {
    "side by side": ([("s1", "240 V", "40R", ("a", "b")), ("s2", "240 V", "40R", ("a", "b"))], "240 V", "20R"),
    "in series": ([("s1", "120 V", "20R", ("a", "m")), ("s2", "120 V", "20R", ("m", "b"))], "240 V", "40R"),
    "in series against each other": (
        [("s1", "340 V", "20R", ("a", "m")), ("s2", "100 V", "20R", ("b", "m"))],
        "240 V",
        "40R",
    ),
}


@pytest.mark.parametrize("how", SAME)
def test_windings_together_amount_to_one(how):
    windings, volts, ohms = SAME[how]
    one = read([transformer(("s", volts, ohms, ("a", "b"))), *PLAIN_BRIDGE], "p").value
    assert read([transformer(*windings), *PLAIN_BRIDGE], "p").value == pytest.approx(one, rel=1e-6)


def with_primary(*rows, **more):
    t, others = transformer(HT), more.pop("others", [])
    t["winding"][0] |= {"volts": "230 V", "ohms": "20R", "joins": ["mains.live", "mains.neutral"]} | more
    t["winding"] += others
    return [t, *FULL_WAVE, LOAD, *rows]


@pytest.mark.lengthy
def test_a_resistor_before_the_primary_is_part_of_it():
    lead = {"ref": "J1", "kind": "connector", "joins": {"live": "mains.inlet", "neutral": "mains.neutral"}}
    rows = with_primary(
        resistor("R7", "mains.inlet", "mains.live", "10R"), resistor("R6", "mains.inlet", "mains.neutral", "1M"), lead
    )
    assert read(rows, "p").value == pytest.approx(read(with_primary(ohms="30R"), "p").value, rel=1e-9)
    rated = parts_of(*(dict(r, power="1W") if r["ref"] in ("R7", "R1") else r for r in rows))
    assert {s.ref for s in component_stresses(rated, Condition(), samples=100) if s.what == "dissipation"} == {
        "R1"
    }  # not "R7: 0 W"


def test_without_its_fuse_no_mains_reaches_the_transformer():
    fuse = {"ref": "F1", "kind": "fuse", "value": "160 mA", "joins": ["mains.inlet", "mains.live"]}
    readings = read(with_primary(fuse), "p", condition=Condition(not_fitted={"F1"}))
    assert readings.value == pytest.approx(0, abs=1e-6)
    assert remark(RemarkCode.NO_MAINS, part="F1", ref="T1") in readings.notes
    assert read(with_primary(fuse), "p").value > 300


@pytest.mark.parametrize(
    ("kind", "extra"), [("lamp", {"volts": "230 V", "power": "60 W"}), ("inductor", {"value": "1H", "ohms": "5R"})]
)
def test_a_way_from_the_mains_that_is_not_calculated_is_named(kind, extra):
    rows = with_primary({"ref": "X1", "kind": kind, "joins": ["mains.inlet", "mains.live"], **extra})
    for measure, node in (("dc volts", "p"), ("ac volts", "a")):
        readings = read(rows, node, measure=measure)
        assert readings.value is None
        assert readings.reason == remark(RemarkCode.MAINS_LEAD_PART, ref="T1", part="X1", kind=kind)


@pytest.mark.lengthy
def test_a_primary_for_more_than_the_mains_gives_less_and_a_tap_that_suits_gives_all():
    """A winding gives its volts when the line is the primary's: turns ratio."""
    full, low = (
        read(with_primary(volts=v), "a", measure="ac volts", condition=Condition(not_fitted={"R1"})).value
        for v in ("230 V", "240 V")
    )
    assert low == pytest.approx(full * 230 / 240, rel=1e-3)
    tapped = read_condition({"power": "on", "not_fitted": ["R1"]}, {"volts": 230, "taps": [115, 240]})
    assert read(with_primary(volts="240 V"), "a", measure="ac volts", condition=tapped).value == pytest.approx(
        full, rel=1e-3
    )


def primary(name, one, other, volts="115 V", ohms="5R"):
    return {"name": name, "volts": volts, "ohms": ohms, "joins": [one, other]}


@pytest.mark.lengthy
def test_two_primaries_amount_to_one_in_series_and_side_by_side():
    one = read(with_primary(ohms="10R"), "p").value
    series = with_primary(
        volts="115 V", ohms="5R", joins=["mains.live", "m"], others=[primary("primary 2", "m", "mains.neutral")]
    )
    assert read(series, "p").value == pytest.approx(one, rel=1e-9)
    beside = with_primary(
        volts="230 V", ohms="20R", others=[primary("primary 2", "mains.live", "mains.neutral", "230 V", "20R")]
    )
    assert read(beside, "p").value == pytest.approx(one, rel=1e-9)


@pytest.mark.parametrize(
    "windings",
    [
        [("s1", "240 V", "40R", ("a", "b")), ("s2", "240 V", "40R", ("b", "a"))],
        [("s1", "240 V", "40R", ("a", "b")), ("s2", "120 V", "40R", ("a", "b"))],
    ],
)
def test_windings_that_fight_each_other_are_named(windings):
    with pytest.raises(ChecksError, match="T1.*winding s2.*fight each other") as caught:
        read([transformer(*windings), *PLAIN_BRIDGE], "p")
    assert caught.value.code in SHORTS


def test_primaries_that_fight_each_other_are_named():
    with pytest.raises(ChecksError, match="primary 2.*fight each other"):
        read(with_primary(others=[primary("primary 2", "mains.neutral", "mains.live", "230 V")]), "p")


CHOKE = {"ref": "L1", "kind": "inductor", "value": "10H", "ohms": "150R"}
CENTRE = ("ht", "250 V", "100R", ("a", "ct", "b"))
REFUSED = {
    "a choke before the reservoir of one half-wave": (
        [HT],
        [
            diode("D1", "a", "r"),
            CHOKE | {"joins": ["r", "p"]},
            capacitor("C1", "p", "chassis"),
            LOAD,
        ],
        (RemarkCode.CHOKE_INPUT, {("choke", "L1")}),
    ),
    "a choke in the return": (
        [CENTRE],
        [*FULL_WAVE, LOAD, CHOKE | {"joins": ["ct", "chassis"]}],
        (RemarkCode.CHOKE_INPUT, {("choke", "L1")}),
    ),
    "no reservoir": ([HT], [*FULL_WAVE[:2], LOAD], (RemarkCode.NO_RESERVOIR, set())),
    "a winding's end left open": (
        [("ht", "250 V", "100R", ("a", "z"))],
        [FULL_WAVE[0], FULL_WAVE[2], LOAD],
        (RemarkCode.NO_RESERVOIR, {("refs", "D1")}),
    ),
    "a tripler": (
        [("ht", "100 V", "10R", ("w", "chassis"))],
        [
            capacitor("C2", "x", "w", "470u"),
            diode("D2", "chassis", "x"),
            diode("D1", "x", "y"),
            capacitor("C3", "y", "chassis", "470u"),
            capacitor("C4", "p", "x", "470u"),
            diode("D3", "y", "p"),
            LOAD,
        ],
        (RemarkCode.FED_THROUGH_CAPACITOR, {("refs", "D3")}),
    ),
    "a valve fed with alternating current": (
        [("ht", "250 V", "100R", ("a", "chassis"))],
        [kits.triode("V1", "a", "a", "p"), capacitor("C1", "p", "chassis"), LOAD],
        (RemarkCode.FED_WITH_AC, {("refs", "V1")}),
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_not_calculated_is_refused_by_name_and_the_rest_is_not(what):
    windings, rows, why = REFUSED[what]
    rows = [
        transformer(*windings, HEATER),
        *rows,
        resistor("R5", "h", "chassis", "10R"),
        resistor("R6", "p", "n", "10k"),
        resistor("R7", "n", "chassis", "10k"),
    ]
    parts = parts_of(*rows)
    supply, behind, heater = predict(
        parts, Condition(), [("p", "chassis", "dc volts"), ("n", "chassis", "dc volts"), ("h", "chassis", "ac volts")]
    )
    code, names = why
    assert supply.value is None and supply.reason.code == code and names <= supply.reason.params.items()
    assert behind.value is None and behind.reason == supply.reason
    assert 6 < heater.value < 7
    assert RemarkCode.LOAD_LEFT_OUT in [note.code for note in heater.notes]
    (ohms,) = predict(parts, Condition(power="off"), [("n", "chassis", "resistance")])
    assert ohms.value > 1000


def test_parts_that_hang_on_what_is_not_calculated_have_no_stress():
    rows = [
        transformer(HT, HEATER),
        *FULL_WAVE[:2],
        resistor("R1", "p", "chassis", "5k", power="1W"),
        resistor("R5", "h", "chassis", "10R", power="1W"),
    ]
    stresses = component_stresses(parts_of(*rows), Condition(), samples=100)
    assert {s.ref for s in stresses} == {"R5"} and all(math.isfinite(s.value) for s in stresses)


@pytest.mark.lengthy
def test_a_simulation_in_time_gives_the_choke_in_the_return_something_quite_else():
    """Why it is refused: 232 V where a reservoir alone would give 340 V."""
    peak, ohms = source(250, 50)
    timed = Timed(
        [("p", "0", 5e3)],
        [("p", "0", 47e-6)],
        [("c", "0", 10.0, 150.0)],
        [("a", "c", peak, ohms, 0.0), ("b", "c", peak, ohms, math.pi)],
        [("a", "p", None), ("b", "p", None)],
        steps=100,
    ).means(cycles=60, p=232.0)
    reservoir = read([transformer(HT), *FULL_WAVE, LOAD], "p").value
    assert timed["p"] < 0.75 * reservoir


def test_a_bridge_whose_minus_is_joined_to_nothing_has_volts_across_it_and_none_to_chassis():
    floating = BRIDGE | {"joins": BRIDGE["joins"] | {"minus": "n"}}
    rows = [
        transformer(("s", "240 V", "20R", ("a", "b")), HEATER),
        floating,
        capacitor("C1", "p", "n", "220u"),
        resistor("R1", "p", "n", "2k"),
    ]
    to_chassis, across = predict(parts_of(*rows), Condition(), [("p", "chassis", "dc volts"), ("p", "n", "dc volts")])
    assert to_chassis.value is None and to_chassis.reason == remark(RemarkCode.NOTHING_HOLDS, point="p")
    assert across.value == pytest.approx(read([rows[0], *PLAIN_BRIDGE], "p").value, rel=1e-6)


@pytest.mark.lengthy
def test_an_anode_that_nothing_feeds_has_no_voltage_of_its_own():
    parts = [
        part_from_mapping(dict(r, joins=["ht.third", "chassis"]) if r["ref"] == "R11" else r)
        for r in tomllib.loads(kits.PREAMP.read_text(encoding="utf-8"))["part"]
    ]
    anode, supply = predict(parts, Condition(), [("V1.6", "chassis", "dc volts"), ("ht.first", "chassis", "dc volts")])
    assert anode.value is None and anode.reason == remark(RemarkCode.NOTHING_HOLDS, point="V1.6")
    assert supply.value > 200


@pytest.mark.lengthy
def test_a_bridge_with_one_diode_open_is_a_half_wave_rectifier():
    """As a simulation in time gives it: two diodes in series pass one half cycle."""
    four = [
        diode("D1", "a", "p"),
        diode("D2", "b", "p"),
        diode("D3", "chassis", "a"),
        diode("D4", "chassis", "b"),
    ]
    iron = transformer(("ht", "200 V", "40R", ("a", "b")))
    peak, ohms = source(200, 40)
    timed = Timed(
        [("p", "0", 5e3)],
        [("p", "0", 47e-6)],
        (),
        [("a", "b", peak, ohms, 0.0)],
        [("a", "p", None), ("0", "b", None)],
    ).means(p=260.0, a=130.0, b=0.0)
    reservoir = [capacitor("C1", "p", "chassis"), LOAD]
    readings = read([iron, four[0], four[3], *reservoir], "p")
    assert readings.value == pytest.approx(timed["p"], rel=5e-3)
    for missing in four:
        half = read([iron, *(d for d in four if d is not missing), *reservoir], "p")
        assert half.value == pytest.approx(readings.value, rel=1e-6)
    assert read([iron, *four, *reservoir], "p").value > 1.01 * readings.value
