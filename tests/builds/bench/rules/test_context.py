"""What a reading is judged by, put together by hand: no build, no guide."""

import pytest

from builds.bench.readings.context import ReadingContext, Through
from checks.band import Band
from checks.derived import Estimate
from checks.errors import ChecksError
from checks.mains import Line
from checks.measures import find_measure
from checks.meter import PRESETS
from checks.outcomes import Outcome
from checks.quantity import Quantity
from tests.builds.bench.rules.rows import make_check

VOLTS = Band(270.0, 330.0, 300.0, stop_above=400.0)


def context(band=VOLTS, measure="dc volts", **fields) -> ReadingContext:
    usual = {
        "check": make_check(1),
        "measure": find_measure(measure),
        "mains_volts": None,
        "line": Line(1.0),
        "exponent": 1.0,
        "guide_band": band,
        "band": band,
        "meter": PRESETS["handheld"],
        "source_ohms": None,
        "through": None,
    }
    return ReadingContext(**{**usual, **fields})


def outcome_of(reading: ReadingContext) -> Outcome:
    return reading.result[2].outcome


def test_nothing_is_judged_before_anything_was_read_nor_without_a_band():
    with pytest.raises(ValueError, match="judged"):
        _ = context().result
    for judge in (lambda c: c.judged("300.0"), lambda c: c.judged_known(Estimate(300.0))):
        with pytest.raises(ChecksError) as caught:
            judge(context(None))
        assert caught.value.code == "no-band"


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [("300.0", "in band"), ("330.0", "too close to call"), ("350", "out of band"), ("450", "switch off")],
)
def test_a_typed_reading_is_judged_by_its_band(typed, outcome):
    judged = context().judged(typed)
    assert outcome_of(judged) == outcome and judged.quantity.value == float(typed)


def test_while_figures_of_valves_are_waited_for_only_a_stop_is_judged():
    waiting = context(is_waiting=True)
    for judge in (lambda: waiting.judged("300.0"), lambda: waiting.judged_known(Estimate(300.0))):
        with pytest.raises(ChecksError) as caught:
            judge()
        assert caught.value.code == "valve-figures"
    assert outcome_of(waiting.judged("450")) is Outcome.SWITCH_OFF
    assert outcome_of(waiting.judged_known(Estimate(450.0))) is Outcome.SWITCH_OFF


def test_a_figure_worked_out_is_judged_with_its_own_uncertainty():
    assert outcome_of(context().judged_known(Estimate(328.0))) is Outcome.IN_BAND
    judged = context().judged_known(Estimate(328.0, 3.0))
    assert outcome_of(judged) is Outcome.TOO_CLOSE and (judged.quantity.value, judged.shown) == (328.0, "328.0 V")
    assert judged.verdict.confirms
    assert not context().judged_known(Estimate(328.0, 3.0), beyond=20.0).verdict.confirms  # meters lose it twice alike
    assert outcome_of(context().judged_known(Estimate(350.0))) is Outcome.OUT_OF_BAND


def test_a_current_is_read_in_volts_across_its_resistor():
    """Ohm's law: 40 mA to 60 mA through 100 Ω drop 4 V to 6 V."""
    current = context(Band(0.04, 0.06, 0.05, stop_above=0.1), "current", through=Through("R7", 100.0, 0.01))
    shown = current.meter_band
    assert (shown.low, shown.high, shown.expected, shown.stop_above) == pytest.approx((4.0, 6.0, 5.0, 10.0))
    assert shown.stop_below is None
    judged = current.judged("5.00 V")
    assert judged.measurement.value == pytest.approx(0.05) and outcome_of(judged) is Outcome.IN_BAND
    assert outcome_of(current.judged("11.0 V")) is Outcome.SWITCH_OFF
    assert context().meter_band is VOLTS and context(None, through=Through("R7", 100.0, 0.01)).meter_band is None


def test_the_unit_chosen_beforehand_is_that_of_the_band_as_the_meter_shows_it():
    assert context().unit_beforehand == "V"
    for ohms, unit in ((1000.0, "V"), (1.0, "")):  # of 40 mV to 60 mV nobody knows how the meter shows them
        assert context(Band(0.04, 0.06), "current", through=Through("R7", ohms, 0.01)).unit_beforehand == unit
    assert context(None).unit_beforehand == ""  # the builder chooses


@pytest.mark.parametrize(
    ("exponent", "closeness"), [(0.0, "in band"), (1.0, "too close to call"), (-1.0, "too close to call")]
)
def test_what_is_not_known_of_the_line_counts_by_the_exponent(exponent, closeness):
    """A line known to ±1 % moves 326 V by 3.3 V where they go as the line, beside a limit 4 V away."""
    judged = context(line=Line(1.0, 0.01), exponent=exponent).judged("326.0")
    assert outcome_of(judged) == closeness


def test_a_reading_is_compared_with_others_at_the_guides_mains_and_valves():
    judged = context(line=Line(1.1), exponent=2.0).judged("300.0")
    whole = judged.measurement.value
    assert context().judged("300.0").at_reference == pytest.approx(whole)
    assert judged.at_reference == pytest.approx(whole / 1.21)
    assert context(share=2.0).judged("300.0").at_reference == pytest.approx(whole / 2)
    assert context(share=None).judged("300.0").at_reference == pytest.approx(whole)
    assert context(Band(1e6, None), "resistance").judged("OL").at_reference is None


def test_volts_that_no_meter_shows_are_refused_where_they_would_pass():
    """A phone's capital M: 250 mV of a dead supply, typed as 250 MV, is "at least 200 V"."""
    with pytest.raises(ChecksError) as caught:
        context(Band(200.0, None)).judged("250 MV")
    assert caught.value.code == "not-shown"
    with pytest.raises(ChecksError) as caught:
        context(Band(200.0, None)).judged("250000")
    assert caught.value.code == "size"


def test_a_likely_typing_error_is_asked_about_where_no_meter_shows_what_was_typed():
    assert context(Band(270.0, 330.0)).judged("300000").likely_typing_error().value == pytest.approx(300.0)
    assert context(Band(270.0, 330.0)).judged("500000").likely_typing_error() is None  # 500 V is off too
    assert context(Band(270.0, 330.0)).judged("300.0").likely_typing_error() is None
    assert context(Band(None, 330.0)).judged("300000").likely_typing_error() is None
    assert context(Band(-330.0, 330.0)).judged("300000").likely_typing_error() is None
    assert context().judged("300000").likely_typing_error() is None  # a stop is never questioned


def test_ohms_that_pass_are_asked_about_where_kilohms_were_probably_meant():
    insulation = context(Band(20e6, None), "isolation")
    assert insulation.judged("470 MΩ").likely_typing_error().value == pytest.approx(470e3)
    assert insulation.judged("30 MΩ").likely_typing_error() is None
    assert context(Band(100e3, None), "isolation").judged("470 MΩ").likely_typing_error() is None  # 470 kΩ pass too


def test_of_a_quantity_the_number_judged_is_the_one_kept():
    judged = context().judged_quantity(Quantity(300.0, "V"))
    assert judged.quantity == Quantity(300.0, "V") and judged.measurement.raw == 300.0


@pytest.mark.parametrize(
    ("limits", "typed", "meant"),
    [
        ((90e3, 110e3), "100 MΩ", 100e3),  # no hand-held meter shows it (common practice)
        ((90e3, 110e3), "100 Ω", None),  # one colour ring: a plausible fault is never questioned
        ((90e3, 110e3), "200 MΩ", None),  # out of band as kilohms too
        ((90e3, None), "100 MΩ", None),  # an insulation tester shows it, and 100 kΩ would pass as well
        ((None, 110e3), "100 MΩ", None),
        ((0.0, 110e3), "100 MΩ", None),  # a band that reaches nought
        ((-110e3, 110e3), "100 MΩ", None),
    ],
)
def test_a_thousandth_is_asked_about_only_where_no_meter_shows_the_figure_and_the_band_has_two_ends(
    limits, typed, meant
):
    reading = context(Band(*limits), "resistance").judged(typed)
    slip = reading.likely_typing_error()
    assert (slip and slip.value) == (meant and pytest.approx(meant))


def test_a_stop_is_never_taken_for_a_slip():
    reading = context(Band(90e3, 110e3, stop_above=1e6), "resistance").judged("100 MΩ")
    assert outcome_of(reading) == "switch off" and reading.likely_typing_error() is None


@pytest.mark.parametrize(
    ("factor", "exponent", "share", "value"),
    [
        (1.0, 1.0, None, 300.0),
        (1.1, 1.0, None, 300.0 / 1.1),
        (1.1, 2.0, None, 300.0 / 1.21),
        (0.9, 0.0, None, 300.0),
        (1.0, 1.0, 1.25, 240.0),
        (1.1, 1.0, 0.5, 600.0 / 1.1),
    ],
)
def test_builds_are_compared_at_the_guides_mains_and_with_its_valves(factor, exponent, share, value):
    reading = context(line=Line(factor), exponent=exponent, share=share).judged("300.0")
    assert reading.at_reference == pytest.approx(value, rel=1e-9)


def test_what_is_over_range_is_compared_with_nothing():
    assert context(Band(20e6, None), "resistance").judged("OL MΩ").at_reference is None
