"""Rules about figures of a recording, each by hand: floors taken off, cards put back, edges, impedances, steadiness."""

from math import hypot, inf, log10, sqrt

import numpy as np
import pytest

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.tone.card import Cleared, doubt_of_distortion, doubt_of_harmonic, is_swamped, volts_per_unit, without_floor
from checks.tone.comparison import Better, Difference, compare_levels
from checks.tone.decibels import decibels, power_decibels
from checks.tone.hum import Hum
from checks.tone.lines import Line
from checks.tone.marks import KEPT, WIDTH, Marker, is_one_recording
from checks.tone.noise import Noise
from checks.tone.passage import MOST, Passage, first_order_cut, times_through, with_loss, without_card
from checks.tone.requests import FigureRequest, request_from
from checks.tone.rounding import TAKEN, with_rounding
from checks.tone.sources import RATES, STEPS, Signal, SignalPlan, coherent_frequency
from checks.tone.steadiness import measure_step, measure_swing, unsteadiness
from checks.tone.volts import (
    BandEdges,
    LoadedVolts,
    ResponsePoint,
    after_pad,
    band_edges,
    channel_difference,
    damping_from_loads,
    input_impedance,
    interpolate_decibels,
    output_impedance,
)


def raised(work, *given, **named):
    with pytest.raises(ChecksError) as error:
        work(*given, **named)
    return error.value.code


@pytest.mark.parametrize(("ratio", "level"), [(1, 0), (10, 20), (2, 6.0206), (0.5, -6.0206), (sqrt(2), 3.0103)])
def test_a_ratio_of_volts_counts_twenty_logarithms_and_of_powers_ten(ratio, level):
    assert decibels(ratio) == pytest.approx(level, abs=1e-4)
    assert power_decibels(ratio**2) == pytest.approx(level, abs=1e-4)
    assert power_decibels(0) == power_decibels(-1) == -inf


@pytest.mark.parametrize("ratio", [0, -1, inf, float("nan")])
def test_a_ratio_of_volts_that_is_none_is_refused(ratio):
    assert raised(decibels, ratio) == "ratio"


def test_full_scale_in_volts_is_the_meters_reading_over_the_tones_share():
    scale = volts_per_unit(Estimate(2.0, 0.02), 0.25)
    assert (scale.value, scale.u) == pytest.approx((8.0, 0.08))
    for rms in (0, -0.1, inf, float("nan")):
        assert raised(volts_per_unit, Estimate(1.0), rms) == "no tone"
    assert raised(volts_per_unit, Estimate(0.0), 0.25) == "above zero"
    assert raised(volts_per_unit, Estimate(-2.0), 0.25) == "above zero"


def test_powers_of_noise_add_and_so_the_cards_is_taken_off_as_power():
    assert without_floor(5.0, 3.0).rms == pytest.approx(4.0)  # 5² - 3² = 4²
    assert without_floor(5.0, 0.0) == Cleared(5.0, False)


@pytest.mark.parametrize(("rms", "is_floor"), [(1.0, True), (1.41, True), (1.42, False), (0.5, True)])
def test_a_level_within_three_decibels_of_the_floor_is_no_more_than_a_bound(rms, is_floor):
    cleared = without_floor(rms, 1.0)
    assert cleared.is_floor == is_floor
    assert cleared.rms == (rms if is_floor else pytest.approx(sqrt(rms**2 - 1)))


@pytest.mark.parametrize("levels", [(-1.0, 0.5), (1.0, -0.5)])
def test_a_level_below_nothing_is_refused(levels):
    assert raised(without_floor, *levels) == "level"


def test_a_harmonic_of_the_card_adds_by_phase_not_by_power():
    """At worst as a sum: 1 % beside the card's 0.5 % may be 1.5 %, 3.52 dB."""
    assert 1.645 * doubt_of_harmonic(0.01, 0.005) == pytest.approx(20 * log10(1.5), rel=1e-9)
    assert doubt_of_harmonic(0.01, 0.0) == doubt_of_harmonic(0.0, 0.01) == 0.0
    assert is_swamped(1.0, 0.34) and not is_swamped(1.0, 0.33)


def test_only_the_orders_that_a_distortion_counts_make_it_doubtful():
    card = {2: 0.003, 3: 0.004, 12: 1.0}
    assert 1.645 * doubt_of_distortion(card, range(2, 11)) == pytest.approx(0.005)
    assert 1.645 * doubt_of_distortion(card, range(3, 11)) == pytest.approx(0.004)
    assert doubt_of_distortion({}, range(2, 11)) == 0


@pytest.mark.parametrize(("first", "second", "u", "better"), [
    (-60.0, -50.0, 0.5, Better.FIRST),
    (-50.0, -60.0, 0.5, Better.SECOND),
    (-50.0, -50.3, 0.5, Better.NEITHER),
    (-50.0, -51.0, 1.0, Better.NEITHER),
    (-50.0, -50.2, 0.0, Better.NEITHER),  # two recordings of one amplifier differ by as much
    (-50.0, -50.3, 0.0, Better.SECOND),
])  # fmt: skip
def test_of_unwanted_things_the_lower_is_better_beyond_the_uncertainty(first, second, u, better):
    found = compare_levels(Estimate(first, u), Estimate(second, u))
    assert found.better is better and found.value == pytest.approx(first - second)
    assert found.u == pytest.approx(hypot(u, u, 0.1)) and found.expanded == 2 * found.u
    swapped = compare_levels(Estimate(second, u), Estimate(first, u))
    opposite = {Better.FIRST: Better.SECOND, Better.SECOND: Better.FIRST}.get(better, better)
    assert swapped.better is opposite and swapped.value == -found.value


def test_a_difference_is_a_number_with_an_uncertainty_of_none_or_more():
    for figures in ((float("nan"), 0.1), (1.0, -0.1), (inf, 0.1)):
        with pytest.raises(ChecksError):
            Difference(*figures, Better.NEITHER)


def line(hertz, rms, u=0.01):
    return Line(hertz, rms, 1e-9, u, True)


def hum_of(*lines):
    odd, even = (sqrt(sum(x.rms**2 for x in lines if round(x.hertz / 50) % 2 == n)) for n in (1, 0))
    return Hum(50.0, 50.0, lines, odd, even)


NOISE = Noise(1e-3, 5e-4, 9e-4, (20.0, 20_000.0), 0.1)


def test_rounding_that_is_little_of_the_noise_is_counted_and_leaves_the_hum():
    """A quarter of a step's square (triangular dither), as a share of the noise over half the rate."""
    hum, step, density = hum_of(line(50, 1e-3)), 1e-5, 1e-12
    noise, same = with_rounding(NOISE, hum, density, 48_000, step)
    share = 0.25 * step**2 / (density * 24_000)
    assert share < 0.2 and same is hum
    assert noise.u == pytest.approx(hypot(0.1, 10 * log10(1 - share) / sqrt(3)), rel=1e-9)
    assert (noise.unweighted, noise.a_weighted) == (NOISE.unweighted, NOISE.a_weighted)


def test_rounding_that_is_much_of_the_noise_may_hide_what_a_codec_took_of_the_hum():
    step, density = 1e-4, 1e-13
    hum = hum_of(line(50, 1e-3, 0.3), line(100, 1e-4))
    noise, doubtful = with_rounding(NOISE, hum, density, 48_000, step)
    hidden = hypot(10 * log10(1 + 0.25 * step**2 / hum.total**2) / sqrt(3), TAKEN)
    assert doubtful.lines[0].u == pytest.approx(hypot(0.3, hidden), rel=1e-9)
    assert doubtful.total == hum.total and noise.u == pytest.approx(hypot(0.1, 10 / sqrt(3)), rel=1e-9)  # at most 90 %
    none = hum_of()
    assert with_rounding(NOISE, none, density, 48_000, step)[1] is none


@pytest.mark.parametrize(("hertz", "loss"), [(120.0, 3.0103), (1200.0, 0.0432), (60.0, 6.9897), (12.0, 20.0)])
def test_a_first_order_cut_takes_what_its_formula_says_up_to_the_most_that_is_put_back(hertz, loss):
    """10 lg(1 + (fc/f)²) with fc = 120 Hz."""
    assert first_order_cut(120.0).loss(hertz) == pytest.approx(loss, abs=0.01)
    assert first_order_cut(120.0).loss(8.0) == MOST


def test_what_rises_has_lost_nothing():
    lifted = Passage((20.0, 1000.0), (6.0, 0.0), True)
    assert lifted.loss(20.0) == lifted.loss(100.0) == 0


def test_hum_is_put_back_line_by_line_and_noise_stays():
    """Half its power lost at 120 Hz: what is measured of the hum is one half of it."""
    cut, hum = first_order_cut(120.0), hum_of(line(120, 1e-3))
    assert times_through(hum, 1e-6, cut) == pytest.approx(sqrt(2), rel=2e-3)
    assert times_through(hum, 2e-6, cut) == pytest.approx(sqrt(1.5), rel=2e-3)  # as much noise beside it
    assert times_through(hum, 0.0, cut) == times_through(hum_of(), 1e-6, cut) == 1
    assert 1 < times_through(hum, 1e-6, cut, weighted=True) < 1.05  # the curve hardly counts 120 Hz


def test_what_the_card_itself_took_is_put_back_and_what_it_may_have_taken_makes_a_figure_doubtful():
    figure = Estimate(2.0, 0.1)
    own = with_loss(figure, 1.5, Passage((20.0, 1000.0), (-3.0, 0.0), True))
    assert own.value == pytest.approx(3.0) and own.u == pytest.approx(hypot(0.15, 0.1))
    perhaps = with_loss(figure, 1.5, Passage((20.0, 1000.0), (-3.0, 0.0), False))
    assert perhaps.value == 2.0 and perhaps.u == pytest.approx(hypot(0.1, 1 / 1.645))


def test_a_response_without_the_cards_has_its_levels_taken_off_but_for_what_is_lost_in_its_noise():
    card = Passage((10.0, 100.0, 1000.0), (-30.0, -3.0, 0.0), True)
    assert without_card([10, 100, 1000], [-40.0, -5.0, 0.5], card) == pytest.approx([-20.0, -2.0, 0.5])


def test_an_input_is_found_by_the_resistor_that_halves_its_volts():
    assert input_impedance(Estimate(2.0), Estimate(1.0), Estimate(100e3)).value == pytest.approx(100e3)
    found = input_impedance(Estimate(10.0, 0.1), Estimate(8.0, 0.08), Estimate(250e3, 2500))
    assert found.value == pytest.approx(1e6)
    # r·v/(v0 - v): by each part's own slope
    slopes = (250e3 * 8 / 4 * 0.1, 250e3 * 10 / 4 * 0.08, 4 * 2500)
    assert found.u == pytest.approx(hypot(*slopes), rel=1e-3)
    assert raised(input_impedance, Estimate(1.0), Estimate(1.0), Estimate(1e5)) == "volts do not fall"
    assert raised(input_impedance, Estimate(1.0), Estimate(1.2), Estimate(1e5)) == "volts do not fall"
    for bad in ((0, 1, 1e5), (2, 0, 1e5), (2, 1, 0), (2, 1, -5)):
        assert raised(input_impedance, *map(Estimate, bad)) == "above zero"


def test_a_pad_divides_and_its_resistors_doubt_counts():
    found = after_pad(Estimate(1.0, 0.01), Estimate(9900.0), Estimate(100.0))
    assert (found.value, found.u) == pytest.approx((0.01, 1e-4))
    loose = after_pad(Estimate(1.0), Estimate(9900.0, 99.0), Estimate(100.0, 1.0))
    assert loose.u == pytest.approx(0.01 * 0.99 * hypot(0.01, 0.01), rel=1e-3)
    assert raised(after_pad, Estimate(1.0), Estimate(0.0), Estimate(100.0)) == "above zero"


@pytest.mark.parametrize(("left", "right", "level"), [(2.0, 1.0, 6.0206), (1.0, 1.0, 0.0), (1.0, 1.122, -1.0)])
def test_two_channels_differ_by_their_ratio(left, right, level):
    found = channel_difference(Estimate(left, 0.01 * left), Estimate(right, 0.01 * right))
    assert found.value == pytest.approx(level, abs=1e-3)
    assert found.u == pytest.approx(8.6859 * hypot(0.01, 0.01), rel=1e-3)


@pytest.mark.parametrize(("r", "light", "heavy"), [(2.0, 16.0, 8.0), (0.5, 100.0, 4.0), (2.0, None, 8.0)])
def test_the_damping_of_a_load_is_its_ohms_over_the_source_s(r, light, heavy):
    def loaded(load):
        return LoadedVolts(
            Estimate(10 if load is None else 10 * load / (load + r)), None if load is None else Estimate(load)
        )

    assert output_impedance(loaded(light), loaded(heavy)).value == pytest.approx(r)
    assert damping_from_loads(loaded(light), loaded(heavy)).value == pytest.approx(heavy / r)


def test_a_load_that_is_wrong_in_both_counts_once():
    """Without load the damping is V/(V₀ - V): the load's ohms cancel."""
    light = LoadedVolts(Estimate(10.0, 0.0))
    assert damping_from_loads(light, LoadedVolts(Estimate(8.0, 0.0), Estimate(8.0, 0.4))).u == 0
    assert output_impedance(light, LoadedVolts(Estimate(8.0, 0.0), Estimate(8.0, 0.4))).u == pytest.approx(0.1)


@pytest.mark.parametrize(("light", "heavy", "code"), [
    ((10, 8), (9, 16), "same load"),
    ((10, 8), (9, 8), "same load"),
    ((10, 16), (9, None), "same load"),
    ((8, 16), (9, 8), "volts rise"),
    ((10, 16), (4, 8), "current falls"),
    ((0, 16), (0, 8), "above zero"),
])  # fmt: skip
def test_volts_on_two_loads_that_no_source_gives_are_refused(light, heavy, code):
    pair = [LoadedVolts(Estimate(v), None if r is None else Estimate(r)) for v, r in (light, heavy)]
    assert raised(output_impedance, *pair) == code


def test_levels_between_two_frequencies_lie_on_a_line_over_the_logarithm():
    assert interpolate_decibels([100, 1000], [0, -20], 316.227766) == pytest.approx(-10)
    assert interpolate_decibels([100, 1000, 2000], [0, -20, -26], 1000) == -20
    for at in (99, 2001):
        assert raised(interpolate_decibels, [100, 1000, 2000], [0, -20, -26], at) == "reference outside"


def points(*pairs):
    return [ResponsePoint(f, Estimate(v)) for f, v in pairs]


def test_a_response_that_never_falls_so_far_has_no_edge():
    flat = band_edges(points((20, 1.0), (1000, 1.0), (20_000, 0.9)), 3.0)
    assert flat == BandEdges(3.0, None, None)


def test_the_edge_is_the_one_nearest_to_the_reference():
    """A response that dips and comes back has its edge where it first falls."""
    found = band_edges(points((1000, 1.0), (2000, 0.5), (4000, 1.0), (8000, 0.1)), 3.0)
    assert 1000 < found.high.value < 2000 and found.low is None


@pytest.mark.parametrize(("rows", "code"), [
    ([(1000, 1.0)], "points"),
    ([(1000, 1.0), (1000, 0.9)], "points"),
    ([(20, 1.0), (500, 1.0)], "reference outside"),
    ([(20, 0.0), (1000, 1.0)], "above zero"),
])  # fmt: skip
def test_a_response_that_cannot_be_judged_is_refused(rows, code):
    assert raised(band_edges, points(*rows), 3.0) == code


@pytest.mark.parametrize("hertz", [0, -20, inf, float("nan")])
def test_a_point_of_a_response_has_a_frequency(hertz):
    assert raised(ResponsePoint, hertz, Estimate(1.0)) == "frequency"


def test_a_level_that_swings_is_told_from_one_that_is_steady_and_a_crackle_counts_for_nothing():
    steady = np.ones(60)
    assert measure_swing(steady) == measure_step(steady) == unsteadiness(steady) == 1
    crackled = steady.copy()
    crackled[30] = 50
    assert unsteadiness(crackled) == 1
    swung = np.concatenate([steady, 2.5 * steady])
    assert measure_swing(swung) == pytest.approx(2.5) and unsteadiness(swung) == pytest.approx(2.5)
    stepped = np.concatenate([steady, 1.3 * steady])
    assert measure_step(stepped) == pytest.approx(1.3) and unsteadiness(stepped) == pytest.approx(1.3)
    assert unsteadiness(np.concatenate([steady, 1.1 * steady])) == 1  # an amplifier that warms up does as much


def test_a_step_within_what_chance_makes_is_none():
    rough = np.exp(0.3 * np.random.default_rng(1).standard_normal(200))
    assert measure_step(rough) == 1
    assert measure_step(np.ones(10)) == measure_swing(np.ones(9)) == 1  # too few to tell
    assert measure_step(np.zeros(60)) == measure_swing(np.zeros(60)) == 1


def marks_of(samples):
    marker = Marker(samples.shape[1])
    for at in range(0, len(samples), 7001):
        marker.add(samples[at : at + 7001])
    return marker.marks()


def test_a_recording_is_known_again_cut_shorter_and_another_is_not():
    rng = np.random.default_rng(1)
    one, other = np.round(rng.standard_normal((2, 60_000, 1)) * 1e4) / 2**15
    assert len(marks_of(one)) == KEPT and marks_of(one) == marks_of(one.copy())
    assert is_one_recording(marks_of(one), marks_of(one[3000:]))
    assert not is_one_recording(marks_of(one), marks_of(other))
    assert not is_one_recording(marks_of(one), marks_of(0.5 * one))  # turned down it is no copy


def test_silence_and_a_piece_too_short_have_no_marks():
    assert marks_of(np.zeros((20_000, 1))) == marks_of(np.ones((WIDTH - 1, 1))) == ()
    assert not is_one_recording((), ()) and not is_one_recording((1, 2), (1, 2))
    assert is_one_recording((1, 2, 3), (3, 2, 1, 9))


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("nominal", [40.0, 400.0, 1000.0, 10_000.0])
def test_a_test_tone_s_harmonics_keep_clear_of_the_mains(rate, nominal):
    exact = coherent_frequency(nominal, rate)
    assert exact == pytest.approx(nominal, rel=0.06)
    for k in range(1, 11):
        if exact * k < 1300:
            for mains in (50.0, 60.0):
                assert abs(exact * k - mains * round(exact * k / mains)) > 2


@pytest.mark.parametrize(("how", "code"), [
    ({"rate": 22_050}, "rate"),
    ({"hertz": ()}, "frequencies"),
    ({"hertz": (250.0, 8000.0)}, "frequencies"),
    ({"hertz": (4.9,)}, "frequency"),
    ({"hertz": (23_000.0,)}, "frequency"),
    ({"hertz": (float("nan"),)}, "frequency"),
    ({"seconds": 0.9}, "seconds"),
    ({"seconds": 601}, "seconds"),
    ({"seconds": inf}, "seconds"),
    ({"signal": Signal.STEPS}, "levels"),
    ({"signal": Signal.SILENCE}, "frequencies"),
])  # fmt: skip
def test_a_signal_that_no_player_plays_is_refused(how, code):
    assert raised(SignalPlan, **({"signal": Signal.TONE} | how)) == code


def test_the_steps_rise_to_full_level():
    assert list(STEPS.levels) == sorted(STEPS.levels) and STEPS.levels[-1] == 0
    longer = SignalPlan(Signal.STEPS, levels=(*STEPS.levels, *STEPS.levels), seconds=1)
    assert longer.duration == 2 * STEPS.duration  # by its steps, whatever its seconds say


@pytest.mark.parametrize(("row", "code"), [
    ({"signal": "stepped level"}, "load"),
    ({"signal": "stepped level", "load": "0 ohm"}, "load"),
    ({"signal": "stepped level", "load": "-8 ohm"}, "load"),
    ({"signal": "stepped level", "load": "8 ohm", "at": "0.005%"}, "at"),
    ({"signal": "stepped level", "load": "8 ohm", "at": "51%"}, "at"),
    ({"signal": "stepped level", "load": "8 ohm", "seconds": "ten"}, "formula-number"),
    ({"signal": "stepped level", "load": "8 ohm", "seconds": True}, "formula-number"),
    ({"signal": "stepped level", "load": "8 ohm", "drop": float("nan")}, "formula-number"),
    ({"signal": "stepped level", "load": "8 ohm", "hertz": [True]}, "formula-number"),
    ({"signal": "silence", "load": "8 ohm"}, "other-signal"),
])  # fmt: skip
def test_a_power_that_no_recording_gives_is_refused(row, code):
    assert raised(request_from, "output power", row) == code


@pytest.mark.parametrize(("at", "share"), [("clipping", None), ("1%", 0.01), ("10 %", 0.1), ("0.01%", 0.0001), ("50%",
                                           0.5)])  # fmt: skip
def test_a_power_is_asked_for_at_clipping_or_at_a_distortion(at, share):
    request = request_from("output power", {"signal": "stepped level", "load": "8 ohm", "at": at})
    assert request.at == (share if share is None else pytest.approx(share))
    assert request.load.value == 8 and request.load.u == pytest.approx(8 * 0.05 / sqrt(3))


@pytest.mark.parametrize("drop", [0.1, 1.0, 20.0])
def test_an_edge_lies_a_tenth_to_twenty_decibels_down(drop):
    assert request_from("lower band edge", {"signal": "sweep", "drop": drop}).drop == drop
    assert raised(request_from, "lower band edge", {"signal": "sweep", "drop": 0.09}) == "drop"
    assert raised(request_from, "lower band edge", {"signal": "sweep", "drop": 20.5}) == "drop"


def test_only_levels_need_a_calibration():
    shares = [m for m in ("distortion", "second harmonic", "distortion and noise") if
              FigureRequest(m, SignalPlan(Signal.TONE)).needs_volts]  # fmt: skip
    levels = [FigureRequest(m, SignalPlan(Signal.SILENCE, hertz=())).needs_volts for m in ("hum volts", "noise volts")]
    assert shares == [] and levels == [True, True]
