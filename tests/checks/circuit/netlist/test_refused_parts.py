"""What one part of a parts list must say: each refusal by its code, and what is read of a good one."""

import pytest

from checks.circuit import part_from_mapping
from checks.circuit.netlist.parts import KINDS, NEEDS_VALUE, USUAL_TOLERANCE, require_figure
from checks.circuit.netlist.terminals import LEADED, LISTED, NAMED, SECTIONS, VALVES, electrodes, one_way
from checks.errors import ChecksError
from checks.quantity import Tolerance
from tests.checks.circuit.kits import pentode, resistor, transformer, triode, twin

VALUES = {"F": "100n", "H": "10H", "Ω": "4k7", "V": "150 V", "A": "1 A", "": ""}
NAN, INF = float("nan"), float("inf")


def row_of(kind, **more):
    """The least that a part of a kind with two or more named ends can be."""
    joins = {name: f"n.{name}" for name in (LISTED.get(kind) or NAMED[kind])}
    made = {"ref": "X1", "kind": kind, "joins": list(joins.values()) if kind in LISTED else joins}
    made |= {"value": VALUES[KINDS[kind]]} if VALUES[KINDS[kind]] else {}
    made |= {"inductor": {"ohms": "100R"}, "lamp": {"ohms": "10R"},
             "thermistor": {"ohms": "10R", "amps": "1 A"}}.get(kind, {})  # fmt: skip
    return made | more


def refused(row, line=7):
    with pytest.raises(ChecksError) as error:
        part_from_mapping(row, line)
    assert error.value.params["ref"] == str(row.get("ref", "")).strip() or "A part"
    assert error.value.params["line"] == line and f"(line {line})" in str(error.value)
    return error.value


PLAIN = [*LISTED, *NAMED]


@pytest.mark.parametrize("kind", PLAIN)
def test_a_part_with_all_it_needs_is_read_with_every_end_at_its_node(kind):
    part = part_from_mapping(row_of(kind))
    assert part.joins == {name: f"n.{name}" for name in (LISTED.get(kind) or NAMED[kind])}
    assert part.tolerance == Tolerance(*(2 * [USUAL_TOLERANCE.get(kind, 0.0)])) and part.own_tolerance is None


@pytest.mark.parametrize("kind", ["", "restistor", "Resistor", "valve", "tube", None])
def test_a_kind_that_there_is_not_is_refused(kind):
    assert refused({"ref": "R1", "kind": kind, "joins": ["a", "b"]}).code == "unknown-kind"


@pytest.mark.parametrize("kind", NEEDS_VALUE)
@pytest.mark.parametrize("value", ["", None])
def test_a_part_that_is_nothing_without_its_value_is_refused_without_it(kind, value):
    assert refused(row_of(kind, value=value)).code == "value-missing"


@pytest.mark.parametrize("kind", [*NEEDS_VALUE, "fuse"])
@pytest.mark.parametrize("sign", ["0", "-"])
def test_a_value_of_nought_or_below_is_refused(kind, sign):
    value = {"0": "0", "-": "-5"}[sign]
    error = refused(row_of(kind, value=value))
    assert (error.code, error.params["key"], error.params["typed"]) == ("not-above-zero", "value", value)


@pytest.mark.parametrize("kind", NEEDS_VALUE)
@pytest.mark.parametrize("value", ["4k7x", "nan", "inf", "1e9e9", "--5", "5 kg"])
def test_a_value_that_is_no_figure_or_of_another_unit_is_refused(kind, value):
    assert refused(row_of(kind, value=value)).code == "unreadable-figure"


@pytest.mark.parametrize(("kind", "value"), [("resistor", "100n"), ("capacitor", "4k7"), ("inductor", "10 F"),
                                             ("zener", "12 A"), ("fuse", "1 V"), ("neon", "90 Ω")])  # fmt: skip
def test_a_value_in_the_unit_of_another_kind_is_refused(kind, value):
    if kind == "capacitor":
        value += "Ω"
    if kind == "resistor":
        value += "F"
    assert refused(row_of(kind, value=value)).code == "unreadable-figure"


@pytest.mark.parametrize(
    ("kind", "typed", "si"),
    [
        ("resistor", "4k7", 4700.0),
        ("resistor", "R47", 0.47),
        ("resistor", "2M2", 2.2e6),
        ("capacitor", "22n", 22e-9),
        ("capacitor", "470p", 470e-12),
        ("electrolytic", "47µ", 47e-6),
        ("electrolytic", "47u", 47e-6),
        ("zener", "5V6", 5.6),
        ("zener", "12 V", 12.0),
        ("inductor", "100 mH", 0.1),
        ("fuse", "315 mA", 0.315),
        ("regulator", "1.25 V", 1.25),
    ],
)
def test_a_value_is_read_into_the_units_of_the_si(kind, typed, si):
    """The letter for the point is IEC 60062's."""
    assert part_from_mapping(row_of(kind, value=typed)).value == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize("key", ["power", "volts", "amps", "ohms"])
@pytest.mark.parametrize("typed", ["0", "-1", "0.0"])
def test_a_rating_of_nought_is_refused(key, typed):
    error = refused(row_of("resistor", **{key: typed}))
    assert (error.code, error.params["key"]) == ("not-above-zero", key)


def test_a_leakage_or_regulation_of_nought_is_a_statement_and_below_it_a_refusal():
    assert part_from_mapping(row_of("electrolytic", leakage="0")).leakage == 0
    assert part_from_mapping(transformer(("ht", "250 V", "100R", ("a", "b")), regulation="0%")).regulation == 0
    assert refused(row_of("electrolytic", leakage="-1 mA")).code == "not-above-zero"
    assert refused(transformer(("ht", "250 V", "100R", ("a", "b")), regulation="-1%")).code == "not-above-zero"


@pytest.mark.parametrize(("typed", "code"), [("100%", "regulation-size"), ("250%", "regulation-size"), ("8 V",
                                             "unreadable-figure")])  # fmt: skip
def test_a_regulation_of_all_the_voltage_is_refused(typed, code):
    assert refused(transformer(("ht", "250 V", "100R", ("a", "b")), regulation=typed)).code == code


def test_a_regulation_is_read_as_a_share():
    assert part_from_mapping(transformer(("ht", "250 V", "100R", ("a", "b")), regulation="8%")).regulation == 0.08


@pytest.mark.parametrize("key", ["tolerance", "ohms_tolerance"])
@pytest.mark.parametrize(("typed", "code"), [("100%", "tolerance-too-wide"), ("-100/+50%", "tolerance-too-wide"),
                                             ("-5%", "unreadable-figure"), ("five", "unreadable-figure"),
                                             ("nan", "unreadable-figure")])  # fmt: skip
def test_a_tolerance_that_leaves_nothing_or_cannot_be_read_is_refused(key, typed, code):
    error = refused(row_of("resistor", **{key: typed}))
    assert (error.code, error.params["key"]) == (code, key)


@pytest.mark.parametrize(
    ("typed", "minus", "plus"),
    [("5%", 0.05, 0.05), ("±2 %", 0.02, 0.02), ("-20/+80%", 0.2, 0.8), ("J", 0.05, 0.05), ("K", 0.1, 0.1),
     ("M", 0.2, 0.2), ("F", 0.01, 0.01), ("99%", 0.99, 0.99)],
)  # fmt: skip
def test_a_stated_tolerance_goes_before_the_usual_one(typed, minus, plus):
    """The letters are those of IEC 60062, table 5 (from memory)."""
    part = part_from_mapping(row_of("electrolytic", tolerance=typed))
    assert (part.tolerance.minus, part.tolerance.plus) == pytest.approx((minus, plus))
    assert part.own_tolerance == part.tolerance


@pytest.mark.parametrize("setting", [-0.01, 1.01, "0.5", None, True, False, NAN, INF])
def test_a_control_stands_between_the_ends_of_its_track(setting):
    assert refused(row_of("potentiometer", setting=setting)).code == "setting-size"


@pytest.mark.parametrize("setting", [0, 1, 0.25])
def test_both_ends_of_the_track_are_settings(setting):
    assert part_from_mapping(row_of("potentiometer", setting=setting)).setting == setting


def test_a_control_of_which_nothing_is_said_stands_in_the_middle():
    assert part_from_mapping(row_of("potentiometer")).setting == 0.5


@pytest.mark.parametrize("kind", LISTED)
@pytest.mark.parametrize("joins", [[], ["a"], ["a", "b", "c"], ["a", ""], ["a", 5], None, "ab", {"a": "x"},
                                   {"a": "x", "b": "y", "c": "z"}, {"one": "x", "other": "y"}])  # fmt: skip
def test_a_part_with_two_ends_names_two_nodes(kind, joins):
    assert refused(row_of(kind, joins=joins)).code == "two-nodes"


def test_the_ends_of_an_electrolytic_may_be_named_in_either_order_and_a_list_begins_with_plus():
    named = part_from_mapping(row_of("electrolytic", joins={"minus": "n", "plus": "p"}))
    listed = part_from_mapping(row_of("electrolytic", joins=["p", "n"]))
    assert named.joins == listed.joins == {"plus": "p", "minus": "n"}
    assert refused(row_of("electrolytic", joins={"a": "p", "b": "n"})).code == "two-nodes"


@pytest.mark.parametrize("kind", NAMED)
def test_each_named_end_that_is_missing_is_named(kind):
    for name in NAMED[kind]:
        row = row_of(kind)
        row["joins"] = {n: node for n, node in row["joins"].items() if n != name}
        error = refused(row)
        assert (error.code, error.params["key"]) == ("terminal-missing", f"joins.{name}")
        row["joins"][name] = ""
        assert refused(row).code == "terminal-missing"


@pytest.mark.parametrize("kind", NAMED)
def test_an_end_that_the_kind_has_not_or_that_names_no_node_is_refused(kind):
    row = row_of(kind)
    error = refused(row | {"joins": row["joins"] | {"screen": "x"}})
    assert (error.code, error.params["key"]) == ("unknown-terminal", "joins.screen")
    assert refused(row | {"joins": row["joins"] | {NAMED[kind][0]: 5}}).code == "node-name"
    assert refused(row | {"joins": list(row["joins"].values())}).code == "terminals-missing"


@pytest.mark.parametrize(("make", "names"), [
    (lambda: triode("V1", "a", "g", "k"), SECTIONS["triode"][""]),
    (lambda: pentode("V1", "a", "s", "g", "k"), SECTIONS["pentode"][""]),
])  # fmt: skip
def test_each_electrode_that_joins_nothing_is_named(make, names):
    for name in names:
        row = make()
        del row["joins"][name]
        assert refused(row).params["key"] == f"joins.{name}"


def test_both_sections_of_a_double_triode_must_be_joined():
    row = twin("V1", ("a1", "g1", "k1"), ("a2", "g2", "k2"))
    assert set(part_from_mapping(row).joins) == set(electrodes("twin triode"))
    for section in "ab":
        for name in ("anode", "grid", "cathode"):
            joins = {
                s: {n: v for n, v in ends.items() if (s, n) != (section, name)} for s, ends in row["joins"].items()
            }
            assert refused(row | {"joins": joins}).params["key"] == f"joins.{section}.{name}"


def test_a_valve_takes_only_the_electrodes_of_its_kind():
    row = triode("V1", "a", "g", "k")
    for name in ("screen", "suppressor", "anode_2"):
        assert refused(row | {"joins": row["joins"] | {name: "x"}}).code == "unknown-terminal"
    five = pentode("V1", "a", "s", "g", "k")
    for name in ("suppressor", "grid_3", "beam"):
        assert part_from_mapping(five | {"joins": five["joins"] | {name: "x"}}).joins[name] == "x"
    assert refused(five | {"joins": five["joins"] | {"anode_2": "x"}}).code == "unknown-terminal"


@pytest.mark.parametrize("kind", VALVES)
def test_a_valve_without_a_type_is_refused(kind):
    row = {"ref": "V1", "kind": kind, "joins": {name: f"n.{name}" for name in electrodes(kind)}}
    assert refused(row).code == "valve-type-missing"
    assert refused(row | {"type": ""}).code == "valve-type-missing"
    assert part_from_mapping(row | {"type": "any"}).type == "any"


def test_one_pin_at_two_nodes_is_refused_and_one_at_two_electrodes_of_a_node_is_none():
    row = pentode("V1", "a", "s", "g", "k")
    twice = refused(row | {"pins": row["pins"] | {"screen": "7"}})
    assert (twice.code, twice.params["pin"]) == ("pin-twice", "7")
    joined = row | {"joins": row["joins"] | {"suppressor": "k"}, "pins": row["pins"] | {"suppressor": "3"}}
    part = part_from_mapping(joined)
    assert part.pin_of["suppressor"] == part.pin_of["cathode"] == "3"


def test_a_pin_of_an_end_that_joins_nothing_is_refused():
    row = triode("V1", "a", "g", "k")
    assert refused(row | {"pins": row["pins"] | {"heater": ["4", "5"]}}).code == "pin-without-node"


def test_the_two_ends_of_a_heater_are_written_as_a_pair():
    row = triode("V1", "a", "g", "k")
    row = row | {"joins": row["joins"] | {"heater": ["h1", "h2"]}, "pins": row["pins"] | {"heater": [4, 5]}}
    part = part_from_mapping(row)
    assert (part.joins["heater.1"], part.joins["heater.2"]) == ("h1", "h2")
    assert (part.pins["4"], part.pins["5"]) == ("heater.1", "heater.2")
    three = row | {"joins": row["joins"] | {"heater": ["h1", "h2", "h3"]}}
    assert refused(three).params["key"] == "joins.heater.3"


@pytest.mark.parametrize("kind", LEADED)
def test_the_leads_of_a_transistor_may_have_numbers_and_no_number_two_nodes(kind):
    names = NAMED[kind]
    part = part_from_mapping(row_of(kind, pins={names[0]: 1, names[1]: 2}))
    assert part.pins == {"1": names[0], "2": names[1]} and part.pin_of == {names[0]: "1", names[1]: "2"}
    assert refused(row_of(kind, pins={names[0]: 1, names[1]: 1})).code == "pin-twice"
    assert refused(row_of(kind, pins={"cap": 1})).code == "pin-without-node"


def test_a_connector_joins_whatever_it_says_and_nothing_where_it_says_nothing():
    plug = {"ref": "J1", "kind": "connector"}
    assert part_from_mapping(plug).joins == {}
    assert part_from_mapping(plug | {"joins": ["x", "y"]}).joins == {"1": "x", "2": "y"}
    assert part_from_mapping(plug | {"joins": {"tip": "x", "sleeve": ""}}).joins == {"tip": "x"}


def winding(**more):
    return {"name": "ht", "volts": "250 V", "amps": "40 mA", "ohms": "100R", "joins": ["a", "b"]} | more


def iron(*rows, **more):
    primary = {"name": "primary", "volts": "230 V", "ohms": "20R", "joins": ["m.l", "m.n"]}
    return {"ref": "T1", "kind": "mains transformer", "winding": [primary, *rows], **more}


@pytest.mark.parametrize("joins", [[], ["a"], ["a", "b", "c", "d"], ["a", ""], [1, 2], None])
def test_a_winding_has_two_ends_or_two_and_a_centre(joins):
    error = refused(iron(winding(joins=joins)))
    assert error.code == "winding-ends" and error.params["key"] == "winding ht: joins"
    assert len(part_from_mapping(iron(winding(joins=["a", "c", "b"]))).windings[1].nodes) == 3


@pytest.mark.parametrize("key", ["volts", "amps", "ohms", "impedance", "inductance", "leakage_inductance"])
@pytest.mark.parametrize(("typed", "code"), [("0", "not-above-zero"), ("-2", "not-above-zero"),
                                             ("some", "unreadable-figure")])  # fmt: skip
def test_each_figure_of_a_winding_is_above_zero_and_named_with_its_winding(key, typed, code):
    error = refused(iron(winding(**{key: typed})))
    assert (error.code, error.params["key"]) == (code, f"winding ht: {key}")


@pytest.mark.parametrize("gone", ["volts", "amps", "regulation"])
def test_a_winding_without_ohms_needs_all_that_they_can_be_worked_out_from(gone):
    whole = iron(winding(ohms=""), regulation="8%")
    part_from_mapping(whole)
    if gone == "regulation":
        assert refused(iron(winding(ohms=""))).code == "winding-ohms-missing"
    else:
        error = refused(iron(winding(ohms="", **{gone: ""}), regulation="8%"))
        assert (error.code, error.params["winding"]) == ("winding-ohms-missing", "ht")


def test_a_transformer_without_windings_or_without_a_primary_is_refused():
    assert refused({"ref": "T1", "kind": "mains transformer"}).code == "winding-missing"
    assert refused({"ref": "T1", "kind": "output transformer", "winding": []}).code == "winding-missing"
    assert refused({"ref": "T1", "kind": "mains transformer", "winding": [winding()]}).code == "primary-missing"
    assert part_from_mapping({"ref": "T1", "kind": "output transformer", "winding": [winding()]}).windings


def test_a_winding_without_a_name_is_known_by_its_number():
    assert [w.name for w in part_from_mapping(iron(winding(name=""))).windings] == ["primary", "2"]


@pytest.mark.parametrize(("row", "code"), [
    (row_of("inductor", ohms=""), "choke-ohms-missing"),
    (row_of("lamp", ohms=""), "lamp-ohms-missing"),
    (row_of("lamp", ohms="", volts="6.3 V"), "lamp-ohms-missing"),
    (row_of("lamp", ohms="", amps="0.3 A"), "lamp-ohms-missing"),
    (row_of("thermistor", ohms=""), "thermistor-hot"),
    (row_of("thermistor", amps=""), "thermistor-hot"),
    (row_of("thermistor", value="10", ohms="10R"), "thermistor-cold"),
    (row_of("thermistor", value="9", ohms="10R"), "thermistor-cold"),
    (row_of("neon", value="90 V", model={"strike": 90}), "neon-strike"),
    (row_of("neon", value="90 V", model={"strike": 60}), "neon-strike"),
    (row_of("neon", value="90 V", model={"strike": 1000}), "neon-strike"),
    (row_of("neon", value="90 V", model={"strike": NAN}), "neon-strike"),
])  # fmt: skip
def test_what_a_part_needs_beside_its_value_is_named(row, code):
    assert refused(row).code == code


def test_a_lamp_is_known_by_its_volts_with_its_amps_or_watts():
    for more in ({"volts": "6.3 V", "amps": "0.3 A"}, {"volts": "6.3 V", "power": "2 W"}):
        assert part_from_mapping(row_of("lamp", ohms="", **more)).volts == 6.3


@pytest.mark.parametrize("key", ["limits", "model"])
@pytest.mark.parametrize("typed", ["300", True, None, [300]])
def test_a_limit_or_a_figure_of_a_model_is_a_number(key, typed):
    error = refused(triode("V1", "a", "g", "k") | {key: {"anode_volts": typed}})
    assert (error.code, error.params["key"]) == ("not-a-number", f"{key}.anode_volts")


@pytest.mark.parametrize("name", ["anode_volts", "anode_watts", "cathode_milliamps", "heater_cathode_volts"])
@pytest.mark.parametrize("value", [0, -300, -0.5])
def test_a_limit_of_nought_or_below_is_refused(name, value):
    """A valve would be within it whatever it takes."""
    error = refused(triode("V1", "a", "g", "k") | {"limits": {name: value}})
    assert (error.code, error.params["key"]) == ("not-above-zero", f"limits.{name}")
    for limits in ({name: 0.5}, {"heater_centre": 0}, {"system": "design maximum"}):
        assert part_from_mapping(triode("V1", "a", "g", "k") | {"limits": limits}).limits == limits


@pytest.mark.parametrize("model", [{"volts": -1.8}, {"volts": 0}, {"volts": 1.8, "amps": -0.01}])
def test_a_diode_drops_more_than_nothing(model):
    assert refused(row_of("diode", model=model)).code == "not-above-zero"
    rectifier = {"ref": "V1", "kind": "rectifier valve", "type": "own", "joins": {"anode_1": "a", "cathode": "k"}}
    assert refused(rectifier | {"model": model}).code == "not-above-zero"


def test_a_figure_of_a_model_that_may_lie_below_zero_is_taken_as_it_is():
    """A threshold of depletion, a curve's contact potential."""
    assert part_from_mapping(row_of("n-channel mosfet", model={"threshold": -2.5})).model == {"threshold": -2.5}
    curve = {"mu": 20, "ex": 1.4, "kg1": 1500, "kp": 120, "kvb": 300, "vct": -0.3}
    assert part_from_mapping(triode("V1", "a", "g", "k") | {"model": curve}).model == curve


def test_a_diode_is_known_by_its_type_and_by_what_its_value_says():
    assert part_from_mapping(row_of("diode", type="1N4007")).type == "1N4007"
    assert part_from_mapping(row_of("diode", value="LED, red")).type == "LED, red"


def test_a_part_without_a_reference_is_called_a_part():
    assert str(refused({"kind": "resistor", "value": "", "joins": ["a", "b"]})).startswith("A part (line 7)")
    with pytest.raises(ChecksError, match=r"^R1: value"):
        part_from_mapping({"ref": " R1 ", "kind": "resistor", "joins": ["a", "b"]})


def test_the_current_of_a_rectifier_goes_from_anode_to_cathode_and_of_a_pnp_from_its_emitter():
    ways = {kind: one_way(part_from_mapping(row_of(kind))) for kind in NAMED}
    assert ways["diode"] == [("anode", "cathode")]
    assert set(ways["bridge"]) == {("ac1", "plus"), ("ac2", "plus"), ("minus", "ac1"), ("minus", "ac2")}
    assert ways["npn transistor"] == [("collector", "emitter")] and ways["pnp transistor"] == [("emitter", "collector")]
    assert ways["n-channel mosfet"] == [("drain", "source")] and ways["p-channel mosfet"] == [("source", "drain")]
    assert ways["regulator"] == [("input", "output")] and ways["negative regulator"] == [("output", "input")]
    assert ways["zener"] == []  # it passes current either way
    twins = one_way(part_from_mapping(twin("V1", ("a1", "g1", "k1"), ("a2", "g2", "k2"))))
    assert ("a.anode", "a.cathode") in twins and ("b.anode", "b.cathode") in twins
    assert not any("grid" in way for pair in twins for way in pair)


def test_a_figure_that_must_be_there_and_is_not_is_refused():
    assert require_figure(4.7) == 4.7
    with pytest.raises(ChecksError) as error:
        require_figure(None)
    assert error.value.code == "missing-figure"


@pytest.mark.parametrize("sign", [NAN, INF])
def test_a_part_made_by_the_program_holds_no_figure_that_is_none(sign):
    part = part_from_mapping(resistor("R1", "a", "b", "4k7"))
    with pytest.raises(ChecksError):
        type(part)("R1", "resistor", value=sign)


@pytest.mark.parametrize("name", ["grid_anode_picofarads", "heater_leakage_microamps", "heater_centre"])
def test_what_is_no_rating_may_be_nought_and_no_less(name):
    triode_with = triode("V1", "a", "g", "k")
    assert part_from_mapping(triode_with | {"limits": {name: 0}}).limits == {name: 0}
    error = refused(triode_with | {"limits": {name: -1}})
    assert (error.code, error.params["key"]) == ("below-zero", f"limits.{name}")
