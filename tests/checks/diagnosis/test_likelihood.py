"""What the ranking knows that it does not know: sizes, meters, its own fit, unseen faults, lines and centres."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.stats import chi2, multivariate_normal

from checks.diagnosis import Observation, likelihood, rank
from checks.diagnosis.centring import centre_on
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.grouping import group_indistinct_faults, group_parts
from checks.diagnosis.likelihood import THROUGH_DIODE, Evidence, _variance_of_leaks, covariance, fit_all
from checks.diagnosis.model_doubt import model_variances, spend_doubt
from checks.diagnosis.ranking import gather_evidence
from checks.diagnosis.reading_scale import RANGE
from checks.diagnosis.slips import NAMED, slip_logs
from checks.errors import ChecksError
from tests.checks.diagnosis.test_faults import PARTS, STAGES, healthy, prepared  # noqa: F401 (a fixture)


def row_of(prepared, key):  # noqa: F811
    return [fault.key for fault in prepared.faults].index(key) + 1


def reads(prepared, row, sized=None):  # noqa: F811
    """Observations of what a fault makes every check of the guide read."""
    mean = prepared.mean[row] if sized is None else prepared.size_mean[prepared.size_row == row][sized]
    values = np.sinh(mean) * prepared.units
    return [
        Observation(p.name, float(v), 0.004 * abs(v) + 0.01)
        for p, v in zip(prepared.places, values, strict=True)
        if p.check and np.isfinite(v)
    ]


def evidence_of(prepared, observations, **more):  # noqa: F811
    return gather_evidence(prepared, [(prepared.index[o.place], o) for o in observations], **more)


@pytest.mark.lengthy
def test_a_plain_faults_density_and_tail_are_those_of_scipy(prepared):  # noqa: F811
    """The multivariate normal and the chi-squared tail of scipy.stats, where no reading can be a slip."""
    certain = [replace(o, past_stop=True) for o in healthy(prepared, hot_k=14.0)]
    evidence = evidence_of(prepared, certain)
    fit = fit_all(prepared, evidence)
    for row in (0, row_of(prepared, "R10 x10")):
        mean = prepared.mean[row, evidence.at]
        cov = covariance(prepared, evidence, row, mean)
        assert fit.log[row] == pytest.approx(multivariate_normal(mean, cov).logpdf(evidence.z), abs=1e-6)
        apart = evidence.z - mean
        distance = apart @ np.linalg.solve(cov, apart)
        assert fit.tail[row] == pytest.approx(chi2.sf(distance, len(apart)), abs=1e-9)


def one_by_one(every, evidence, residual, _cov, own_doubt):
    """In place of likelihood._alike_in_doubt: no size shares another's doubt."""
    for n in range(len(residual)):
        yield np.array([n]), (own_doubt[n], every.together[n, evidence.at])


@pytest.mark.lengthy
@pytest.mark.parametrize(("is_shared", "most"), [(False, 1e-6), (True, 0.02)])
def test_a_size_spreads_along_its_span(prepared, monkeypatch, is_shared, most):  # noqa: F811
    """The same density with the span's outer product, and the model's doubt of each size, added to the covariance, by
    scipy.stats: exactly where no size shares another's doubt, and nearly where those alike share one."""
    if not is_shared:
        monkeypatch.setattr(likelihood, "_alike_in_doubt", one_by_one)
    row = row_of(prepared, "R10 other value")
    certain = [replace(o, past_stop=True) for o in reads(prepared, row, 3)]
    evidence = evidence_of(prepared, certain)
    at, logs, which = evidence.at, [], prepared.size_row == row
    good = covariance(prepared, evidence, 0, prepared.mean[0, at])
    for mean, span in zip(prepared.size_mean[which], prepared.size_span[which], strict=True):
        each, together = model_variances(mean, prepared.mean[0], prepared.places, prepared.drift)
        whole = good + np.diag(each[at]) + np.outer(together[at], together[at]) + np.outer(span[at], span[at])
        logs.append(multivariate_normal(mean[at], whole, allow_singular=True).logpdf(evidence.z))
    expected = np.logaddexp.reduce(logs) - np.log(len(logs))
    assert fit_all(prepared, evidence).log[row] == pytest.approx(expected, abs=most)


@pytest.mark.lengthy
@pytest.mark.parametrize("size", [0, 2, 5, 7, 9, 13])
def test_a_part_of_any_other_value_is_named(prepared, size):  # noqa: F811
    row = row_of(prepared, "R10 other value")
    ranking = rank(prepared, reads(prepared, row, size))
    assert any("R10" in fault.refs for fault in ranking.groups[0].faults)
    assert ranking.clear < 0.05


@pytest.mark.lengthy
def test_a_fault_that_fits_ill_gives_its_probability_to_something_else(prepared):  # noqa: F811
    """Readings between two faults: the better of the two is not named with confidence."""
    row = row_of(prepared, "R10 x10")
    observations = [
        replace(o, value=o.value * factor, past_stop=True)
        for o, factor in zip(reads(prepared, row), (1.0, 1.3, 0.7, 1.25, 0.75), strict=True)
    ]
    ranking = rank(prepared, observations)
    assert ranking.other > ranking.groups[0].probability
    exact = rank(prepared, reads(prepared, row))
    assert exact.other < 0.05


def test_an_unseen_fault_counts_as_clear_only_up_to_three_times_its_prior(prepared):  # noqa: F811
    unseen, _sets, _kin = group_indistinct_faults(prepared)
    each = np.zeros(len(prepared.faults))
    each[unseen[0]] = 0.98
    most = np.full(len(each), 0.01)
    left, groups = group_parts(prepared, each, most, np.zeros(len(each) + 1))
    assert left.probability == pytest.approx(0.01)
    assert groups[0].probability == pytest.approx(0.97)
    assert prepared.faults[unseen[0]] in groups[0].faults


def test_a_floating_point_is_predicted_through_the_meter(prepared):  # noqa: F811
    """A cathode whose resistor is open floats at hundreds of volts, and a 10 megohm meter pulls it down."""
    row, place = row_of(prepared, "R10 open"), prepared.index["hot/k"]
    volts = np.sinh(prepared.mean[row, place]) * prepared.units[place]
    assert 1.0 < volts < 60.0
    assert prepared.source[0, place] < 2e4  # a good cathode is not loaded


@pytest.mark.lengthy
def test_another_meter_loads_a_floating_point_more(prepared):  # noqa: F811
    row = row_of(prepared, "V2 7 dry")
    place = prepared.index["hot/a"]
    assert prepared.source[row, place] > 1e6
    o = [Observation("hot/a", 2.0, 0.05)]
    ten, one = (fit_all(prepared, evidence_of(prepared, o, meter_ohms=ohms)).log[row] for ohms in (1e7, 1e6))
    assert ten != pytest.approx(one)
    healthy_row = [fit_all(prepared, evidence_of(prepared, o, meter_ohms=ohms)).log[0] for ohms in (1e7, 1e6)]
    assert healthy_row[0] == pytest.approx(healthy_row[1])


@pytest.mark.lengthy
def test_the_lines_uncertainty_widens_what_readings_may_be(prepared):  # noqa: F811
    """All readings with the power on 5 % low: with a line known to 2 % that is a good kit, with one known exactly less
    so."""
    low = [replace(o, value=o.value * 0.95) if o.place.startswith("hot") else o for o in healthy(prepared)]
    known, loose = (
        covariance(prepared, evidence_of(prepared, low, line_u=u), 0, prepared.mean[0, evidence_of(prepared, low).at])
        for u in (0.0, 0.02)
    )
    hot = [n for n, o in enumerate(low) if o.place.startswith("hot")]
    assert (np.diag(loose)[hot] > np.diag(known)[hot] + 1e-5).all()
    cold = [n for n, o in enumerate(low) if o.place.startswith("cold")]
    assert np.diag(loose)[cold] == pytest.approx(np.diag(known)[cold])
    assert rank(prepared, low).clear != rank(prepared, low, line_u=0.0).clear
    assert rank(prepared, low, line_u=0.02).healthy > rank(prepared, low, line_u=0.0).healthy


@pytest.mark.lengthy
def test_a_dictionary_is_brought_to_what_good_kits_read(prepared):  # noqa: F811
    nominal = float(prepared.nominal[prepared.index["hot/k"]])
    moved = [replace(o, value=1.25 * nominal) if o.place == "hot/k" else o for o in healthy(prepared)]
    alone, about = rank(prepared, moved), rank(prepared, moved, centres={"hot/k": 1.25 * nominal})
    assert about.clear > 0.9 > alone.clear or about.clear > alone.clear + 0.02
    assert centre_on(prepared, {"hot/k": 1.25 * nominal}) is centre_on(prepared, {"hot/k": 1.25 * nominal})


@pytest.mark.parametrize("factor", [3.0, -1.0, 0.2])
def test_a_centre_far_off_is_a_wrong_figure_and_moves_nothing(prepared, factor):  # noqa: F811
    nominal = float(prepared.nominal[prepared.index["hot/k"]])
    result = centre_on(prepared, {"hot/k": factor * nominal})
    assert result.mean == pytest.approx(prepared.mean, nan_ok=True)


def test_a_lamp_left_in_is_among_the_faults_of_a_powered_stage(prepared):  # noqa: F811
    row = row_of(prepared, "lamp left in")
    place = prepared.index["hot/ht"]
    assert prepared.faults[row - 1].code is FaultCode.LAMP_LEFT_IN
    assert prepared.mean[row, place] < prepared.mean[0, place] - 2 * np.sqrt(prepared.cov[0, place, place])
    cold = prepared.index["cold/k"]
    assert prepared.mean[row, cold] == pytest.approx(prepared.mean[0, cold], abs=0.2)


def test_shorts_of_all_kinds_are_the_same_few_tenths_of_an_ohm(prepared):  # noqa: F811
    """So that no choice between them rests on a number of ours."""
    ohms = {
        round(move.factor * (1e14 if move.part_of else next(p.value for p in PARTS if p.ref == move.ref)), 6)
        for fault in prepared.faults
        if fault.code in (FaultCode.SHORT, FaultCode.CAPACITOR_SHORT, FaultCode.PINS_TOUCH)
        for move in fault.moves
    }
    assert len(ohms) == 1 and STAGES


@pytest.mark.lengthy
def test_readings_at_a_line_that_nobody_measured_may_all_be_off_together(prepared):  # noqa: F811
    """All readings with the power on 7 % up, within what EN 50160 lets a supply be: no fault, where nobody measured."""
    up = [replace(o, value=o.value * 1.07) if o.place.startswith("hot") else o for o in healthy(prepared)]
    unmeasured = [replace(o, line_unmeasured=o.place.startswith("hot")) for o in up]
    high = row_of(prepared, "mains x1.12") - 1
    assert rank(prepared, up).each[high] > 4 * rank(prepared, unmeasured).each[high]
    assert rank(prepared, unmeasured).groups[0].faults[0].kind != "mains"


@pytest.mark.lengthy
def test_a_slips_density_is_one_and_highest_at_a_slip_with_a_name(prepared):  # noqa: F811
    """All of it lies within the scale's width, by numerical integration."""
    column = prepared.index["hot/a"]
    z = np.linspace(-14, 14, 6001)
    density = np.exp([slip_logs(prepared, [column], [one], [False])[0] for one in z])
    named = np.exp(slip_logs(prepared, [column], [-prepared.mean[0, column]], [False])[0])
    anything = (1 - NAMED) / RANGE
    whole = trapezoid(density - anything, z) + anything * RANGE
    assert whole == pytest.approx(1.0, abs=0.01)
    assert named > 3 / RANGE > 1 / RANGE > np.median(density)


def test_what_is_lower_than_a_fault_would_have_it_may_have_gone_through_a_diode():
    """Beside a good kit's it is no lower, and so no way through a diode explains anything."""
    nothing = np.zeros(2)
    through = np.array([True, False])
    evidence = Evidence(np.arange(2), nothing + 1.0, nothing, nothing > 0, nothing + 0.01, 0.0, through=through)
    assert evidence.chances_under(np.array([[1.0, 1.0], [2.0, 2.0]])).tolist() == [[0.01, 0.01], [THROUGH_DIODE, 0.01]]


@pytest.mark.lengthy
def test_a_pointer_loads_by_the_range_of_each_reading(prepared):  # noqa: F811
    """20 kilohms per volt on a range of 250 V are 5 megohms, on one of 2.5 V only 50 kilohms: beside a floating point
    that is another prediction, and beside a good one it is corrected away."""
    row = row_of(prepared, "V2 7 dry")
    high, low = (Observation("hot/a", 2.0, 0.05, meter_ohms=ohms) for ohms in (5e6, 5e4))
    assert fit_all(prepared, evidence_of(prepared, [high])).log[row] != pytest.approx(
        fit_all(prepared, evidence_of(prepared, [low])).log[row]
    )
    assert rank(prepared, [high], meter_ohms=5e4) is not None


def test_a_meter_nobody_knows_is_predicted_as_most_and_corrected_as_it_was(prepared):  # noqa: F811
    o = Observation("hot/a", 2.0, 0.05, meter_ohms=1e6)
    known, unknown = (gather_evidence(prepared, [(prepared.index["hot/a"], o)], meter_ohms=m) for m in (1e7, None))
    assert (known.meter_ohms, known.corrected_for) == ([1e6], [1e6])
    assert (unknown.meter_ohms, unknown.corrected_for) == ([1e7], [1e6])


@pytest.mark.parametrize("ohms", [0.0, -1.0, float("nan"), float("inf")])
def test_a_meter_without_a_resistance_is_refused(ohms):
    with pytest.raises(ChecksError):
        Observation("hot/a", 2.0, 0.05, meter_ohms=ohms)


def test_what_a_fault_leaves_half_open_explains_no_reading_of_a_tenth(prepared):  # noqa: F811
    """Flux and old electrolytics pass a little at an ohmmeter's volts: little beside 4 megohms, much beside an open."""
    evidence = evidence_of(prepared, [Observation("cold/k", 180.0, 1.0)])
    unit = prepared.units[evidence.at]
    means = (np.arcsinh(np.array([[ohms]]) / unit) for ohms in (4e6, 4e8))
    half, opened = (np.sqrt(_variance_of_leaks(prepared, evidence, mean))[0, 0] for mean in means)
    assert 0.3 < half < 0.8 and opened == pytest.approx(2.0)


def test_grids_that_stay_cost_a_fault_next_to_nothing():
    """Six grids that read as they should are no evidence against a valve that does not conduct."""
    drift, residual = np.full(6, 1.0), np.full((1, 6), 0.05)
    variances = np.full((1, 6), 0.06 + 1.0)
    own, odds = spend_doubt(np.array([True]), drift, residual, variances)
    assert np.all(own == 1.0) and odds[0] == pytest.approx(6 * np.log(0.8))
    wide = -0.5 * np.log(variances / (variances - own)).sum()
    assert odds[0] > wide / 4


def test_a_grid_that_drifts_keeps_its_doubt_and_a_fault_that_moves_nothing_has_none():
    drift, variances = np.array([1.0, 0.0]), np.array([[1.06, 0.01]])
    own, odds = spend_doubt(np.array([True]), drift, np.array([[1.5, 0.0]]), variances)
    assert not own.any() and odds[0] == pytest.approx(np.log(0.2))
    own, odds = spend_doubt(np.array([False]), drift, np.array([[0.0, 0.0]]), variances)
    assert not own.any() and odds[0] == 0.0
