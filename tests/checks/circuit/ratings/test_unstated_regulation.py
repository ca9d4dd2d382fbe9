"""A maker states a winding's volts at its rated amps. Where a parts list says nothing of regulation, the volts without
load must not come out low: a capacitor would pass that is over its rating in every build at switch-on.

Outside checks: Ohm's law over the windings' copper, and what small mains transformers are sold with (common practice:
about 12 % at 30 VA, 8 % at 100 VA, 6 % above).
"""

import math

import pytest

from checks.circuit import Condition, assumed_figures, component_stresses, parts_list_warnings, predict
from checks.circuit.netlist.conditions import COPPER, WINDING_RISE
from checks.circuit.netlist.transistors import Figure
from checks.circuit.ratings.circumstances import NOMINAL, SWITCH_ON
from checks.errors import ChecksError
from tests.checks.circuit.kits import capacitor, diode, parts_of, resistor

PRIMARY = {"name": "primary", "volts": "230 V", "ohms": "40R", "joins": ["mains.live", "mains.neutral"]}
HT = {"name": "ht", "volts": "250 V", "amps": "80 mA", "ohms": "100R", "joins": ["a", "chassis"]}
HEATER = {"name": "heater", "volts": "6.3 V", "amps": "2 A", "ohms": "0.15R", "joins": ["h", "chassis"]}


def supply(*windings, rated="400 V", **transformer):
    """An idle supply: nothing but a bleeder, so that its reservoir stands at the winding's open peak."""
    return [
        {"ref": "T1", "kind": "mains transformer", "winding": [PRIMARY, *(windings or (HT, HEATER))], **transformer},
        diode("D1", "a", "p"),
        capacitor("C1", "p", "chassis", "100u") | {"volts": rated},
        resistor("R1", "p", "chassis", "2M2"),
        resistor("R2", "h", "chassis", "1k"),
    ]


def without(row, *keys):
    return {key: value for key, value in row.items() if key not in keys}


def idle_volts(rows):
    return predict(parts_of(*rows), Condition(), [("p", "chassis", "dc volts")])[0].value


def over(rows):
    return any(s.ref == "C1" and s.over for s in component_stresses(parts_of(*rows), Condition(), samples=200))


def warned(rows):
    return {w.code for w in parts_list_warnings(parts_of(*rows)) if w.code.startswith("regulation")}


def test_rated_volts_rise_without_load_by_what_the_warm_copper_drops_at_rated_amps():
    watts = 250 * 0.08 + 6.3 * 2
    share = (1 + COPPER * WINDING_RISE) * (0.08 * 100 / 250 + watts * 40 / 230**2)
    assert share == pytest.approx(0.063, abs=0.001)
    rise = idle_volts(supply()) / idle_volts(supply(regulation="0%"))
    assert rise == pytest.approx(1 + share, rel=2e-3)


def test_a_half_of_a_tapped_winding_drops_over_its_own_half_of_the_copper():
    tapped = HT | {"ohms": "200R", "joins": ["a", "chassis", "b"]}
    assert idle_volts(supply(tapped, HEATER)) == pytest.approx(idle_volts(supply()), rel=2e-3)


@pytest.mark.lengthy
def test_a_capacitor_over_its_rating_without_load_is_no_longer_passed():
    """250 V rms, its peak at 253 V of 230 V mains is 389 V: below 400 V, and 413 V by the copper's 6.3 %."""
    assert 250 * math.sqrt(2) * 1.1 < 400 < 250 * math.sqrt(2) * 1.1 * 1.06
    assert over(supply()) and not over(supply(regulation="0%"))


@pytest.mark.lengthy
@pytest.mark.parametrize("gone", [HT, HEATER])
def test_without_the_rated_amps_a_usual_regulation_is_assumed_for_ratings_alone(gone):
    rows = supply(*(without(w, "amps") if w is gone else w for w in (HT, HEATER)))
    stated = supply(regulation="12%")
    assert idle_volts(rows) == pytest.approx(idle_volts(supply(regulation="0%")), rel=1e-6)
    assert over(rows) and over(stated)
    highest, known = (
        max(s.value for s in component_stresses(parts_of(*r), Condition(), samples=50) if (s.ref, s.at) == ("C1", at))
        for r, at in ((rows, SWITCH_ON), (stated, SWITCH_ON))
    )
    assert highest == pytest.approx(known, rel=1e-6)
    assert [(a.value, a.refs) for a in assumed_figures(parts_of(*rows)) if a.of is Figure.REGULATION] == [
        (12.0, ("T1",))
    ]


def test_a_larger_transformer_is_assumed_to_drop_less():
    big = without(PRIMARY, "volts") | {"ohms": "4R"}
    rows = supply()
    rows[0] = rows[0] | {"winding": [big, HT | {"amps": "300 mA"}, HEATER | {"amps": "5 A"}]}
    assert [a.value for a in assumed_figures(parts_of(*rows)) if a.of is Figure.REGULATION] == [8.0]


def test_what_is_stated_is_neither_doubted_nor_changed():
    for stated in ("0%", "8%"):
        assert warned(supply(regulation=stated)) == set()
        assert not any(a.of is Figure.REGULATION for a in assumed_figures(parts_of(*supply(regulation=stated))))
    ratio = idle_volts(supply(regulation="8%")) / idle_volts(supply(regulation="0%"))
    assert ratio == pytest.approx(1.08, rel=2e-3)


def test_the_import_says_what_was_taken_for_the_regulation():
    assert warned(supply()) == {"regulation-of-copper"}
    assert warned(supply(without(HT, "amps"), HEATER)) == {"regulation-assumed"}


@pytest.mark.parametrize("share", ["-1%", "100%", "some", "8 V"])
def test_a_regulation_that_is_no_share_is_refused(share):
    with pytest.raises(ChecksError):
        parts_of(*supply(regulation=share))


def test_a_winding_without_ohms_is_not_calculated_from_no_regulation():
    with pytest.raises(ChecksError) as error:
        parts_of(*supply(without(HT, "ohms"), HEATER, regulation="0%"))
    assert error.value.code == "winding-ohms-missing"


@pytest.mark.lengthy
def test_the_stress_at_nominal_mains_is_judged_at_the_same_volts():
    rows = supply(without(HT, "amps"), HEATER)
    nominal = next(
        s for s in component_stresses(parts_of(*rows), Condition(), samples=50) if (s.ref, s.at) == ("C1", NOMINAL)
    )
    assert nominal.value == pytest.approx(1.12 * 250 * math.sqrt(2), rel=0.01)
