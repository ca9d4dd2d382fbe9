"""Heaters as they are at the volts they get, and the ones that get the wrong volts."""

import pytest
from scipy.optimize import brentq

from checks.circuit import Condition, heaters_off_rating, parts_list_warnings, predict, predict_scatter
from checks.circuit.netlist.remark import RemarkCode
from tests.checks.circuit import kits
from tests.checks.circuit.kits import parts_of, resistor

POWER = 0.6  # I ~ V^0.6 (common practice)


def valve(ref, heater, limits=None, type_="6SN7"):
    row = kits.twin(ref, ("a", "g", "k"), ("a", "g", "k"), type_, heater)
    return row | {"base": "octal"} | ({"limits": limits} if limits else {})


def string(volts, first, second, ohms="1e-6"):
    """Two heaters in series on one winding."""
    return [
        kits.transformer(("heater", f"{volts} V", ohms, ("h", "chassis")), ("ht", "1 V", "1R", ("x", "chassis"))),
        resistor("R1", "x", "a", "1k"),
        resistor("R2", "k", "chassis", "1k"),
        resistor("R3", "g", "chassis", "1k"),
        valve("V1", ["h", "m"], {"heater_volts": first[0], "heater_amps": first[1]}),
        valve("V2", ["m", "chassis"], {"heater_volts": second[0], "heater_amps": second[1]}),
    ]


@pytest.mark.parametrize(
    ("first", "second"), [((6.3, 0.3), (6.3, 0.6)), ((6.3, 0.3), (6.3, 0.45)), ((12.6, 0.15), (6.3, 0.3))]
)
def test_unlike_heaters_in_series_share_the_volts_by_their_law_and_not_by_their_ohms(first, second):
    """0.3 A and 0.6 A heaters in series: one current, I = Ia (V/Va)^0.6 in each, solved apart by bisection."""
    total = 12.6
    expected = brentq(
        lambda v: first[1] * (v / first[0]) ** POWER - second[1] * ((total - v) / second[0]) ** POWER,
        1e-3,
        total - 1e-3,
    )
    (reading,) = predict(parts_of(*string(total, first, second)), Condition(), [("h", "m", "ac volts")])
    assert reading.value == pytest.approx(expected, rel=1e-3)
    straight = total * (first[0] / first[1]) / (first[0] / first[1] + second[0] / second[1])
    if first[1] != second[1]:
        assert abs(reading.value - straight) > 0.5


def test_heaters_of_good_builds_in_series_scatter_more_than_their_ohms():
    rows = string(12.6, (6.3, 0.3), (6.3, 0.3))
    (spread,) = predict_scatter(parts_of(*rows), Condition(), [("h", "m", "ac volts")], samples=1000)
    linear = 6.3 * 0.08 * 0.7  # a divider of two resistances of 8 %: half of each, less than this at 97.5 %
    assert spread.high - spread.nominal > linear


def single(volts, type_="6SN7", heater=("h", "chassis")):
    return [
        kits.transformer(("heater", f"{volts} V", "0.01R", ("h", "chassis")), ("ht", "1 V", "1R", ("x", "chassis"))),
        resistor("R1", "x", "a", "1k"),
        resistor("R2", "k", "chassis", "1k"),
        resistor("R3", "g", "chassis", "1k"),
        valve("V1", list(heater), type_=type_),
    ]


@pytest.mark.parametrize(
    ("volts", "off"), [(12.6, True), (5.0, True), (7.1, True), (6.3, False), (6.8, False), (5.8, False)]
)
def test_a_heater_more_than_a_tenth_off_its_rating_is_listed(volts, off):
    result = heaters_off_rating(parts_of(*single(volts)), Condition())
    assert [h.ref for h in result] == (["V1"] if off else [])
    if off:
        assert result[0].volts == pytest.approx(volts, rel=0.02) and result[0].rated == 6.3


def test_a_heater_on_twice_its_volts_is_noted_beside_the_figure():
    (reading,) = predict(parts_of(*single(12.6)), Condition(), [("h", "chassis", "ac volts")])
    (note,) = [note for note in reading.notes if note.code == RemarkCode.HEATER_HOT]
    assert note.params["ref"] == "V1" and note.params["volts"] == pytest.approx(12.6, rel=0.02)


def test_a_twin_triode_wired_for_12_volts_is_not_off_its_rating_on_12_volts():
    """Its halves in series, the centre pin left free (6.3 V each): a base B9A type."""
    rows = single(12.6, "ECC83")
    assert heaters_off_rating(parts_of(*rows), Condition()) == []
    assert [h.ref for h in heaters_off_rating(parts_of(*single(6.3, "ECC83")), Condition())] == ["V1"]


def test_a_heaters_ohms_follow_its_volts_at_half_mains():
    """I ~ V^0.6: half the volts draw 0.66 of the current, seen by what a resistor in its lead drops."""
    rows = single(6.3)
    rows[0]["winding"][1]["joins"] = ["s", "chassis"]
    rows.append(resistor("R4", "s", "h", "0R5"))
    probes = [("s", "h", "ac volts"), ("h", "chassis", "ac volts")]
    full, half = ([r.value for r in predict(parts_of(*rows), Condition(supply_volts=v), probes)] for v in (230, 115))
    assert half[0] / full[0] == pytest.approx((half[1] / full[1]) ** POWER, rel=1e-3)


@pytest.mark.parametrize("halves", [["h", "h"], ["h", "chassis"]], ids=["pin 9 forgotten", "one half on one wire"])
def test_a_heater_or_a_half_of_one_that_lies_on_one_wire_is_listed_as_cold(halves):
    """ECC83: 6.3 V between 4 and 5 joined and 9 (Philips data sheet, from memory); what has no volts across it heats
    nothing."""
    rows = single(6.3, "ECC83", halves)
    if halves[0] != halves[1]:
        rows[-1]["joins"]["heater_centre"] = "chassis"
    (result,) = heaters_off_rating(parts_of(*rows), Condition())
    assert (result.ref, result.volts, result.is_far) == ("V1", 0.0, True)


def test_a_valve_whose_heater_joins_nothing_is_named_where_others_are_joined():
    rows = single(6.3)
    assert "heater-unjoined" not in {w.code for w in parts_list_warnings(parts_of(*rows))}
    rows.append(valve("V2", ()))
    results = [w for w in parts_list_warnings(parts_of(*rows)) if w.code == "heater-unjoined"]
    assert [w.params["ref"] for w in results] == ["V2"]
    assert not any(w.code == "heater-unjoined" for w in parts_list_warnings(parts_of(rows[-1], *rows[1:4])))


def ecl82(kind, ref, heater=()):
    """Philips ECL82: pins 4 and 5 heat both systems (from memory)."""
    pins = {"anode": "9", "grid": "1", "cathode": "8"}
    ends = {"anode": "ta", "grid": "g", "cathode": "chassis"}
    if kind == "pentode":
        pins = {"anode": "6", "screen": "7", "grid": "3", "cathode": "2"}
        ends = {"anode": "ht", "screen": "ht", "grid": "g", "cathode": "k"}
    if heater:
        pins, ends = pins | {"heater": ["4", "5"]}, ends | {"heater": list(heater)}
    return {"ref": ref, "kind": kind, "type": "ECL82", "base": "B9A", "joins": ends, "pins": pins}


def one_bulb(heater=("h", "chassis")):
    """Both systems of an ECL82 at the pentode's published point: 200 V between cathode and HT, -16 V at the grid."""
    rows = kits.bench_supply(216.0)
    rows[0]["winding"].append({"name": "h", "volts": "6.3 V", "amps": "5 A", "ohms": "1e-6", "joins": ["h", "chassis"]})
    rows += [resistor("R1", "g", "chassis", "100k"), resistor("R2", "k", "chassis", "381R"), valve("V2", ())]
    rows[-1]["joins"]["heater"] = ["h", "chassis"]
    rows[-1]["joins"] |= {s: {"anode": "ht", "grid": "g", "cathode": "k2"} for s in "ab"}
    rows += [resistor("R3", "k2", "chassis", "10k"), resistor("R4", "ht", "ta", "100k")]
    return [*rows, ecl82("triode", "V1a"), ecl82("pentode", "V1b", heater)]


def test_the_two_systems_of_one_bulb_are_solved_each_by_its_own_curve():
    """Philips ECL82: 35 mA and 7 mA at 200 V, 200 V and -16 V; its triode 3.5 mA at 100 V without bias (from memory),
    from where current falls as the 1.5th power of volts (Child's law)."""
    k, ta = predict(parts_of(*one_bulb()), Condition(), [(n, "chassis", "dc volts") for n in ("k", "ta")])
    assert k.value == pytest.approx(16, rel=0.03)
    assert (216 - ta.value) / 100e3 == pytest.approx(3.5e-3 * (ta.value / 100) ** 1.5, rel=0.1)


def test_a_bulb_with_two_systems_is_heated_once_and_named_where_nothing_heats_it():
    def named(heater):
        warnings = parts_list_warnings(parts_of(*one_bulb(heater)))
        return {w.params["ref"] for w in warnings if w.code == "heater-unjoined"}

    assert named(("h", "chassis")) == set() and named(()) == {"V1a", "V1b"}
