"""Whether to switch off comes first, and sentences that contradict each other never stand together."""

from itertools import product

import pytest

from checks.diagnosis.advice import ASKS_TO_MEASURE_AGAIN, POWER_OFF, AdviceCode, Sentence, Situation, advise
from checks.diagnosis.overload import Point, find_point, may_mean_overload, supply_nodes
from tests.checks.circuit.kits import parts_of
from tests.checks.diagnosis.test_faults import PARTS

OPINIONS = tuple(
    Sentence(code)
    for code in (
        AdviceCode.MEASURING_ERROR,
        AdviceCode.FITS_GOOD_KIT,
        AdviceCode.LIKELY_CAUSE,
        AdviceCode.MAYBE_TWO_FAULTS,
        AdviceCode.OTHER_READING,
    )
)
POWERED = Situation("V", 200.0, power_on=True, powered_check=True, may_overload=True, is_supply=True)


def codes(advice):
    return [advice.lead.code, *(one.code for one in advice.folded)]


def test_with_power_on_a_reading_that_may_mean_overload_says_switch_off_first_and_never_measure_again():
    advice = advise(POWERED, OPINIONS)
    assert advice.lead.code is AdviceCode.SWITCH_OFF and advice.power_off
    assert not set(codes(advice)) & ASKS_TO_MEASURE_AGAIN


def test_made_safe_it_says_to_keep_it_off():
    made_safe = Situation("V", 200.0, power_on=False, powered_check=True, may_overload=True)
    assert advise(made_safe, OPINIONS).lead.code is AdviceCode.KEEP_OFF


def test_a_reading_that_cannot_mean_overload_says_first_that_the_power_may_stay():
    harmless = Situation("V", 320.0, power_on=True, powered_check=True, may_overload=False)
    advice = advise(harmless, OPINIONS)
    assert advice.lead.code is AdviceCode.POWER_MAY_STAY
    assert advice.folded[0].code is AdviceCode.MEASURING_ERROR


def test_sentences_that_contradict_each_other_never_stand_together():
    rivals = {AdviceCode.MEASURING_ERROR, AdviceCode.FITS_GOOD_KIT, AdviceCode.SAME_TWICE, AdviceCode.LIKELY_CAUSE}
    for power_on, powered, may, supply, stopped in product((False, True), repeat=5):
        for value in (-316.0, 0.0, 12.0, None):
            given = Situation("V", value, power_on, powered, may, supply, True, stopped)
            for start in range(len(OPINIONS)):
                result = codes(advise(given, (*OPINIONS[start:], Sentence(AdviceCode.NO_KNOWN_FAULT))))
                assert len(set(result) & rivals) <= 1
                assert not {AdviceCode.LIKELY_CAUSE, AdviceCode.NO_KNOWN_FAULT} <= set(result)
                assert len(result) == len(set(result))
                if stopped or set(result) & POWER_OFF:
                    assert not set(result) & ASKS_TO_MEASURE_AGAIN


def test_a_negative_supply_names_swapped_leads_or_a_reversed_rectifier():
    minus = Situation("V", -316.0, power_on=True, powered_check=True, may_overload=True, is_supply=True)
    assert codes(advise(minus, ()))[:2] == [AdviceCode.SWITCH_OFF, AdviceCode.NEGATIVE_SUPPLY]
    plus = Situation("V", 316.0, power_on=True, powered_check=True, may_overload=True, is_supply=True)
    assert AdviceCode.NEGATIVE_SUPPLY not in codes(advise(plus, ()))


def test_a_reading_far_across_zero_is_said_to_be_turned_once_wherever_it_is_taken():
    anode = Situation("V", -150.0, power_on=True, powered_check=True, may_overload=True, is_turned=True)
    assert codes(advise(anode, ()))[:2] == [AdviceCode.SWITCH_OFF, AdviceCode.NEGATIVE_SUPPLY]
    cold = Situation("V", -150.0, is_turned=True)
    assert codes(advise(cold, ())) == [AdviceCode.NEGATIVE_SUPPLY]


def test_negative_ohms_name_a_charged_capacitor_before_anything_else():
    advice = advise(Situation("Ω", -40.0), OPINIONS)
    assert advice.lead.code is AdviceCode.CHARGED_CAPACITOR
    assert not set(codes(advice)) & {AdviceCode.MEASURING_ERROR, AdviceCode.LIKELY_CAUSE}
    assert advise(Situation("Ω", 40.0), OPINIONS).lead.code is AdviceCode.MEASURING_ERROR


def test_where_nothing_is_known_the_cause_is_to_be_found():
    assert advise(Situation("Ω", 40.0), ()).lead.code is AdviceCode.FIND_CAUSE


@pytest.mark.parametrize(
    ("measure", "point", "value", "is_high", "has_stop", "may"),
    [  # common practice
        ("dc volts", Point.SUPPLY, 200.0, False, True, True),  # pulled down by a short
        ("dc volts", Point.SUPPLY, 330.0, True, True, False),  # too little load, within the parts' ratings
        ("dc volts", Point.SUPPLY, 330.0, True, False, True),  # nobody has said what the capacitors take
        ("dc volts", Point.SUPPLY, -316.0, False, True, True),
        ("dc volts", Point.ANODE_OR_SCREEN, 290.0, True, True, False),
        ("dc volts", Point.ANODE_OR_SCREEN, 40.0, False, True, True),
        ("dc volts", Point.BIAS, 14.0, True, True, True),  # a coupling capacitor that leaks
        ("dc volts", Point.BIAS, 0.2, False, True, True),  # a bypass capacitor that is shorted
        ("dc volts", Point.OTHER, 300.0, True, True, True),
        ("current", Point.OTHER, 0.001, False, True, False),
        ("current", Point.OTHER, 0.09, True, True, True),
        ("current", Point.OTHER, -0.02, False, True, True),
        ("ac volts", Point.OTHER, 5.0, False, True, True),
        ("ac volts", Point.OTHER, 8.0, True, True, True),
        ("dc volts", Point.SUPPLY, None, True, True, True),
        ("resistance", Point.SUPPLY, 1.0, False, False, False),
    ],
)
def test_what_may_mean_an_overload(measure, point, value, is_high, has_stop, may):
    assert may_mean_overload(measure, point, value, is_high, has_stop) is may


@pytest.mark.parametrize(
    ("value", "point", "may"),
    [  # common practice: a supply without its load rises by its regulation, one on the wrong tap by much more
        (330.0, Point.SUPPLY, False),
        (380.0, Point.SUPPLY, False),
        (400.0, Point.SUPPLY, True),
        (467.0, Point.SUPPLY, True),
        (467.0, Point.ANODE_OR_SCREEN, False),  # an anode stands at its supply where its valve is dead
    ],
)
def test_a_supply_far_above_its_band_may_mean_an_overload_though_no_rating_is_passed(value, point, may):
    assert may_mean_overload("dc volts", point, value, True, True, 309.0) is may


def test_points_are_known_by_what_is_joined_there():
    assert find_point(PARTS, "ht.reservoir") is Point.SUPPLY and "ht.reservoir" in supply_nodes(PARTS)
    assert find_point(PARTS, "V2.3") is Point.BIAS and find_point(PARTS, "V2.7") is Point.ANODE_OR_SCREEN
    tied = parts_of(
        {"ref": "D1", "kind": "diode", "joins": {"anode": "ac", "cathode": "ht"}},
        {
            "ref": "V1",
            "kind": "pentode",
            "type": "EL84",
            "base": "B9A",
            "joins": {"anode": "a", "screen": "ht", "grid": "g", "cathode": "k"},
            "pins": {"anode": "7", "screen": "9", "grid": "2", "cathode": "3"},
        },
    )
    assert find_point(tied, "ht") is Point.SUPPLY is find_point(tied, "V1.9")  # a screen tied to the supply
    assert "chassis" not in supply_nodes(PARTS)
    assert find_point(PARTS, "nowhere") is Point.OTHER
