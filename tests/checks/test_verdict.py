"""What a reading means."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import truncnorm

from checks.band import Band
from checks.errors import ChecksError
from checks.mains import Line, line_for
from checks.meter import PRESETS, Accuracy, Measurement, MeterSpec, measure
from checks.outcomes import Outcome, Reason
from checks.quantity import parse_quantity
from checks.verdict import conformance, conformance_of_one, judge, judge_at_line, nearer_limit

BAND = Band(270, 330, 300, stop_above=400)
SPEC = PRESETS["handheld"]


def outcome(typed, band=BAND, **more):
    return judge(measure(parse_quantity(typed, "V"), "dc volts", SPEC), band, **more).outcome


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("300", Outcome.IN_BAND),
        ("330", Outcome.TOO_CLOSE),
        ("350", Outcome.OUT_OF_BAND),
        ("250", Outcome.OUT_OF_BAND),
        ("401", Outcome.SWITCH_OFF),
        ("OL", Outcome.SWITCH_OFF),
    ],
)
def test_verdicts_on_a_two_sided_band(typed, expected):
    assert outcome(typed) is expected


def test_either_the_raw_value_or_the_corrected_one_stops():
    """270 V shown by a 1 MΩ meter behind 470 kΩ is 270 x (1 + 0.47) = 397 V (voltage divider)."""
    shown = measure(parse_quantity("270", "V"), "dc volts", PRESETS["basic"], source_ohms=470e3)
    assert shown.value == pytest.approx(396.9)
    assert judge(shown, Band(200, 300, stop_above=350)).outcome is Outcome.SWITCH_OFF
    assert judge(Measurement(340.0, 1.0, 360.0), Band(200, 300, stop_above=350)).outcome is Outcome.SWITCH_OFF
    assert judge(Measurement(340.0, 1.0, 340.0), Band(200, 300, stop_above=350)).outcome is Outcome.OUT_OF_BAND


@pytest.mark.parametrize(
    ("band", "expected"),
    [(Band(1e6, None), Outcome.IN_BAND), (Band(None, 0.5), Outcome.OUT_OF_BAND), (Band(90, 110), Outcome.OUT_OF_BAND)],
)
def test_over_range_is_censored(band, expected):
    over = measure(parse_quantity("OL", "Ω"), "resistance", SPEC)
    assert judge(over, band, unit="Ω").outcome is expected


def test_a_sure_meter_decides_at_the_limit_itself():
    assert judge(Measurement(330.0, 0.0, 330.0), BAND).outcome is Outcome.IN_BAND
    assert judge(Measurement(330.01, 0.0, 330.01), BAND).outcome is Outcome.OUT_OF_BAND


def test_the_band_moves_with_the_builders_mains():
    high = line_for(230, measured_volts=253, nominal_volts=230)
    assert outcome("330") is Outcome.TOO_CLOSE
    assert outcome("330", line=high, exponent=1.0) is Outcome.IN_BAND
    assert outcome("280", line=high, exponent=1.0) is Outcome.OUT_OF_BAND


def test_an_unknown_mains_widens_the_band():
    unknown = line_for(230, measured_volts=None, nominal_volts=230)
    assert unknown.spread == pytest.approx(0.1)
    assert outcome("350", line=unknown, exponent=1.0) is Outcome.IN_BAND


@pytest.mark.parametrize(
    ("typed", "reason", "limit"),
    [
        ("300", Reason.WITHIN, None),
        ("330.0", Reason.CLOSE, 330),
        ("271.0", Reason.CLOSE, 270),
        ("350", Reason.HIGH, 330),
        ("250", Reason.LOW, 270),
        ("410", Reason.STOP_ABOVE, 400),
        ("-410", Reason.STOP_SWAPPED, 400),
        ("OL", Reason.STOP_OVER_RANGE, 400),
        ("-OL", Reason.STOP_BELOW_RANGE, 400),
    ],
)
def test_a_verdict_gives_its_reason_and_the_limit_it_is_about(typed, reason, limit):
    verdict = judge(measure(parse_quantity(typed, "V"), "dc volts", SPEC), BAND)
    assert (verdict.reason, verdict.limit) == (reason, limit)
    assert verdict.params["limit"] == limit


def test_the_stop_limit_itself_is_not_past_it():
    """Switch off above 400 V: at 400.0 V as shown, it is not above."""
    assert judge(Measurement(400.0, 0.1, 400.0), BAND).outcome is Outcome.OUT_OF_BAND
    assert judge(Measurement(400.1, 0.1, 400.1), BAND).outcome is Outcome.SWITCH_OFF
    low = Band(270, 330, stop_below=200)
    assert judge(Measurement(200.0, 0.1, 200.0), low).outcome is Outcome.OUT_OF_BAND
    assert judge(Measurement(199.9, 0.1, 199.9), low).outcome is Outcome.SWITCH_OFF


def test_a_stop_passed_by_the_corrected_value_alone_names_that_value():
    verdict = judge(Measurement(397.0, 1.0, 270.0), Band(200, 300, stop_above=350))
    assert (verdict.outcome, verdict.params["value"]) == (Outcome.SWITCH_OFF, 397.0)


def test_a_meter_of_two_kinds_at_once_is_refused():
    with pytest.raises(ChecksError, match="one of the two"):
        MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1), input_ohms=1e7, ohms_per_volt=2e4, ranges=(10,))


@pytest.mark.parametrize("key", PRESETS)
def test_a_meter_survives_being_kept(key):
    spec = PRESETS[key]
    assert MeterSpec.from_dict(spec.as_dict()) == spec


def test_a_current_is_read_over_its_resistor():
    measurement = measure(parse_quantity("8.19", "V"), "current", SPEC, through_ohms=180.0, through_tolerance=0.05)
    assert measurement.value == pytest.approx(0.0455, rel=1e-3)
    assert measurement.u > 0.0455 * 0.05 / math.sqrt(3) * 0.99


def test_a_line_below_zero_is_refused():
    with pytest.raises(ChecksError):
        Line(0.0)


def test_not_connected_is_what_over_range_should_be():
    band = Band(1e6, None, is_open=True)
    over = measure(parse_quantity("OL", "Ω"), "resistance", SPEC)
    assert judge(over, band, unit="Ω").reason is Reason.NOT_CONNECTED
    joined = judge(measure(parse_quantity("47", "Ω"), "resistance", SPEC), band, unit="Ω")
    assert joined.outcome is Outcome.OUT_OF_BAND
    assert (joined.reason, joined.params["value"]) == (Reason.CONNECTED, 47.0)


def test_the_sign_of_a_small_voltage_does_not_excuse_a_large_one():
    assert outcome("-3.00", Band(None, 0.1)) is Outcome.OUT_OF_BAND
    assert outcome("-0.010", Band(None, 0.1)) is Outcome.IN_BAND


def test_a_close_verdict_says_what_makes_more_of_it_than_the_meters_per_cent():
    """±(1 % + 5 digits) on 10.6 V: 106 mV of the per cent, 500 mV of the digits as typed; a 1 MΩ meter on a 400 kΩ
    node."""
    basic = PRESETS["basic"]
    coarse = judge(measure(parse_quantity("10.6", "V"), "dc volts", basic), Band(10.5, 12.5))
    assert coarse.reason is Reason.CLOSE_BY_DIGITS
    loaded = judge(measure(parse_quantity("100.0", "V"), "dc volts", basic, source_ohms=400e3), Band(135.0, 160.0))
    assert loaded.reason is Reason.CLOSE_BY_LOAD
    plain = judge(measure(parse_quantity("300.0", "V"), "dc volts", basic), Band(298.0, 400.0))
    assert plain.reason is Reason.CLOSE


@pytest.mark.parametrize(
    ("value", "u", "expected"),
    [
        (285.0, 1.0, Outcome.TOO_CLOSE),
        (286.6, 1.0, Outcome.TOO_CLOSE),
        (286.7, 1.0, Outcome.IN_BAND),
        (284.9, 1.0, Outcome.OUT_OF_BAND),
    ],
)
def test_the_guard_band_is_1_645_u_each_side(value, u, expected):
    """ISO 14253-1:2017 default: 95 % probability of conformance, which is 1.645 standard uncertainties from the
    limit."""
    assert judge(Measurement(value, u, value), Band(285, 315, 300)).outcome is expected


SWAPPED = [
    (-420.0, BAND, Outcome.SWITCH_OFF),
    (-390.0, BAND, Outcome.OUT_OF_BAND),
    (-6.0, Band(None, 0.1, stop_above=5), Outcome.SWITCH_OFF),
    (-45.0, Band(-50, -40, -45, stop_above=10), Outcome.IN_BAND),
    (-45.0, Band(None, -40, stop_above=10), Outcome.IN_BAND),
    (-450.0, Band(250, None, stop_above=400), Outcome.SWITCH_OFF),
    (-61.0, Band(-50, -40, stop_below=-60), Outcome.SWITCH_OFF),
]


@pytest.mark.parametrize(("value", "band", "expected"), SWAPPED)
def test_a_stop_limit_holds_with_the_probes_swapped_too(value, band, expected):
    verdict = judge(Measurement(value, 0.01, value), band)
    assert verdict.outcome is expected
    if expected is Outcome.SWITCH_OFF and band.stop_above:
        assert verdict.reason is Reason.STOP_SWAPPED


NEGATIVE = Band(-64, -52, stop_below=-80)


def test_a_negative_supply_past_its_limit_stops_with_the_probes_swapped_and_over_range():
    verdict = judge(Measurement(90.0, 0.5, 90.0), NEGATIVE)
    assert (verdict.outcome, verdict.reason, verdict.limit) == (Outcome.SWITCH_OFF, Reason.STOP_SWAPPED, -80)
    assert judge(Measurement(60.0, 0.5, 60.0), NEGATIVE).outcome is Outcome.OUT_OF_BAND
    over = judge(Measurement(None, 0.0, None, over_range=True), NEGATIVE)
    assert (over.outcome, over.reason, over.limit) == (Outcome.SWITCH_OFF, Reason.STOP_OVER_RANGE, 80)
    nearer = judge(Measurement(90.0, 0.5, 90.0), Band(-64, -52, stop_below=-80, stop_above=-20))
    assert (nearer.reason, nearer.limit) == (Reason.STOP_ABOVE, -20)


@pytest.mark.parametrize("exponent", [0.5, 1.0, 2.0, -1.0])
def test_the_lines_uncertainty_counts_by_the_exponent(exponent):
    """JCGM 100:2008, 5.1.6: for y = x^n the relative uncertainty of y is n times that of x."""
    verdict = judge(Measurement(300.0, 3.0, 300.0), Band(200, 400), line=Line(1.0, 0.02), exponent=exponent)
    assert verdict.u == pytest.approx(math.hypot(3.0, 300.0 * 0.02 * abs(exponent)))
    still = judge(Measurement(300.0, 3.0, 300.0), Band(200, 400), line=Line(1.0, 0.02), exponent=0.0)
    assert still.u == 3.0


@pytest.mark.parametrize(("value", "band"), [(0.5, Band(0.5, 10.0)), (10.0, Band(0.5, 10.0)), (0.5, Band(None, 0.5))])
def test_what_was_rounded_to_either_limit_cannot_be_confirmed(value, band):
    coarse = judge(Measurement(value, 0.05, value, share=0.004, step=0.1), band)
    assert (coarse.outcome, coarse.confirms) == (Outcome.TOO_CLOSE, False)
    inside = min(max(value, 0.6), 9.9) if band.low is not None else 0.4
    assert judge(Measurement(inside, 0.2, inside, share=0.004, step=0.1), band).confirms


@pytest.mark.parametrize(
    ("u", "counts", "loading", "reason"),
    [
        (2.0, 2.6, 0.0, Reason.CLOSE_BY_DIGITS),  # 2.6/√3 = 1.50, more than 0.7 u
        (2.0, 2.2, 0.0, Reason.CLOSE),  # 1.27, less
        (2.0, 0.0, 8.0, Reason.CLOSE_BY_LOAD),  # a fifth of the correction is 1.6
        (2.0, 0.0, -8.0, Reason.CLOSE_BY_LOAD),
        (2.0, 0.0, 6.0, Reason.CLOSE),
        (0.5, 0.5, 0.0, Reason.CLOSE),
    ],
)
def test_one_thing_is_named_where_it_makes_seven_tenths_of_the_doubt(u, counts, loading, reason):
    assert judge(Measurement(329.9, u, 329.9, loading=loading, counts=counts), BAND).reason is reason


@pytest.mark.parametrize(("beyond", "confirms"), [(0.4, True), (0.6, False)])
def test_what_the_meter_may_lose_at_a_frequency_confirms_only_a_reading_that_stays_in_band(beyond, confirms):
    """329.5 V, and 330 V is the limit: what is lost is lost the same a second time."""
    verdict = judge(Measurement(329.5, 1.0, 329.5, beyond=beyond), BAND)
    assert (verdict.outcome, verdict.confirms) == (Outcome.TOO_CLOSE, confirms)


def test_over_range_counts_as_far_off_and_a_wanted_one_as_not_off_at_all():
    over = measure(parse_quantity("OL", "Ω"), "resistance", SPEC)
    assert judge(over, Band(9, 15), unit="Ω").deviation == 99.0
    expected = judge(over, Band(1e6, None), unit="Ω")
    assert (expected.deviation, expected.side) == (0.0, "")
    below = measure(parse_quantity("-OL", "V"), "dc volts", SPEC)
    assert (judge(below, Band(9, 15)).deviation, judge(below, Band(9, 15)).side) == (-99.0, "low")


@pytest.mark.parametrize("value", [270.0, 330.0])
def test_a_sure_meter_on_either_limit_is_in_band(value):
    assert judge(Measurement(value, 0.0, value), BAND).outcome is Outcome.IN_BAND


@pytest.mark.parametrize(
    ("value", "band", "side"),
    [
        (299.9, BAND, "low"),
        (300.0, BAND, "low"),  # the middle itself belongs to neither side; it counts as low
        (300.1, BAND, "high"),
        (5.0, Band(None, 10.0), "high"),
        (5.0, Band(1.0, None), "low"),
    ],
)
def test_the_side_is_the_half_of_the_band_that_was_read(value, band, side):
    assert judge(Measurement(value, 0.0, value), band).side == side


@pytest.mark.parametrize(("value", "limit"), [(259.0, 270), (341.0, 330), (269.0, 270)])
def test_the_limit_named_is_the_one_that_is_nearer(value, limit):
    assert judge(Measurement(value, 0.1, value), BAND).limit == limit


def test_of_one_limit_that_one_is_named_however_far_it_is():
    assert nearer_limit(5.0, Band(None, 9.0)) == 9.0 == nearer_limit(500.0, Band(9.0, None))


def test_halfway_between_the_limits_the_upper_one_is_named():
    assert nearer_limit(300.0, BAND) == 330


def test_without_an_exponent_a_reading_does_not_follow_the_mains():
    line = Line(1.1, 0.01)
    assert judge(Measurement(330.0, 0.0, 330.0), BAND, line=line).band == BAND
    assert judge(Measurement(300.0, 1.0, 300.0), BAND, line=line).u == 1.0


def test_a_reading_without_a_figure_lies_on_neither_side():
    assert judge(Measurement(300.0, 0.1, 300.0), Band(None, None, stop_above=400.0)).side == ""


def test_a_band_without_limits_says_so():
    assert judge(Measurement(5.0, 0.1, 5.0), Band(None, None)).reason is Reason.NO_FIGURE
    assert judge(Measurement(5.0, 0.1, 5.0), Band(None, 9.0)).reason is Reason.WITHIN
    assert judge(Measurement(15.0, 0.1, 15.0), Band(9.0, None)).reason is Reason.WITHIN


def test_over_range_is_named_by_what_was_wanted():
    over = measure(parse_quantity("OL", "Ω"), "resistance", SPEC)
    assert judge(over, Band(1e6, None), unit="Ω").reason is Reason.OVER_RANGE_WANTED
    assert judge(over, Band(1e6, None), unit="Ω").confirms
    refused = judge(over, Band(None, 0.5), unit="Ω")
    assert (refused.reason, refused.limit, refused.side, refused.confirms) == (Reason.OVER_RANGE, 0.5, "high", False)
    assert refused.u == 0.0 and refused.value is None


def test_below_range_stops_at_the_limit_below_where_there_is_one():
    below = measure(parse_quantity("-OL", "V"), "dc volts", SPEC)
    stopped = judge(below, Band(-50, -40, stop_below=-60))
    assert (stopped.outcome, stopped.limit) == (Outcome.SWITCH_OFF, -60)
    swapped = judge(below, BAND)
    assert (swapped.outcome, swapped.limit, swapped.side) == (Outcome.SWITCH_OFF, 400, "low")
    wrong = judge(below, Band(1.0, 2.0))
    assert (wrong.outcome, wrong.reason, wrong.limit) == (Outcome.OUT_OF_BAND, Reason.BELOW_RANGE, 1.0)


@pytest.mark.parametrize("share", [-0.01, 1.0, math.nan])
def test_a_lines_uncertainty_is_a_share(share):
    with pytest.raises(ChecksError) as caught:
        judge_at_line(Measurement(300.0, 1.0, 300.0), BAND, line_share=share)
    assert caught.value.argument == "line_share"


@pytest.mark.parametrize(
    ("value", "u", "low", "high"),
    [(math.inf, 1, 0, 1), (1, -1, 0, 1), (1, math.nan, 0, 1), (1, 1, math.nan, 2), (1, 1, 0, math.nan)],
)
def test_no_probability_is_given_for_what_is_no_measurement(value, u, low, high):
    with pytest.raises(ChecksError):
        conformance(value, u, low, high)


def test_a_size_is_never_below_zero():
    """JCGM 106:2012, 6.2: what is known beforehand cuts the distribution; half of a normal one about zero is left."""
    assert conformance(0.0, 1.0, -math.inf, 1.0, by_size=True) == pytest.approx(2 * 0.8413447 - 1, abs=1e-6)
    assert conformance(-3.0, 1.0, -math.inf, 3.0, by_size=True) == pytest.approx(0.5, abs=2e-3)
    assert conformance(0.0, 1.0, -math.inf, 1.0) == pytest.approx(0.8413447, abs=1e-6)
    assert conformance_of_one(0.0, 1.0, -math.inf, 1.0) == pytest.approx(0.8413447, abs=1e-6)


@pytest.mark.lengthy
@given(st.floats(0, 600), st.floats(0.001, 50), st.floats(0.001, 600))
def test_a_size_is_judged_by_the_normal_distribution_cut_off_at_zero(value, u, high):
    """Against scipy.stats.truncnorm, which knows nothing of bands; and a truncated state of knowledge is never surer
    than one that lets a size be below zero (JCGM 106:2012, 6.2)."""
    cut_off = truncnorm.cdf((high - value) / u, a=-value / u, b=math.inf)
    assert conformance_of_one(value, u, -math.inf, high, by_size=True) == pytest.approx(cut_off, abs=1e-9)
    assert cut_off <= conformance_of_one(value, u, -math.inf, high) + 1e-12


@pytest.mark.lengthy
@pytest.mark.parametrize("unit", ["V", "Ω"])
@given(st.floats(-0.6, 0.6), st.floats(0.001, 0.5), st.floats(0.01, 0.5))
def test_nothing_near_zero_passes_with_less_than_95_per_cent_of_a_size_within(unit, value, u, high):
    verdict = judge(Measurement(value, u, value), Band(None, high), unit=unit)
    within = truncnorm.cdf((high - abs(value)) / u, a=-abs(value) / u, b=math.inf)
    assert verdict.outcome is not Outcome.IN_BAND or within >= 0.95 - 1e-9


@pytest.mark.parametrize(("step", "share", "confirms"), [(2.0, 1.0, True), (2.0, 0.99, False), (2.02, 1.0, False)])
def test_digits_left_off_count_once_they_are_more_than_the_meters_per_cent(step, share, confirms):
    """Half a step is what rounding may hide; 329.5 V to whole volts may be 330.5 V, past the limit of 330 V."""
    verdict = judge(Measurement(329.5, 1.0, 329.5, share=share, step=step), BAND)
    assert (verdict.outcome, verdict.confirms) == (Outcome.TOO_CLOSE, confirms)


def test_ohms_below_zero_are_a_voltage_and_never_in_band():
    assert judge(Measurement(-0.1, 0.2, -0.1), Band(None, 0.5), unit="Ω").outcome is Outcome.OUT_OF_BAND
    assert judge(Measurement(0.0, 0.0, 0.0), Band(None, 0.5), unit="Ω").outcome is Outcome.IN_BAND
    assert judge(Measurement(-0.1, 0.0, -0.1), Band(None, 0.5), unit="V").outcome is Outcome.IN_BAND


FIGURES = st.floats(-1e7, 1e7)


@pytest.mark.lengthy
@given(FIGURES, st.floats(0, 1e4), FIGURES | st.just(-math.inf), st.floats(0, 1e7) | st.just(math.inf), st.booleans())
def test_one_reading_conforms_as_it_does_among_many(value, u, low, width, by_size):
    """The quick way for one figure against the one for arrays, down to the last digit."""
    high = math.inf if width == math.inf else (0 if low == -math.inf else low) + width
    assert conformance_of_one(value, u, low, high, by_size) == float(conformance(value, u, low, high, by_size))


@pytest.mark.parametrize(
    ("value", "u", "low", "high"),
    [
        (math.nan, 1, 0, 1),
        (math.inf, 1, 0, 1),
        (1, -1, 0, 2),
        (1, math.inf, 0, 2),
        (1, 1, math.nan, 2),
        (1, 1, 0, math.nan),
    ],
)
def test_one_reading_without_a_figure_has_no_probability(value, u, low, high):
    with pytest.raises(ChecksError):
        conformance_of_one(value, u, low, high)
