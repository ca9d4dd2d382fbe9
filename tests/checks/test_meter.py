"""What a meter reading is worth."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.errors import ChecksError
from checks.meter import PRESETS, Accuracy, Measurement, MeterSpec, half_width, measure, standard_uncertainty
from checks.quantity import Quantity, parse_quantity

DIGITAL, ANALOGUE = PRESETS["handheld"], PRESETS["analogue"]


def test_accuracy_and_resolution_make_the_uncertainty():
    measurement = measure(parse_quantity("300.0", "V"), "dc volts", DIGITAL)
    assert measurement.u == pytest.approx(math.hypot((0.005 * 300 + 2 * 0.1) / math.sqrt(3), 0.1 / math.sqrt(12)))


def test_fewer_digits_typed_are_worth_less():
    coarse, fine = (measure(parse_quantity(t, "V"), "dc volts", DIGITAL).u for t in ("300", "300.0"))
    assert coarse > fine


def test_an_analogue_meter_is_judged_by_its_full_scale():
    measurement = measure(parse_quantity("60 V", "V"), "dc volts", ANALOGUE)
    assert measurement.u == pytest.approx(math.hypot(0.03 * 250 / math.sqrt(3), 1 / math.sqrt(12)))


@given(st.floats(1, 900), st.floats(0, 1e6))
def test_correcting_for_loading_undoes_the_divider(true, source):
    shown = true * 10e6 / (10e6 + source)
    measurement = measure(Quantity(shown, "V", 0.1), "dc volts", DIGITAL, source_ohms=source)
    assert measurement.value == pytest.approx(true, rel=1e-9)


def test_a_large_correction_is_less_sure_than_a_small_one():
    low, high = (measure(parse_quantity("150.0", "V"), "dc volts", DIGITAL, source_ohms=r).u for r in (1e3, 1e6))
    assert high > 2 * low


def test_over_range_is_no_number():
    measurement = measure(parse_quantity("OL", "Ω"), "resistance", DIGITAL)
    assert (measurement.value, measurement.over_range) == (None, True)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Accuracy(-1),
        lambda: measure(parse_quantity("1", "V"), "inductance", DIGITAL),
        lambda: MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1)),
        lambda: MeterSpec.from_dict({"kind": "digital"}),
        lambda: MeterSpec("steam", Accuracy(1), Accuracy(1), Accuracy(1), input_ohms=1e7),
        lambda: MeterSpec("analogue", Accuracy(3), Accuracy(4), Accuracy(5), ohms_per_volt=2e4),
        lambda: measure(parse_quantity("1", "V"), "current", DIGITAL),
    ],
)
def test_a_meter_that_cannot_be_is_refused(wrong):
    with pytest.raises(ChecksError):
        wrong()


def test_a_measurement_over_range_has_no_number():
    meter = PRESETS["handheld"]
    assert measure(parse_quantity("285.0 V", "V"), "dc volts", meter).number == 285.0
    with pytest.raises(ChecksError):
        _ = measure(parse_quantity("OL", "V"), "dc volts", meter).number


def test_a_meter_given_by_ohms_per_volt_has_no_resistance_without_its_range():
    meter = PRESETS["analogue"]
    assert meter.resistance_on(50) == 1e6  # 20 kΩ per volt times 50 V
    with pytest.raises(ChecksError):
        meter.resistance_on(None)


MADE_UP = MeterSpec("digital", Accuracy(1, 2), Accuracy(2, 3), Accuracy(3, 4), input_ohms=10e6)


@pytest.mark.parametrize(
    ("function", "typed", "unit", "half"),
    [("dc volts", "200", "V", 2 + 2), ("ac volts", "200", "V", 4 + 3), ("resistance", "200", "Ω", 6 + 4)],
)
def test_each_function_has_its_own_accuracy(function, typed, unit, half):
    """±(per cent of the reading + digits), as data sheets write it; JCGM 100:2008, 4.3.7 for the √3, and 1/√12 of a
    last digit."""
    measured = measure(parse_quantity(typed, unit), function, MADE_UP)
    assert measured.u == pytest.approx(math.hypot(half / math.sqrt(3), 1 / math.sqrt(12)))
    assert measured.share + measured.counts == pytest.approx(half)


@pytest.mark.parametrize(
    ("key", "function", "percent", "digits"),
    [
        ("handheld", "dc volts", 0.5, 2),
        ("handheld", "ac volts", 1.2, 5),
        ("handheld", "resistance", 0.8, 3),
        ("basic", "dc volts", 1.0, 5),
        ("basic", "ac volts", 1.5, 10),
        ("basic", "resistance", 1.5, 5),
    ],
)
def test_the_ready_made_meters_are_no_better_than_common_ones(key, function, percent, digits):
    """Figures of the kind data sheets print (common practice): nothing is judged by a better meter than that."""
    accuracy = PRESETS[key].find_accuracy(function)
    assert (accuracy.percent, accuracy.digits) == (percent, digits)


def test_the_ready_made_meters_load_a_node_as_such_meters_do():
    """10 MΩ, 1 MΩ and 20 kΩ per volt on its range (common practice)."""
    assert PRESETS["handheld"].resistance_on(None) == 10e6 and PRESETS["basic"].resistance_on(None) == 1e6
    assert [ANALOGUE.resistance_on(range_) for range_ in ANALOGUE.ranges] == [50e3, 200e3, 1e6, 5e6, 20e6]


@pytest.mark.parametrize(
    ("volts", "range_"), [(2.5, 2.5), (2.6, 10), (-2.6, 10), (250, 250), (250.1, 1000), (1200, 1000), (0, 2.5)]
)
def test_a_reading_is_taken_on_the_smallest_range_that_holds_it(volts, range_):
    assert ANALOGUE.range_for(volts) == range_
    assert MADE_UP.range_for(volts) is None


@pytest.mark.parametrize(("function", "percent"), [("dc volts", 3), ("ac volts", 4)])
def test_a_moving_coil_meter_is_as_good_as_its_full_scale_and_has_no_digits(function, percent):
    measured = measure(parse_quantity("200", "V"), function, ANALOGUE)
    assert (measured.share, measured.counts) == (pytest.approx(percent / 100 * 250), 0.0)


def test_a_correction_for_loading_is_known_to_a_fifth():
    plain = measure(parse_quantity("100.0", "V"), "dc volts", PRESETS["basic"])
    loaded = measure(parse_quantity("100.0", "V"), "dc volts", PRESETS["basic"], source_ohms=500e3)
    assert (loaded.value, loaded.raw, loaded.loading) == (pytest.approx(150.0), 100.0, pytest.approx(50.0))
    assert loaded.u == pytest.approx(math.hypot(plain.u, 10.0))
    assert measure(parse_quantity("100.0", "V"), "dc volts", PRESETS["basic"], source_ohms=0.0).u == plain.u


def test_a_current_keeps_every_part_of_the_voltage_it_was_read_as():
    volts = measure(parse_quantity("8.19", "V"), "dc volts", MADE_UP, source_ohms=1e3)
    amps = measure(
        parse_quantity("8.19", "V"), "current", MADE_UP, source_ohms=1e3, through_ohms=180.0, through_tolerance=0.01
    )
    for name in ("value", "raw", "loading", "counts", "share", "step"):
        assert getattr(amps, name) == pytest.approx(getattr(volts, name) / 180.0)
    assert amps.u == pytest.approx(math.hypot(volts.u / 180.0, amps.value * 0.01 / math.sqrt(3)))


def test_a_current_through_an_exact_resistor_is_as_sure_as_its_volts():
    amps = measure(parse_quantity("8.19", "V"), "current", MADE_UP, through_ohms=180.0)
    assert amps.u == pytest.approx(measure(parse_quantity("8.19", "V"), "dc volts", MADE_UP).u / 180.0)


@pytest.mark.parametrize(
    ("ohms", "tolerance"),
    [(None, 0.05), (0.0, 0.05), (-180.0, 0.05), (math.inf, 0.05), (180.0, -0.1), (180.0, math.inf)],
)
def test_a_current_needs_its_resistor(ohms, tolerance):
    with pytest.raises(ChecksError) as caught:
        measure(parse_quantity("8.19", "V"), "current", MADE_UP, through_ohms=ohms, through_tolerance=tolerance)
    assert caught.value.argument == "through"


@pytest.mark.parametrize(
    ("function", "typed", "unit", "half"), [("temperature", "80", "°C", 2.0 + 0.8), ("frequency", "50.0", "Hz", 0.05)]
)
def test_other_functions_are_as_good_as_common_meters(function, typed, unit, half):
    """±(2 °C + 1 %) and ±0.1 % (common practice), with half of the last digit."""
    measured = measure(parse_quantity(typed, unit), function, MADE_UP)
    step = 1.0 if unit == "°C" else 0.1
    assert (measured.share, measured.step) == (pytest.approx(half), pytest.approx(step))
    assert measured.u == pytest.approx((half + step / 2) / math.sqrt(3))


@pytest.mark.parametrize(("function", "typed", "unit"), [("ac volts", "-5", "V"), ("frequency", "-50", "Hz")])
def test_what_does_not_go_below_zero_is_refused_there(function, typed, unit):
    with pytest.raises(ChecksError) as caught:
        measure(parse_quantity(typed, unit), function, MADE_UP)
    assert caught.value.code == "negative"
    assert measure(parse_quantity("0", unit), function, MADE_UP).value == 0.0


@pytest.mark.parametrize("source", [-1.0, math.inf, math.nan])
def test_a_source_resistance_is_zero_or_more(source):
    with pytest.raises(ChecksError) as caught:
        measure(parse_quantity("5", "V"), "dc volts", MADE_UP, source_ohms=source)
    assert caught.value.argument == "source_ohms"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"input_ohms": 0.0}, "meter-ohms"),
        ({"input_ohms": math.inf}, "meter-ohms"),
        ({"input_ohms": 1e6, "ranges": (0.0,)}, "meter-range"),
        ({"input_ohms": 1e6, "ranges": (math.inf,)}, "meter-range"),
        ({"ohms_per_volt": 2e4}, "meter-ranges"),
        ({}, "meter-load"),
    ],
)
def test_a_meter_that_could_not_be_built_is_refused_by_its_code(more, code):
    with pytest.raises(ChecksError) as caught:
        MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1), **more)
    assert caught.value.code == code


@pytest.mark.parametrize("field", ["u", "counts", "share", "step"])
def test_no_part_of_an_uncertainty_is_below_zero(field):
    with pytest.raises(ChecksError):
        Measurement(1.0, **{"u": 0.0, "raw": 1.0, field: -0.1})


def test_zero_is_an_uncertainty_and_a_last_digit():
    assert Measurement(1.0, 0.0, 1.0).number == 1.0
    assert half_width(10.0, Accuracy(1, 2), 0.0) == pytest.approx(0.1) and standard_uncertainty(0.0) == 0.0
    for wrong in (lambda: half_width(10.0, Accuracy(1, 2), -0.1), lambda: standard_uncertainty(-0.1)):
        with pytest.raises(ChecksError):
            wrong()


@pytest.mark.parametrize("figures", [(-0.1, 2), (math.inf, 2), (math.nan, 2), (1, -1), (1, math.inf), (1, math.nan)])
def test_an_accuracy_below_zero_or_without_end_is_refused(figures):
    with pytest.raises(ChecksError) as caught:
        Accuracy(*figures)
    assert caught.value.code == "accuracy"


@pytest.mark.parametrize("hertz", [39.9, 0.0, -400.0, math.inf, math.nan])
def test_ac_volts_reach_the_mains_at_least_and_an_end(hertz):
    with pytest.raises(ChecksError) as caught:
        replace(MADE_UP, ac_hertz=hertz)
    assert caught.value.code == "meter-hertz"
    assert replace(MADE_UP, ac_hertz=40.0).frequency_doubt(40.0) == 0


def test_where_nobody_has_said_ac_volts_hold_to_400_hertz():
    """Common on data sheets of simple meters; better ones say 1 kHz, and the ready-made ones no more than that."""
    assert MADE_UP.frequency_doubt(400.0) == 0 < MADE_UP.frequency_doubt(400.1)
    assert {key: spec.ac_hertz for key, spec in PRESETS.items()} == {
        "handheld": 1000,
        "basic": 400,
        "analogue": 1000,
    }


@pytest.mark.parametrize("key", PRESETS)
def test_a_meter_s_figures_are_read_back_as_they_were_written(key):
    figures = PRESETS[key].as_dict()
    assert MeterSpec.from_dict(figures) == PRESETS[key]
    for name in ("kind", "dc_volts", "ac_volts", "ohms"):
        with pytest.raises(ChecksError) as caught:
            MeterSpec.from_dict({key: value for key, value in figures.items() if key != name})
        assert caught.value.argument == "meter"


def test_a_moving_coil_meter_is_as_good_as_the_range_that_was_used():
    """3 % of full scale (common practice): 30 V on the 1,000 V range, 7.5 V on the 250 V range."""
    assert measure(parse_quantity("60", "V"), "dc volts", ANALOGUE, range_=1000).share == pytest.approx(30.0)
    assert half_width(-60.0, Accuracy(3, 0, True), 1.0, 250) == pytest.approx(7.5)
    assert half_width(-60.0, Accuracy(3, 0, True), 1.0) == pytest.approx(1.8)  # a range that nobody knows


@pytest.mark.parametrize(("reading", "digit"), [(math.nan, 0.1), (math.inf, 0.1), (1.0, math.inf), (1.0, math.nan)])
def test_no_accuracy_is_made_of_a_reading_without_end(reading, digit):
    with pytest.raises(ChecksError):
        half_width(reading, Accuracy(1, 2), digit)
    with pytest.raises(ChecksError):
        standard_uncertainty(reading + digit)


@pytest.mark.parametrize("field", ["value", "u", "raw", "loading", "counts", "share", "step", "beyond"])
@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_every_figure_of_a_measurement_has_an_end(field, wrong):
    with pytest.raises(ChecksError):
        Measurement(**{"value": 1.0, "u": 0.0, "raw": 1.0, field: wrong})


def test_a_measurement_has_a_value_or_is_over_range():
    for value, over in ((1.0, True), (None, False)):
        with pytest.raises(ChecksError):
            Measurement(value, 0.0, value, over_range=over)
    with pytest.raises(ChecksError):
        Measurement(1.0, 0.0, 1.0, beyond=-0.1)


def test_over_range_below_zero_stays_below_and_is_refused_where_nothing_is():
    assert measure(parse_quantity("-OL", "V"), "dc volts", DIGITAL).is_below
    assert not measure(parse_quantity("OL", "V"), "dc volts", DIGITAL).is_below
    with pytest.raises(ChecksError) as caught:
        measure(parse_quantity("-OL", "V"), "ac volts", DIGITAL)
    assert caught.value.code == "negative"


def test_a_reading_below_zero_is_worth_as_much_as_the_same_above():
    """The ± goes by the size of the reading; the correction for loading takes its sign."""
    above, below = (measure(parse_quantity(t, "V"), "dc volts", MADE_UP, source_ohms=1e6) for t in ("12.5", "-12.5"))
    assert (below.value, below.loading) == (-above.value, -above.loading)
    assert (below.u, below.share, below.counts) == (above.u, above.share, above.counts)


def test_ohms_are_not_corrected_for_loading_and_may_read_just_below_zero():
    """A zeroed meter may show -0.1 Ω on a short (common practice)."""
    measured = measure(parse_quantity("-0.1", "Ω"), "resistance", MADE_UP, source_ohms=1e6)
    assert (measured.value, measured.loading) == (-0.1, 0.0)


def test_a_source_without_resistance_needs_no_correction_and_is_no_error():
    assert measure(parse_quantity("5", "V"), "dc volts", MADE_UP, source_ohms=0.0).loading == 0.0


@pytest.mark.parametrize(
    ("hertz", "share"),
    [
        (400.0, 0.0),
        (1000.0, math.sqrt(1 + 1 / 16) - 1),  # one pole at ten times 400 Hz: |H| = 1/√(1 + (f/fc)²)
        (4000.0, math.sqrt(2) - 1),  # where it is 3 dB down
        (20.0, math.sqrt(1 + (4 / 20) ** 2) - 1),  # and the same below 40 Hz
    ],
)
def test_a_frequency_beyond_the_manual_adds_what_a_pole_loses_there(hertz, share):
    plain, there = (measure(parse_quantity("1.5", "V"), "ac volts", MADE_UP, hertz=at) for at in (None, hertz))
    assert MADE_UP.frequency_doubt(hertz) == pytest.approx(share)
    assert there.beyond == pytest.approx(1.5 * share)
    assert there.u == pytest.approx(math.hypot(plain.u, 1.5 * share / math.sqrt(3)))


def test_what_has_no_last_digit_is_worth_its_per_cent_alone():
    measured = measure(Quantity(5.0, "V"), "dc volts", MADE_UP)
    assert (measured.step, measured.counts) == (0.0, 0.0) and measured.u == pytest.approx(0.05 / math.sqrt(3))
    assert measure(parse_quantity("OL", "V"), "dc volts", MADE_UP).u == 0.0


def test_a_current_may_be_read_across_less_than_an_ohm():
    assert measure(parse_quantity("0.047", "V"), "current", MADE_UP, through_ohms=0.47).number == pytest.approx(0.1)


@pytest.mark.parametrize("spec", [{"input_ohms": 0.5}, {"input_ohms": 1e6, "ranges": (0.2, 0.5)}])
def test_a_meter_may_load_heavily_and_have_a_range_below_a_volt(spec):
    """Millivolt ranges are common on hand-held meters (common practice)."""
    meter = MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1), **spec)
    assert meter.as_dict()["ranges"] == list(spec.get("ranges", ()))


def test_what_is_not_given_of_a_meter_or_a_measurement_adds_nothing():
    assert (Accuracy(1).digits, Accuracy(1).full_scale) == (0, False)
    plain = Measurement(1.0, 0.0, 1.0)
    assert (plain.loading, plain.counts, plain.share, plain.step, plain.beyond) == (0.0,) * 5
    assert not (plain.over_range or plain.is_below)


def test_the_ready_made_moving_coil_meter_is_no_better_than_common_ones():
    """±3 % of full scale on DC volts, ±4 % on AC, ±5 % of the reading on ohms (common practice)."""
    assert [ANALOGUE.find_accuracy(f) for f in ("dc volts", "ac volts", "resistance")] == [
        Accuracy(3, 0, True),
        Accuracy(4, 0, True),
        Accuracy(5, 0, False),
    ]
