"""Readings that would once have been passed, or not stopped, each named after its danger. Judged without the site."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from checks.band import GUARD, Band
from checks.discharge import discharge
from checks.entry import choose_unit, parse_reading, refuse_lone_one, refuse_missing_digits
from checks.errors import ChecksError
from checks.mains import SUPPLIES, Line, line_for, tap_for
from checks.meter import PRESETS, Accuracy, Measurement, MeterSpec, measure
from checks.outcomes import Outcome
from checks.quantity import Quantity, Tolerance, parse_quantity
from checks.safety import energy_class, is_safe_to_touch, stored_energy
from checks.selfcheck import Piece
from checks.verdict import conformance, judge

EARTH = Band(None, 0.5)
HANDHELD, BASIC = PRESETS["handheld"], PRESETS["basic"]


def read(typed, band, *, unit="V", function="dc volts", meter=HANDHELD, **more):
    return judge(measure(parse_reading(typed, unit, function, band), function, meter, **more), band, unit=unit)


def code_of(call):
    with pytest.raises(ChecksError) as caught:
        call()
    return caught.value.code


def test_an_earth_bond_of_three_ohms_is_out_however_few_digits_were_typed():
    for typed in ("3", "3.0", "0.6", "0.51"):
        assert read(typed, EARTH, unit="Ω", function="continuity").outcome is Outcome.OUT_OF_BAND


def test_a_bare_nought_is_no_earth_bond():
    """An ohmmeter shows 0.0 to 0.4 Ω, and 0.5 is the limit: the digit that is missing decides."""
    nought = measure(parse_reading("0", "Ω", "continuity", EARTH), "continuity", HANDHELD)
    assert code_of(lambda: refuse_missing_digits(nought, EARTH)) == "digits"
    whole = measure(parse_reading("0.0", "Ω", "continuity", EARTH), "continuity", HANDHELD)
    refuse_missing_digits(whole, EARTH)
    assert judge(whole, EARTH, unit="Ω").outcome is Outcome.IN_BAND


@pytest.mark.parametrize("typed", ["1", "1.", "1 Ω", "1,"])
def test_a_1_alone_is_over_range_and_no_bond(typed):
    """Meters of 2000 counts show a 1 at the left and nothing else where they are over range (common practice)."""
    bond = Band(None, 2.0)
    shown = parse_reading(typed, "Ω", "continuity", bond)
    outcome = judge(measure(shown, "continuity", HANDHELD), bond, unit="Ω").outcome
    assert code_of(lambda: refuse_lone_one(shown, HANDHELD, outcome)) == "lone-one"
    refuse_lone_one(shown, PRESETS["analogue"], outcome)  # a needle may stand on 1
    refuse_lone_one(shown, HANDHELD, Outcome.SWITCH_OFF)  # and nothing delays a stop
    for whole in ("1.0", "1.00 Ω", "01.0", "10", "1e0 Ω", "0.1", "2"):
        refuse_lone_one(parse_reading(whole, "Ω", "continuity", bond), HANDHELD, outcome)


def test_a_good_100_kilohms_short_of_digits_is_asked_for_them_and_not_called_out():
    band = Band(95e3, 105e3)
    coarse = measure(parse_reading("0.1 M", "Ω", "resistance", band), "resistance", HANDHELD)
    assert judge(coarse, band, unit="Ω").outcome is Outcome.TOO_CLOSE
    assert code_of(lambda: refuse_missing_digits(coarse, band)) == "digits"


def test_rounded_to_the_limit_is_no_reading_to_confirm():
    """0.5 Ω may be 0.54 Ω; 330 V at a limit of 330 V is less than a meter's half per cent out at the worst."""
    assert not read("0.5", EARTH, unit="Ω", function="continuity").confirms
    assert read("0.4", EARTH, unit="Ω", function="continuity").confirms
    assert read("330", Band(270, 330)).confirms
    assert not read("331", Band(270, 330)).confirms


@pytest.mark.parametrize("typed", ["1m", "2.2m", "30m", "1 mΩ", "1 mohm"])
def test_a_lower_case_m_is_no_earth_bond(typed):
    """1 M is an open earth; phones write it 1m."""
    assert code_of(lambda: parse_reading(typed, "Ω", "continuity", EARTH)) == "milli"
    assert code_of(lambda: parse_reading(typed, "Ω", "resistance", Band(9, 15))) == "milli"


def test_hundreds_of_milliohms_are_read_where_the_check_is_in_milliohms_and_count_as_tenths_of_an_ohm():
    shown = parse_reading("300 mΩ", "Ω", "continuity", EARTH)
    assert (shown.value, shown.resolution) == (pytest.approx(0.3), 0.1)
    assert code_of(lambda: parse_reading("300 mΩ", "Ω", "resistance", Band(9, 15))) == "milli"
    assert code_of(lambda: parse_reading("300m", "Ω", "continuity", EARTH)) == "milli"


@pytest.mark.parametrize(
    ("typed", "pressed", "band", "unit"),
    [
        ("1M", "Ω", EARTH, "Ω"),
        ("0.1 Ω", "kΩ", EARTH, "Ω"),
        ("100k", "MΩ", Band(95e3, 105e3), "Ω"),
        ("310 V", "mV", Band(285, 335), "V"),
        ("-30 V", "mV", Band(-34, -28), "V"),
    ],
)
def test_a_button_that_differs_from_what_was_typed_is_never_dropped(typed, pressed, band, unit):
    assert code_of(lambda: choose_unit(typed, pressed, unit, band, "")) == "units-differ"


def test_a_stop_is_never_delayed_by_the_question_of_the_unit():
    bias = Band(-34, -28, stop_above=-20)
    assert choose_unit("-10", "", "V", bias) == "-10"  # past the stop in volts and in millivolts
    assert code_of(lambda: choose_unit("-30", "", "V", bias)) == "which-unit"  # good in volts, lost in millivolts
    assert choose_unit("450 V", "mV", "V", Band(0.2, 0.3, stop_above=0.4)) == "450 V"


@pytest.mark.parametrize("function", ["resistance", "continuity", "isolation", "ac volts", "frequency"])
@pytest.mark.parametrize("typed", ["-0.2", "-OL", "−OL"])
def test_a_minus_sign_is_never_dropped_from_ohms_and_ac(function, typed):
    """An ohmmeter that shows less than nothing sees a voltage (common practice)."""
    unit = {"ac volts": "V", "frequency": "Hz"}.get(function, "Ω")
    assert code_of(lambda: parse_reading(typed, unit, function, EARTH)) == "negative"
    if unit != "Ω":
        assert code_of(lambda: measure(parse_quantity(typed, unit), function, HANDHELD)) == "negative"


@pytest.mark.parametrize("band", [EARTH, Band(None, 100.0), Band(9, 15), Band(20e6, None)])
def test_ohms_below_zero_never_pass_however_they_come(band):
    """They tell of a charged capacitor, and are stored as the reading they are."""
    assert read("-40", band, unit="Ω", function="resistance").outcome is Outcome.OUT_OF_BAND
    for value in (-0.2, -40.0):
        assert judge(Measurement(value, 0.01, value), band, unit="Ω").outcome is Outcome.OUT_OF_BAND


@pytest.mark.parametrize(
    ("band", "expected"),
    [
        (Band(200, None), Outcome.OUT_OF_BAND),
        (Band(200, None, stop_below=50), Outcome.SWITCH_OFF),
        (Band(285, 335, stop_above=400), Outcome.SWITCH_OFF),
        (Band(-34, -28, stop_above=-20), Outcome.OUT_OF_BAND),
        (Band(None, 0.1), Outcome.OUT_OF_BAND),
        (Band(None, -40), Outcome.OUT_OF_BAND),
    ],
)
def test_over_range_below_zero_is_no_pass_and_stops_where_a_stop_is_below(band, expected):
    assert read("-OL", band).outcome is expected


def test_over_range_on_volts_is_never_at_least_what_is_wanted():
    """OL on a 20 V range says nothing of 200 V."""
    assert read("OL", Band(200, None)).outcome is Outcome.OUT_OF_BAND


@pytest.mark.parametrize("typed", ["OL kΩ", "OL Ω"])
def test_over_a_low_range_of_ohms_is_no_insulation(typed):
    assert code_of(lambda: parse_reading(typed, "Ω", "isolation", Band(20e6, None))) == "range"
    assert read("OL MΩ", Band(20e6, None), unit="Ω", function="isolation").outcome is Outcome.IN_BAND


@pytest.mark.parametrize(("typed", "function"), [("6.3 V DC", "ac volts"), ("0 VAC", "dc volts"), ("0~", "dc volts")])
def test_ac_is_not_dc(typed, function):
    """A supply at 300 V DC reads next to nothing on AC."""
    assert code_of(lambda: parse_reading(typed, "V", function)) == "kind"


@pytest.mark.parametrize("typed", ["300 K", "41 F", "> 20M", "3 16", "99 800", "1,234", "41 m°C"])
def test_what_can_be_read_in_two_ways_is_refused(typed):
    with pytest.raises(ChecksError):
        parse_reading(typed, "°C", "temperature")


@pytest.mark.parametrize("space", ["\u00a0", "\u2009", "\u202f"])
def test_thin_and_no_break_spaces_group_thousands(space):
    assert parse_quantity(f"99{space}800 Ω", "Ω").value == 99800.0
    with pytest.raises(ChecksError):
        parse_quantity(f"3{space}16", "Ω")


def test_a_band_near_zero_is_no_surer_than_a_size_can_be():
    """A size is never below zero: 0 ± 0.061 against 0.1 is erf(1.639/√2) = 0.899, not Φ(1.639) = 0.949."""
    p = float(conformance(0.0, 0.061, -math.inf, 0.1, by_size=True))
    assert p == pytest.approx(math.erf(0.1 / 0.061 / math.sqrt(2)), abs=1e-9)
    assert judge(Measurement(0.0, 0.061, 0.0), Band(None, 0.1)).outcome is Outcome.TOO_CLOSE


def test_a_reading_is_judged_at_no_more_than_the_mains_may_be():
    """A 115 V primary on 230 V gives twice every winding's volts; the band does not go there."""
    twice = line_for(115.0, measured_volts=230.0, nominal_volts=230)
    assert twice.factor == pytest.approx(1.1)
    band = Band(254, 312, 283, stop_above=450)
    assert judge(Measurement(566.0, 3.0, 566.0), band, line=twice, exponent=1.0).outcome is Outcome.SWITCH_OFF
    heater = Band(5.99, 6.62, 6.3)
    assert judge(Measurement(13.5, 0.1, 13.5), heater, line=twice, exponent=1.0).outcome is Outcome.OUT_OF_BAND


@pytest.mark.lengthy
@given(
    st.sampled_from(sorted(SUPPLIES)),
    st.floats(80, 280),
    st.one_of(st.none(), st.floats(50, 300)),
    st.sampled_from([0.5, 1.0, 2.0, -1.0]),
)
def test_no_band_is_ever_moved_by_more_than_the_supplys_permitted_range(nominal, tap, measured, exponent):
    supply = SUPPLIES[nominal]
    line = line_for(tap, measured_volts=measured, nominal_volts=nominal)
    ends = [(share / nominal) ** exponent for share in (supply.outlet_low, supply.high)]
    moved = Band(100.0, 100.0).scaled(line.factor, exponent, line.spread, line.fall)
    assert moved.low >= 100 * min(ends) * (1 - 1e-9) and moved.high <= 100 * max(ends) * (1 + 1e-9)


@pytest.mark.parametrize(("nominal", "taps"), [(230, [115]), (120, [230]), (100, [115, 230]), (240, [115])])
def test_mains_that_no_tap_serves_is_refused(nominal, taps):
    assert code_of(lambda: tap_for(nominal, taps)) == "no-tap"


@pytest.mark.parametrize(
    ("nominal", "taps", "tap"), [(240, [115, 230], 230), (120, [117], 117), (115, [115, 230], 115)]
)
def test_mains_that_a_tap_serves_is_taken(nominal, taps, tap):
    assert tap_for(nominal, taps) == tap


def test_ac_on_dc_counts_together():
    """IEC 62368-1:2018, table 4: 50/60 + 20/30 is more than 1."""
    assert energy_class(dc_volts=50, ac_volts_rms=20) == "ES2"
    assert energy_class(dc_volts=30, ac_volts_rms=15) == "ES1"
    assert energy_class(dc_volts=-100, ac_volts_rms=40) == "ES3"
    for wrong in ({"ac_volts_rms": -5.0}, {"ac_volts_rms": math.nan}, {"dc_volts": math.inf}):
        with pytest.raises(ChecksError):
            energy_class(**wrong)


def test_a_discharge_from_an_unknown_voltage_has_no_time():
    for wrong in (math.nan, math.inf):
        with pytest.raises(ChecksError):
            discharge([], wrong)
    with pytest.raises(ChecksError):
        stored_energy(100e-6, math.nan)


def test_sixty_volts_is_not_safe_and_less_is():
    assert not is_safe_to_touch(Measurement(60.0, 0.0, 60.0))
    assert is_safe_to_touch(Measurement(59.9, 0.0, 59.9))
    assert not is_safe_to_touch(Measurement(-60.0, 0.0, -60.0))
    assert not is_safe_to_touch(Measurement(59.9, 0.2, 59.9, share=0.3))
    assert not is_safe_to_touch(Measurement(None, 0.0, None, over_range=True))


BAD = [math.nan, math.inf, -math.inf]


@pytest.mark.parametrize("bad", [*BAD, -1.0])
def test_no_uncertainty_below_zero_gets_in_and_no_number_that_is_none(bad):
    for make in (
        lambda: Measurement(1.0, bad, 1.0),
        lambda: Accuracy(bad),
        lambda: Accuracy(1.0, bad),
        lambda: Line(1.0, bad),
        lambda: Line(1.0, 0.0, bad),
        lambda: Tolerance(bad, 0.1),
        lambda: Quantity(1.0, "V", bad),
        lambda: Piece("resistance", bad, Tolerance(0.01, 0.01)),
        lambda: MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1), input_ohms=bad),
        lambda: conformance(1.0, bad, 0.0, 2.0),
    ):
        with pytest.raises(ChecksError):
            make()


@pytest.mark.parametrize("bad", BAD)
def test_no_value_that_is_no_number_gets_in(bad):
    for make in (
        lambda: Measurement(bad, 0.0, 1.0),
        lambda: Measurement(1.0, 0.0, bad),
        lambda: Quantity(bad, "V", 1.0),
        lambda: Band(bad, None),
        lambda: Band(0.0, 1.0, stop_above=bad),
        lambda: Line(bad),
        lambda: Band(1.0, 2.0).scaled(bad, 1.0),
        lambda: Band(1.0, 2.0).scaled(1.1, bad),
        lambda: conformance(bad, 1.0, 0.0, 2.0),
        lambda: judge(Measurement(1.0, 0.1, 1.0), Band(0, 2), exponent=bad),
    ):
        with pytest.raises(ChecksError):
            make()


meters = st.builds(
    lambda percent, digits, ohms: MeterSpec(
        "digital", Accuracy(percent, digits), Accuracy(percent, digits), Accuracy(percent, digits), input_ohms=ohms
    ),
    st.floats(0, 5),
    st.integers(0, 20),
    st.sampled_from([1e6, 1e7, 1.1e7]),
)
figures = st.floats(-600, 600, allow_nan=False)
bands = st.tuples(st.one_of(st.none(), figures), st.one_of(st.none(), figures)).map(
    lambda ends: Band(*(sorted(ends) if None not in ends else ends))
)
lines = st.builds(
    lambda nominal, volts: line_for(float(nominal), measured_volts=volts, nominal_volts=nominal),
    st.sampled_from(sorted(SUPPLIES)),
    st.one_of(st.none(), st.floats(80, 280)),
)


@pytest.mark.lengthy
@given(
    bands, meters, figures, st.integers(0, 4), st.sampled_from([0.0, 1e4, 4.7e5]), lines, st.sampled_from([0.0, 1.0])
)
def test_nothing_passes_that_lies_beyond_the_limit_as_typed_and_corrected(
    band, meter, value, decimals, source, line, exponent
):
    """For every band, meter and reading: what may pass, at once or confirmed, lies in the band at this line within a
    billionth of the limit (GUARD)."""
    assume(band.low is not None or band.high is not None)
    shown = Quantity(round(value, decimals), "V", 10.0**-decimals)
    verdict = judge(measure(shown, "dc volts", meter, source_ohms=source), band, line=line, exponent=exponent)
    if verdict.outcome is Outcome.IN_BAND or verdict.confirms:
        size = abs(verdict.value) if verdict.band.by_size else verdict.value
        assert verdict.band.low is None or size >= verdict.band.low - GUARD * abs(verdict.band.low)
        assert verdict.band.high is None or size <= verdict.band.high + GUARD * abs(verdict.band.high)
    assert math.isfinite(verdict.u) and verdict.u >= 0 and math.isfinite(verdict.deviation)


@given(meters, st.floats(0, 600), st.integers(0, 3), st.floats(0.001, 100))
def test_no_resistance_passes_that_lies_beyond_the_limit_as_typed(meter, value, decimals, limit):
    shown = Quantity(round(value, decimals), "Ω", 10.0**-decimals)
    verdict = judge(measure(shown, "continuity", meter), Band(None, limit), unit="Ω")
    assert (verdict.outcome is not Outcome.IN_BAND and not verdict.confirms) or shown.value <= limit * (1 + GUARD)
