"""What a transformer's windings give without load, worked out by hand from its copper."""

from math import sqrt

import pytest

from checks.circuit import part_from_mapping
from checks.circuit.netlist.network import peak_volts, winding_ohms
from checks.circuit.netlist.regulation import (
    assume_regulation,
    copper_regulation,
    is_primary_name,
    list_primaries,
    list_secondaries,
    no_load_rise,
    usual_regulation,
)

WARM = 1.117  # copper gains 0.39 % a kelvin (IEC 60028), 30 K of them


def coil(name, volts, amps, ohms, *nodes):
    row = {"name": name, "joins": list(nodes), "volts": volts, "amps": amps, "ohms": ohms}
    return {key: value for key, value in row.items() if value}


PRIMARY = coil("primary", "230 V", "", "20R", "m.l", "m.n")
HT = coil("ht", "250 V", "100 mA", "100R", "a", "chassis")
HEATER = coil("heater", "6.3 V", "2 A", "0R1", "h1", "h2")


def iron(*windings, kind="mains transformer", **more):
    return part_from_mapping({"ref": "T1", "kind": kind, "winding": list(windings), **more})


def winding(part, name):
    return next(w for w in part.windings if w.name == name)


@pytest.mark.parametrize("name", ["primary", "Primary 2", "prim. 115 V", "PRIM", " primary b"])
def test_a_winding_is_fed_where_its_name_says_so(name):
    assert is_primary_name(name)


@pytest.mark.parametrize("name", ["secondary", "ht", "heater", "pri", "unprimed", ""])
def test_a_winding_of_another_name_is_not(name):
    assert not is_primary_name(name)


def test_a_second_winding_across_the_first_primary_is_on_the_mains_too():
    part = iron(PRIMARY, coil("other half", "230 V", "", "20R", "m.n", "m.l"), HT)
    assert [w.name for w in list_primaries(part)] == ["primary", "other half"]
    assert [w.name for w in list_secondaries(part)] == ["ht"]


def test_a_winding_that_shares_one_end_with_the_primary_is_a_secondary():
    part = iron(PRIMARY, coil("boost", "12 V", "1 A", "1R", "m.l", "x"), HT)
    assert [w.name for w in list_secondaries(part)] == ["boost", "ht"]


def test_the_copper_of_both_sides_drops_its_share_at_full_load():
    """25 W and 12.6 W: the primary's 20 Ω take 37.6 W / 230 V of current through them, 1.42 % of 230 V; the secondary
    its own 10 V of 250."""
    part = iron(PRIMARY, HT, HEATER)
    primary = 37.6 * 20 / 230**2
    assert no_load_rise(part, winding(part, "ht")) == pytest.approx(WARM * (10 / 250 + primary), rel=1e-9)
    assert no_load_rise(part, winding(part, "heater")) == pytest.approx(WARM * (0.2 / 6.3 + primary), rel=1e-9)
    assert copper_regulation(part) == pytest.approx(WARM * (0.04 + primary), rel=1e-9)  # the worse of the two


def test_two_halves_of_a_primary_carry_the_load_as_one_of_twice_the_volts_and_ohms():
    one = coil("primary", "115 V", "", "10R", "m.l", "m.m")
    other = coil("primary 2", "115 V", "", "10R", "m.m", "m.n")
    assert copper_regulation(iron(one, other, HT)) == pytest.approx(copper_regulation(iron(PRIMARY, HT)), rel=1e-9)


def test_of_a_centre_tapped_winding_one_half_conducts_at_a_time():
    """Ohms are of the whole winding, volts of a half."""
    tapped = coil("ht", "250 V", "100 mA", "200R", "a", "chassis", "b")
    assert copper_regulation(iron(PRIMARY, tapped)) == pytest.approx(copper_regulation(iron(PRIMARY, HT)), rel=1e-9)


@pytest.mark.parametrize("share", ["8%", "0%", "25%"])
def test_a_stated_regulation_goes_before_the_copper(share):
    part = iron(PRIMARY, HT, HEATER, regulation=share)
    stated = float(share[:-1]) / 100
    assert no_load_rise(part, winding(part, "ht")) == no_load_rise(part, winding(part, "heater")) == stated
    assert copper_regulation(part) is None and usual_regulation(part) is None and assume_regulation(part) is part
    assert peak_volts(part, winding(part, "ht")) == pytest.approx(sqrt(2) * 250 * (1 + stated), rel=1e-12)


@pytest.mark.parametrize("gone", [{"amps"}, {"volts"}])
def test_copper_says_nothing_where_a_figure_of_a_load_is_missing(gone):
    part = iron(PRIMARY, {k: v for k, v in HT.items() if k not in gone}, HEATER)
    if gone == {"volts"}:
        assert copper_regulation(part) == pytest.approx(WARM * (0.2 / 6.3 + 12.6 * 20 / 230**2), rel=1e-9)
        return  # a winding whose volts nobody knows is no load that is known of
    assert copper_regulation(part) is None
    assert no_load_rise(part, winding(part, "ht")) == 0  # figures take the volts as they are


def test_a_primary_without_volts_leaves_the_copper_unknown():
    part = iron({k: v for k, v in PRIMARY.items() if k != "volts"}, HT)
    assert copper_regulation(part) is None and usual_regulation(part) == 0.12


@pytest.mark.parametrize(("amps", "share"), [("100 mA", 0.12), ("200 mA", 0.12), ("201 mA", 0.08), ("600 mA", 0.08),
                                             ("601 mA", 0.06), ("5 A", 0.06)])  # fmt: skip
def test_the_usual_regulation_is_the_smaller_the_more_a_transformer_gives(amps, share):
    """12 % up to 50 VA, 8 % up to 150 VA, 6 % beyond (common practice); 250 V by the amps."""
    bare = {k: v for k, v in PRIMARY.items() if k != "volts"}
    part = iron(bare, coil("ht", "250 V", amps, "10R", "a", "chassis"))
    assert usual_regulation(part) == share
    assert assume_regulation(part).regulation == share and part.regulation is None


def test_an_output_transformer_has_no_regulation_of_the_mains():
    part = iron(coil("primary", "100 V", "1 A", "10R", "a", "b"), coil("secondary", "5 V", "1 A", "1R", "c", "d"),
                kind="output transformer")  # fmt: skip
    assert copper_regulation(part) is usual_regulation(part) is None
    assert no_load_rise(part, part.windings[1]) == 0


def test_a_transformer_with_nothing_on_its_other_side_has_none():
    assert usual_regulation(iron(PRIMARY)) is None


def test_windings_ohms_grow_with_their_warmth_and_those_of_a_regulation_are_warm_already():
    part = iron(PRIMARY, HT)
    assert winding_ohms(part, winding(part, "ht")) == 100
    assert winding_ohms(part, winding(part, "ht"), WARM) == pytest.approx(111.7)
    of_it = iron(PRIMARY, coil("ht", "250 V", "100 mA", "", "a", "chassis"), regulation="8%")
    assert winding_ohms(of_it, winding(of_it, "ht"), WARM) == pytest.approx(0.08 * 250 / 0.1)  # 20 V at 100 mA
    tapped = iron(PRIMARY, coil("ht", "250 V", "100 mA", "", "a", "chassis", "b"), regulation="8%")
    assert winding_ohms(tapped, winding(tapped, "ht")) == pytest.approx(400)  # 200 Ω in each half
