"""Figures of data sheets in a parts list: transistors, regulators, op-amps, LEDs, and what is assumed of each."""

import pytest

from checks.circuit import assumed_figures, part_from_mapping
from checks.circuit.netlist.forward_drop import LED_AMPS, LED_VOLTS, forward_drop, is_led
from checks.circuit.netlist.op_amps import ASSUMED_MODEL as OF_OP_AMPS
from checks.circuit.netlist.terminals import NAMED
from checks.circuit.netlist.transistors import BIPOLARS, MAIN, MOSFETS, TRANSISTORS, Figure, find_control
from checks.errors import ChecksError
from tests.checks.circuit.kits import parts_of, resistor, transformer, triode

NAN, INF = float("nan"), float("inf")


def device(kind, model=None, ref="Q1", **more):
    return {"ref": ref, "kind": kind, "joins": {t: f"n.{t}" for t in NAMED[kind]}, "model": model or {}, **more}


def figures(kind, **model):
    return part_from_mapping(device(kind, model)).figures


def code(kind, value=None, **model):
    with pytest.raises(ChecksError) as error:
        part_from_mapping(device(kind, model, **({"value": value} if value else {})))
    return error.value.code, error.value.params["key"]


@pytest.mark.parametrize("kind", TRANSISTORS)
def test_a_transistor_of_which_nothing_is_said_has_every_figure_assumed_and_told(kind):
    part = part_from_mapping(device(kind))
    assert all(part.figures[name] for name in part.figures)
    told = {a.of: a for a in assumed_figures([part])}
    assert set(told) == set(part.figures) - {Figure.AMPS}  # a current is where another figure holds
    assert all(a.refs == ("Q1",) and a.value == part.figures[name] for name, a in told.items())


@pytest.mark.parametrize("kind", TRANSISTORS)
def test_a_stated_figure_is_taken_as_it_is_and_no_longer_told(kind):
    first = Figure.THRESHOLD if kind in MOSFETS else Figure.GAIN
    value = -2.5 if kind == "p-channel mosfet" else 2.5
    part = part_from_mapping(device(kind, {first.value: value}))
    assert part.figures[first] == value
    assert first not in {a.of for a in assumed_figures([part])}


def test_a_figure_of_the_other_sort_of_transistor_is_refused():
    assert code("npn transistor", threshold=2.0) == ("model-figure", "model.threshold")
    assert code("n-channel mosfet", gain=100.0) == ("model-figure", "model.gain")
    assert code("n-channel mosfet", Threshold=3.0) == ("model-figure", "model.Threshold")


@pytest.mark.parametrize(("kind", "one", "other"), [
    ("n-channel mosfet", "transconductance", "amps"),
    ("p-channel mosfet", "transconductance", "amps"),
    ("npn transistor", "volts", "amps"),
    ("pnp transistor", "volts", "amps"),
])  # fmt: skip
def test_a_slope_or_a_drop_means_nothing_without_its_current(kind, one, other):
    for given, missing in ((one, other), (other, one)):
        assert code(kind, **{given: 0.5}) == ("model-pair", f"model.{missing}")
    assert figures(kind, **{one: 0.5, other: 0.01})[other] == 0.01


@pytest.mark.parametrize("value", [0, -1, 1e6, NAN, INF])
def test_a_gain_or_a_slope_is_above_zero_and_below_what_any_part_has(value):
    assert code("npn transistor", gain=value) == ("not-above-zero", "model.gain")
    assert code("n-channel mosfet", transconductance=value, amps=0.5) == ("not-above-zero", "model.transconductance")
    assert code("n-channel mosfet", transconductance=1.0, amps=value) == ("not-above-zero", "model.amps")


@pytest.mark.parametrize("value", [100, -100, 500, NAN, INF])
def test_a_threshold_lies_within_a_hundred_volts(value):
    assert code("n-channel mosfet", threshold=value)[0] == "threshold-size"
    assert code("p-channel mosfet", threshold=value)[0] == "threshold-size"


def test_a_threshold_has_its_sheets_sign():
    """A depletion type with n channel has it below zero; a p channel made to enhance too."""
    assert figures("n-channel mosfet", threshold=-2.0)[Figure.THRESHOLD] == -2.0
    assert figures("p-channel mosfet", threshold=-4.0)[Figure.THRESHOLD] == -4.0
    for value in (4.0, 0.0):
        assert code("p-channel mosfet", threshold=value)[0] == "p-threshold"


def test_the_terminal_that_controls_takes_no_part_in_the_main_current():
    assert {find_control(kind) for kind in MOSFETS} == {"gate"} and {find_control(kind) for kind in BIPOLARS} == {
        "base"
    }
    assert all(find_control(kind) not in MAIN[kind] for kind in TRANSISTORS)
    for n_kind, p_kind in (MOSFETS, BIPOLARS):
        assert MAIN[n_kind] == MAIN[p_kind][::-1]  # what flows in at the one flows out at the other


@pytest.mark.parametrize("kind", ["regulator", "negative regulator"])
def test_an_adjustable_regulator_leaks_little_from_its_adjusting_pin(kind):
    """50 µA against the 5 mA of a fixed one (common practice); an adjustable one has its 1.25 V reference as value."""
    fixed, own = (part_from_mapping(device(kind, value=v)) for v in ("12 V", "1.25 V"))
    assert fixed.figures["quiescent"] == 100 * own.figures["quiescent"] == 5e-3
    assert part_from_mapping(device(kind, {"quiescent": 0.001}, value="1.25 V")).figures["quiescent"] == 0.001
    assert code(kind, "12 V", headroom=2.0) == ("model-figure", "model.headroom")
    for value in (0, -1, 100, NAN):
        assert code(kind, "12 V", dropout=value) == ("not-above-zero", "model.dropout")


@pytest.mark.parametrize("name", OF_OP_AMPS)
@pytest.mark.parametrize("value", [0, -1, 1e12, NAN, INF])
def test_each_figure_of_an_op_amp_is_above_zero(name, value):
    assert code("op-amp", **{name: value}) == ("not-above-zero", f"model.{name}")
    assert code("op-amp", dropout=1.0) == ("model-figure", "model.dropout")


def test_of_an_op_amp_its_current_limit_is_no_assumption_that_readings_rest_on():
    told = {a.of for a in assumed_figures(parts_of(device("op-amp", ref="U1a"), device("op-amp", ref="U1b")))}
    assert told == {Figure.QUIESCENT, Figure.HEADROOM, Figure.OPEN_LOOP_GAIN, Figure.BANDWIDTH}


def test_one_assumption_is_told_once_with_all_the_parts_it_is_of():
    parts = parts_of(*(device("npn transistor", ref=f"Q{n}") for n in (1, 2)), device("npn transistor",
                     {"gain": 300}, ref="Q3"), resistor("R1", "a", "b", "1k"))  # fmt: skip
    (gain,) = [a for a in assumed_figures(parts) if a.of is Figure.GAIN]
    assert gain.refs == ("Q1", "Q2") and gain.unit == ""
    (volts,) = [a for a in assumed_figures(parts) if a.of is Figure.VOLTS]
    assert volts.refs == ("Q1", "Q2", "Q3") and volts.unit == "V"


def test_assumptions_come_in_the_order_of_the_figures_and_of_valves_there_are_none():
    parts = parts_of(device("regulator", value="12 V", ref="U1"), device("n-channel mosfet"),
                     triode("V1", "a", "g", "k"))  # fmt: skip
    order = [a.of for a in assumed_figures(parts)]
    assert order == sorted(order, key=list(Figure).index)
    assert not any("V1" in a.refs for a in assumed_figures(parts))


@pytest.mark.parametrize(("kind", "ohms"), [("dc supply", 0.1), ("battery", 1.0)])
def test_the_resistance_of_a_supply_is_assumed_only_where_none_is_stated(kind, ohms):
    row = device(kind, value="9 V", ref="B1")
    (told,) = assumed_figures([part_from_mapping(row)])
    assert (told.of, told.value, told.unit, told.refs) == (Figure.OHMS, ohms, "Ω", ("B1",))
    assert assumed_figures([part_from_mapping(row | {"ohms": "0.5R"})]) == ()


def test_a_transformer_without_regulation_amps_or_ohms_has_one_assumed_for_ratings():
    stated = transformer(("ht", "250 V", "100R", ("a", "chassis")))
    bare = {k: v for k, v in stated.items() if k != "regulation"}
    bare["winding"] = [{k: v for k, v in w.items() if k != "amps"} for w in bare["winding"]]
    (told,) = assumed_figures(parts_of(bare))
    assert told.of is Figure.REGULATION and told.unit == "%" and told.value == pytest.approx(12)
    assert assumed_figures(parts_of(stated)) == ()


def diode(type_="", **model):
    row = {"ref": "D1", "kind": "diode", "type": type_, "joins": {"anode": "a", "cathode": "k"}}
    return part_from_mapping(row | ({"model": model} if model else {}))


@pytest.mark.parametrize("colour", LED_VOLTS)
def test_an_led_drops_what_its_colour_does(colour):
    """Shorter waves take more: E = hc/λ (physics), so the order of the colours is the order of the drops."""
    assert forward_drop(diode(f"LED, {colour}")) == (LED_VOLTS[colour], LED_AMPS)
    assert forward_drop(diode(f"{colour.upper()} led 5 mm")) == (LED_VOLTS[colour], LED_AMPS)
    spectrum = ["infrared", "red", "orange", "yellow", "green", "blue"]
    assert [LED_VOLTS[c] for c in spectrum] == sorted(LED_VOLTS[c] for c in spectrum)


def test_an_led_without_a_colour_is_refused_unless_its_own_drop_is_given():
    with pytest.raises(ChecksError) as error:
        forward_drop(diode("LED 5 mm"))
    assert error.value.code == "led-drop"
    assert forward_drop(diode("LED 5 mm", volts=2.2)) == (2.2, LED_AMPS)
    assert forward_drop(diode("LED, red", volts=1.6, amps=0.02)) == (1.6, 0.02)


@pytest.mark.parametrize("type_", ["1N4007", "", "UF4007 fast", "Pb-free, plain", "sled", "OLEDs", "red"])
def test_a_plain_diode_is_no_led(type_):
    part = diode(type_)
    assert not is_led(part) and forward_drop(part) is None


def test_only_a_diode_has_a_forward_drop_of_its_own():
    assert forward_drop(part_from_mapping(resistor("R1", "a", "b", "1k"))) is None
