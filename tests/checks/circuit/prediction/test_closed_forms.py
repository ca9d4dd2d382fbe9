"""Readings of small circuits against what is worked out by hand: dividers, bridges, ladders, loads and tolerances."""

from math import sqrt
from types import SimpleNamespace

import numpy as np
import pytest

from checks.circuit import Condition, predict, predict_scatter
from checks.circuit.netlist.parameters import Parameter
from checks.circuit.netlist.remark import RemarkCode
from checks.circuit.prediction.heaters import HeaterVolts
from checks.circuit.prediction.nominal import _exponent
from checks.circuit.prediction.probes import Probe, as_probe
from checks.circuit.prediction.scatter import rank_drivers
from checks.errors import CallerError, ChecksError
from tests.checks.circuit.kits import capacitor, parts_of, resistor

ON, OFF = Condition(), Condition("off")
METER = 10e6  # Ω, a hand-held digital meter's on DC volts (common practice)


def source(volts, node="s", ohms="1R", ref="B1", minus="chassis"):
    return {"ref": ref, "kind": "dc supply", "value": f"{volts} V", "ohms": ohms, "tolerance": "0%",
            "joins": {"plus": node, "minus": minus}}  # fmt: skip


def ohm(ref, a, b, value, tolerance="0%"):
    return resistor(ref, a, b, f"{value:.9g}", tolerance)


def read(rows, *probes, condition=ON):
    return predict(parts_of(*rows), condition, list(probes))


def volts(rows, red, black="chassis"):
    return read(rows, (red, black, "dc volts"))[0].value


def ohms(rows, red, black="chassis", condition=OFF):
    return read(rows, (red, black, "resistance"), condition=condition)[0].value


DIVIDER = [source(100, ohms="1R"), ohm("R1", "s", "d", 9999), ohm("R2", "d", "chassis", 10000)]


def test_a_divider_divides_with_the_source_s_own_ohms():
    assert volts(DIVIDER, "d") == pytest.approx(100 * 10000 / 20000, rel=1e-6)
    assert volts(DIVIDER, "s") == pytest.approx(100 * 19999 / 20000, rel=1e-6)
    assert volts(DIVIDER, "s", "d") == pytest.approx(100 * 9999 / 20000, rel=1e-6)
    assert volts(DIVIDER, "d", "s") == -volts(DIVIDER, "s", "d")


def test_the_resistance_behind_a_divider_is_both_arms_in_parallel():
    """Thévenin: 10 kΩ ∥ 10 kΩ."""
    assert read(DIVIDER, ("d", "chassis", "dc volts"))[0].source_ohms == pytest.approx(5000, rel=1e-6)
    assert read(DIVIDER, ("s", "chassis", "dc volts"))[0].source_ohms == pytest.approx(19999 / 20000, rel=1e-5)
    assert read(DIVIDER, ("s", "d", "dc volts"))[0].source_ohms == pytest.approx(9999 * 10001 / 20000, rel=1e-5)
    assert read(DIVIDER, ("d", "d", "dc volts"))[0].source_ohms == 0


@pytest.mark.parametrize(("upper", "lower"), [(1e6, 1e6), (2.2e6, 470e3), (100e3, 1e6), (10e6, 10e6)])
def test_a_meter_of_ten_megohms_reads_low_by_its_share_against_the_resistance_behind(upper, lower):
    rows = [source(250, ohms="0.001R"), ohm("R1", "s", "d", upper), ohm("R2", "d", "chassis", lower)]
    (bare,) = read(rows, ("d", "chassis", "dc volts"))
    assert bare.source_ohms == pytest.approx(upper * lower / (upper + lower), rel=1e-6)
    with_meter = volts([*rows, ohm("R9", "d", "chassis", METER)], "d")
    assert with_meter == pytest.approx(bare.value * METER / (METER + bare.source_ohms), rel=1e-6)
    across = lower * METER / (lower + METER)
    assert with_meter == pytest.approx(250 * across / (upper + across), rel=1e-6)


def test_currents_that_meet_at_a_point_follow_millman():
    """V = Σ V/R over Σ 1/R."""
    feeds = [(12, 1000), (5, 2200), (-9, 4700)]
    rows = [ohm("R9", "x", "chassis", 10000)]
    for n, (volt, r) in enumerate(feeds, 1):
        ends = (f"s{n}", "chassis") if volt > 0 else ("chassis", f"s{n}")
        rows += [source(abs(volt), ends[0], "0.001R", f"B{n}", ends[1]), ohm(f"R{n}", f"s{n}", "x", r)]
    above = sum(volt / r for volt, r in feeds)
    below = sum(1 / r for _volt, r in feeds) + 1 / 10000
    assert volts(rows, "x") == pytest.approx(above / below, rel=1e-5)


def test_each_source_counts_by_itself():
    """Superposition: both together read the sum of each with the other one's volts (not its ohms) gone."""

    def rows(one, other):
        return [source(one, "p", "10R", "B1"), source(other, "q", "20R", "B2"), ohm("R1", "p", "x", 1000),
                ohm("R2", "q", "x", 2000), ohm("R3", "x", "chassis", 3000)]  # fmt: skip

    small = 1e-6
    both = volts(rows(30, 12), "x")
    assert both == pytest.approx(volts(rows(30, small), "x") + volts(rows(small, 12), "x"), rel=1e-5)


@pytest.mark.parametrize("bits", [1, 2, 4])
def test_a_ladder_of_r_and_2r_halves_at_every_rung(bits):
    rows = [source(16, "n0", "0.0001R"), ohm("R90", f"n{bits}", "chassis", 1000)]
    rows += [ohm(f"R{n}", f"n{n}", f"n{n + 1}", 1000) for n in range(bits)]
    rows += [ohm(f"R5{n}", f"n{n}", "chassis", 2000) for n in range(1, bits)]
    # seen from each rung onwards: 2R in parallel with R + R, that is R; the last is ended by R
    assert volts(rows, f"n{bits}") == pytest.approx(16 / 2**bits, rel=1e-6)


def test_a_wheatstone_bridge_is_at_rest_only_in_balance():
    def bridge(fourth):
        return [source(10, ohms="0.0001R"), ohm("R1", "s", "l", 1000), ohm("R2", "l", "chassis", 2200),
                ohm("R3", "s", "r", 470), ohm("R4", "r", "chassis", fourth), ohm("R5", "l", "r", 820)]  # fmt: skip

    assert abs(volts(bridge(470 * 2.2), "l", "r")) < 1e-6
    left = 10 * 2200 / 3200
    right = 10 * 2000 / 2470
    behind = 1000 * 2200 / 3200 + 470 * 2000 / 2470
    assert volts(bridge(2000), "l", "r") == pytest.approx((left - right) * 820 / (820 + behind), rel=1e-5)


@pytest.mark.parametrize(("edge", "ends"), [(5 / 6, ("000", "111")), (7 / 12, ("000", "001")), (3 / 4, ("000", "011"))])
def test_a_cube_of_equal_resistors_reads_as_text_books_have_it(edge, ends):
    """5/6 of one across its body, 7/12 along an edge, 3/4 across a face."""
    corners = [f"{n:03b}" for n in range(8)]
    pairs = [(a, b) for a in corners for b in corners if a < b and sum(x != y for x, y in zip(a, b, strict=True)) == 1]
    rows = [ohm(f"R{n}", f"c{a}", f"c{b}", 1200) for n, (a, b) in enumerate(pairs)]
    rows.append(ohm("R99", "c000", "chassis", 1e6))
    assert len(pairs) == 12
    assert ohms(rows, *(f"c{end}" for end in ends)) == pytest.approx(1200 * edge, rel=1e-6)


def test_a_control_reads_by_its_setting_from_either_end():
    pot = {"ref": "RV1", "kind": "potentiometer", "value": "100k", "tolerance": "0%",
           "joins": {"top": "t", "wiper": "w", "bottom": "chassis"}}  # fmt: skip
    for setting in (0.0, 0.1, 0.5, 0.9, 1.0):
        turned = Condition("off", settings=(("RV1", setting),))
        assert ohms([pot], "w", condition=turned) == pytest.approx(1e5 * setting, rel=1e-6, abs=1e-3)
        assert ohms([pot], "w", "t", condition=turned) == pytest.approx(1e5 * (1 - setting), rel=1e-6, abs=1e-3)
        assert ohms([pot], "t", condition=turned) == pytest.approx(1e5, rel=1e-6)


def test_a_resistor_that_is_not_fitted_carries_nothing():
    rows = [ohm("R1", "a", "chassis", 1000), ohm("R2", "a", "chassis", 1000)]
    assert ohms(rows, "a") == pytest.approx(500)
    assert ohms(rows, "a", condition=Condition("off", not_fitted={"R2"})) == pytest.approx(1000)


def test_a_mains_switch_that_is_off_opens_its_circuit():
    switch = {"ref": "S1", "kind": "switch", "joins": ["a", "b"], "open_when_off": True}
    rows = [switch, ohm("R1", "b", "chassis", 470), ohm("R2", "a", "chassis", 1000)]
    assert ohms(rows, "b") == pytest.approx(470)
    always = [switch | {"open_when_off": False}, *rows[1:]]
    assert ohms(always, "b") == pytest.approx(470 * 1000 / 1470)


def test_a_point_against_itself_reads_nought():
    assert ohms([ohm("R1", "a", "chassis", 1000)], "a", "a") == 0


def test_a_current_is_the_volts_across_its_resistor_over_its_ohms():
    (reading,) = read(DIVIDER, ("d", "chassis", "current"))
    assert reading.value == pytest.approx(100 / 20000, rel=1e-6) and reading.unit == "A"
    pair = [*DIVIDER, ohm("R3", "d", "chassis", 10000)]
    with pytest.raises(ChecksError) as error:
        read(pair, ("d", "chassis", "current"))  # through which of the two?
    assert error.value.code == "current-resistor"
    (one,) = read(pair, ("d", "chassis", "current", "R3"))
    assert one.value == pytest.approx(100 * 5000 / 15000 / 10000, rel=1e-4)
    with pytest.raises(ChecksError):
        read(pair, ("s", "chassis", "current", "R3"))


@pytest.mark.parametrize(("measure", "condition", "code"), [
    ("dc volts", OFF, RemarkCode.POWER_IS_OFF),
    ("ac volts", OFF, RemarkCode.POWER_IS_OFF),
    ("current", OFF, RemarkCode.POWER_IS_OFF),
    ("resistance", ON, RemarkCode.POWER_IS_ON),
    ("continuity", ON, RemarkCode.POWER_IS_ON),
    ("temperature", ON, RemarkCode.NOT_ELECTRICAL),
    ("frequency", OFF, RemarkCode.NOT_ELECTRICAL),
])  # fmt: skip
def test_what_cannot_be_read_so_has_no_figure_and_says_why(measure, condition, code):
    (reading,) = read(DIVIDER, ("d", "chassis", measure), condition=condition)
    assert reading.value is None and reading.reason.code == code


def test_a_place_in_words_has_no_figure():
    (reading,) = read(DIVIDER, ("=the glass of V1", "chassis", "dc volts"))
    assert reading.value is None and reading.reason.code == RemarkCode.PLACE_IN_WORDS


def test_a_point_that_only_a_capacitor_holds_has_no_direct_voltage():
    rows = [*DIVIDER, capacitor("C1", "d", "x"), capacitor("C2", "x", "y"), ohm("R3", "y", "x", 1000)]
    (reading,) = read(rows, ("x", "chassis", "dc volts"))
    assert reading.value is None and reading.reason.code == RemarkCode.NO_DC_PATH
    (inside,) = read(rows, ("x", "y", "dc volts"))
    assert abs(inside.value) < 1e-9  # no current flows in R3


def test_an_unknown_point_and_an_unknown_measure_are_refused():
    with pytest.raises(ChecksError) as error:
        read(DIVIDER, ("nowhere", "chassis", "dc volts"))
    assert error.value.code == "unknown-node" and error.value.params["point"] == "nowhere"
    with pytest.raises(CallerError):
        Probe("a", "b", "amperes")
    assert as_probe(("a",)) == Probe("a", "chassis", "dc volts")


def test_a_supply_that_is_no_mains_does_not_follow_the_line():
    assert read(DIVIDER, ("d", "chassis", "dc volts"))[0].mains_exponent == 0


def test_what_grows_as_the_square_of_the_line_has_an_exponent_of_two():
    span = np.log(1.01 / 0.99)
    for power in (0.5, 1, 2, -1):
        high, low = np.array([1.01**power]), np.array([0.99**power])
        assert _exponent(high, low, span) == pytest.approx(power)
        assert _exponent(-high, -low, span) == pytest.approx(power)  # a negative rail
    assert _exponent(np.array([1.0]), np.array([-1.0]), span) == 0  # through nought there is none
    assert _exponent(None, np.array([1.0]), span) == _exponent(np.array([1.0]), None, span) == 0


LOOSE = [source(100, ohms="0.0001R"), ohm("R1", "s", "d", 30000, "5%"), ohm("R2", "d", "chassis", 10000, "10%")]


def spread(rows, red="d", measure="dc volts", condition=ON):
    return predict_scatter(parts_of(*rows), condition, [(red, "chassis", measure)], samples=400)[0]


def divided(upper, lower):
    return 100 * lower / (upper + lower)


def test_the_worst_builds_of_a_divider_have_each_arm_at_its_other_end():
    """Moves one at a time and added up, exactly; no build drawn lies outside the corners themselves."""
    result = spread(LOOSE)
    middle = divided(30000, 10000)
    moves = [divided(28500, 10000) - middle, divided(31500, 10000) - middle, divided(30000, 9000) - middle,
             divided(30000, 11000) - middle]  # fmt: skip
    assert result.nominal == pytest.approx(middle, rel=1e-6)
    assert result.worst_high == pytest.approx(middle + moves[0] + moves[3], rel=1e-4)
    assert result.worst_low == pytest.approx(middle + moves[1] + moves[2], rel=1e-4)
    assert divided(31500, 9000) <= result.samples.min() <= result.low < middle
    assert middle < result.high <= result.samples.max() <= divided(28500, 11000)


def test_the_band_of_a_divider_holds_what_its_parts_variances_come_to():
    """Rectangular ±a has a deviation of a/√3; a divider's ratio moves by k(1 − k) of each arm's share."""
    result = spread(LOOSE)
    share = 0.25 * 0.75
    deviation = 100 * share * sqrt(0.05**2 / 3 + 0.10**2 / 3)
    assert float(result.samples.std()) == pytest.approx(deviation, rel=0.1)
    assert result.high - result.low == pytest.approx(2 * 1.96 * deviation, rel=0.15)


def test_the_part_that_sets_a_reading_comes_first_with_its_share_of_the_variance():
    """±10 % against ±5 % of the same weight: 4 parts of 5, to first order."""
    result = spread(LOOSE)
    assert [(d.ref, d.what) for d in result.drivers] == [("R2", "value"), ("R1", "value")]
    assert result.drivers[0].share == pytest.approx(0.8, abs=0.01)
    assert sum(d.share for d in result.drivers) == pytest.approx(1)
    first, second = result.drivers
    assert first.at_low < 0 < first.at_high and second.at_low > 0 > second.at_high
    assert first.at_high == pytest.approx(divided(30000, 11000) - 25, rel=1e-4)


def test_one_resistor_alone_scatters_as_its_own_limits():
    rows = [ohm("R1", "a", "chassis", 1000, "10%")]
    result = spread(rows, "a", "resistance", OFF)
    assert (result.worst_low, result.worst_high) == pytest.approx((900, 1100), rel=1e-6)
    assert (result.low, result.high) == pytest.approx((905, 1095), abs=6)  # the middle 95 % of ±100 Ω
    assert [d.share for d in result.drivers] == [1.0]


def test_a_lopsided_tolerance_makes_a_lopsided_band():
    rows = [ohm("R1", "a", "chassis", 1000, "-20/+50%")]
    result = spread(rows, "a", "resistance", OFF)
    assert (result.worst_low, result.worst_high) == pytest.approx((800, 1500), rel=1e-6)
    assert float(result.samples.mean()) == pytest.approx(1150, rel=0.03)


def test_parts_without_tolerance_have_no_band_and_no_driver():
    result = spread(DIVIDER)
    assert result.low == result.high == result.worst_low == result.worst_high == pytest.approx(result.nominal)
    assert result.drivers == ()


def test_a_reading_without_a_figure_has_no_scatter_but_its_reason():
    (result,) = predict_scatter(parts_of(*DIVIDER), ON, [("d", "chassis", "resistance")], samples=100)
    assert result.nominal is result.low is result.samples is None and result.reason.code == RemarkCode.POWER_IS_ON


@pytest.mark.parametrize("samples", [0, 99, 1_000_001])
def test_a_scatter_of_too_few_or_too_many_builds_is_refused(samples):
    with pytest.raises(CallerError):
        predict_scatter(parts_of(*DIVIDER), ON, [("d", "chassis", "dc volts")], samples=samples)


def ranked(*moves, shapes=None):
    rows = tuple(Parameter(f"P{n}", "value", 0.1, 0.1, (shapes or {}).get(n, "rectangular")) for n in range(len(moves)))
    return rank_drivers(SimpleNamespace(parameters=SimpleNamespace(rows=rows)), np.array(moves, dtype=float).T)


def test_drivers_are_ranked_by_the_square_of_half_their_move():
    found = ranked((-1, 1), (-3, 3), (-2, 2), (-4, 4))
    assert [d.ref for d in found] == ["P3", "P1", "P2"]
    assert [d.share for d in found] == pytest.approx([16 / 30, 9 / 30, 4 / 30])
    assert (found[0].at_low, found[0].at_high) == (-4, 4)


def test_a_move_the_same_way_at_both_ends_counts_for_nothing():
    assert ranked((1, 1), (2, 2)) == () and ranked((0, 0)) == ()
    assert [d.ref for d in ranked((1, 1), (-1, 1))] == ["P1"]


def test_a_normal_part_counts_less_than_a_rectangular_one_of_the_same_limits():
    """Its limits are two deviations: a quarter of the square, and a little less as it is cut there, against a third."""
    found = ranked((-1, 1), (-1, 1), shapes={0: "normal"})
    assert [d.ref for d in found] == ["P1", "P0"]
    z = np.random.default_rng(1).standard_normal(200_000)
    cut = float((z[abs(z) < 2] / 2).var())
    assert found[1].share / found[0].share == pytest.approx(cut * 3, rel=0.02)


@pytest.mark.parametrize(
    ("got", "off", "far", "cool"),
    [(6.3, 0, 0, 0), (6.92, 0, 0, 0), (5.68, 0, 0, 0), (6.94, 1, 0, 0), (5.6, 1, 0, 0), (7.3, 1, 1, 0), (4.3, 1, 1, 1)],
)
def test_a_heater_is_off_its_rating_beyond_a_tenth_and_cool_below_seven_tenths(got, off, far, cool):
    """6.3 V ± 10 %: 5.67 V to 6.93 V (valve sheets' usual limits: common practice)."""
    heater = HeaterVolts("V1", got, 6.3)
    assert (heater.is_off, heater.is_far, heater.is_cool) == (off, far, cool)


@pytest.mark.parametrize("rated", [0, -6.3, float("nan")])
def test_no_heater_is_rated_for_nothing(rated):
    with pytest.raises(ChecksError):
        HeaterVolts("V1", 6.3, rated)


def test_a_capacitor_in_the_way_of_an_ohmmeter_takes_five_time_constants_of_what_it_sees():
    """47 µF behind 10 kΩ from the probes, with 40 kΩ across it; the meter's current is taken as steady."""
    rows = [ohm("R1", "a", "c", 10000), ohm("R2", "c", "chassis", 40000), capacitor("C1", "c", "chassis", "47u")]
    (reading,) = read(rows, ("a", "chassis", "resistance"), condition=OFF)
    assert reading.value == pytest.approx(50000)
    assert [s.ref for s in reading.settle] == ["C1"]
    assert reading.settle[0].seconds == pytest.approx(5 * 47e-6 * 40000, rel=1e-6)


def test_a_small_capacitor_or_one_that_is_hardly_charged_is_not_waited_for():
    small = [ohm("R1", "a", "chassis", 1e6), capacitor("C1", "a", "chassis", "0.9u")]
    aside = [ohm("R1", "a", "c", 1e5), ohm("R2", "c", "chassis", 1000), capacitor("C1", "c", "chassis", "1000u")]
    quick = [ohm("R1", "a", "chassis", 1000), capacitor("C1", "a", "chassis", "100u")]
    for rows in (small, aside, quick):
        assert read(rows, ("a", "chassis", "resistance"), condition=OFF)[0].settle == ()
