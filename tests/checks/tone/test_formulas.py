"""Formulas over other checks' readings, and what a guide's table must say."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.measures import MEASURES, Source
from checks.tone.formulas import INPUTS, formula_from, work_out
from checks.tone.requests import SIGNALS, request_from

GOOD = {
    "output power": {"of": ["a"], "load": "8 ohm"},
    "gain": {"of": ["a", "b"]},
    "input sensitivity": {"of": ["a"], "pad": ["10k", "100 ohm"]},
    "input impedance": {"of": ["a", "b"], "series": "100k"},
    "output impedance": {"of": ["a", "b"], "loads": ["none", "8 ohm"]},
    "damping factor": {"of": ["a", "b"], "loads": ["16 ohm", "8 ohm"]},
    "below full output": {"of": ["a", "b"]},
    "channel difference": {"of": ["a", "b"]},
    "lower band edge": {"of": ["a", "b"], "hertz": [20, 1000]},
    "upper band edge": {"of": ["a", "b"], "hertz": [1000, 20_000]},
}


def test_every_figure_that_can_be_worked_out_has_a_formula():
    assert set(INPUTS) == set(GOOD) == {code for code, m in MEASURES.items() if Source.FORMULA in m.sources}
    assert set(SIGNALS) == {code for code, m in MEASURES.items() if Source.RECORDING in m.sources}


@pytest.mark.parametrize(
    ("measure", "readings", "expected"),
    [
        ("output power", (6.3245553, 0), 5.0),
        ("gain", (6.32, 0.0632), 40.0),
        ("input sensitivity", (0.101, 0), 1e-3),
        ("input impedance", (6.0, 5.0), 500e3),  # a divider of 500 kΩ behind 100 kΩ leaves five sixths
        ("output impedance", (10.0, 8.0), 2.0),
        ("damping factor", (8.8888889, 8.0), 3.0),  # 4 Ω behind 16 Ω and behind 8 Ω would be 8.0 and 6.67
        ("below full output", (0.00632, 6.32), 60.0),
        ("channel difference", (2.0, 1.0), 6.0206),
    ],
)
def test_figures_are_those_of_their_closed_forms(measure, readings, expected):
    formula = formula_from(measure, GOOD[measure])
    known = [Estimate(v, 0.01 * v) for v in readings[: len(formula.of)]]
    if measure == "damping factor":
        expected = 8.0 / ((readings[0] - readings[1]) / (readings[1] / 8 - readings[0] / 16))
    worked_out = work_out(formula, known)
    assert worked_out.value == pytest.approx(expected, rel=1e-4)
    assert 0 < worked_out.u < math.inf


RESPONSE = {"of": ["a", "b", "c"], "hertz": [20, 60, 1000]}
DRAWN = {
    "output power": (GOOD["output power"], (6.0,)),
    "gain": (GOOD["gain"], (6.0, 0.06)),
    "output impedance": (GOOD["output impedance"], (10.0, 8.0)),
    "damping factor": (GOOD["damping factor"], (9.5, 8.0)),
    "damping factor, light load open": ({"of": ["a", "b"], "loads": ["none", "8 ohm"]}, (10.0, 8.0)),
    "below full output": (GOOD["below full output"], (0.006, 6.0)),
    "lower band edge": (RESPONSE, (0.5, 0.9, 1.0)),
}


@pytest.mark.lengthy
@pytest.mark.parametrize("shared", [0.0, 0.9])
@pytest.mark.parametrize("name", DRAWN)
def test_the_uncertainty_is_that_of_drawn_readings_and_never_less_when_one_meter_reads_them_all(name, shared):
    """Monte Carlo after JCGM 101: readings off by 0.5 %, of whose variance a share is the meter's and the same in all;
    loads anywhere within 5 %. A shared error cancels in a quotient, and is all there is in a power."""
    row, values = DRAWN[name]
    measure, rng = name.partition(",")[0], np.random.default_rng(11)
    formula = formula_from(measure, row)
    worked_out = work_out(formula, [Estimate(v, 0.005 * v) for v in values])
    drawn = []
    for _ in range(3000):
        one = rng.standard_normal()
        own = math.sqrt(shared) * one + math.sqrt(1 - shared) * rng.standard_normal(len(values))
        loads = tuple(load and Estimate(load.value * (1 + 0.05 * rng.uniform(-1, 1))) for load in formula.loads)
        readings = [Estimate(v * (1 + 0.005 * float(e))) for v, e in zip(values, own, strict=True)]
        drawn.append(work_out(replace(formula, loads=loads), readings).value)
    ratio = worked_out.u / float(np.std(drawn))
    if measure.endswith("band edge"):
        assert ratio > 0.95  # the straight lines between the points are not drawn here
        return
    assert ratio == pytest.approx(1, abs=0.07) if not shared or measure == "output power" else ratio > 0.95


@given(corner=st.floats(25, 200))
def test_a_band_edge_lies_where_a_first_order_network_has_it(corner):
    hertz = [20 * 2 ** (k / 3) for k in range(18)] + [1000.0]
    row = {"of": [f"c{k}" for k in range(len(hertz))], "hertz": hertz, "drop": 10 * math.log10(2)}
    volts = [Estimate(1 / math.sqrt(1 + (corner / f) ** 2)) for f in hertz]
    reference = 1 / math.sqrt(1 + (corner / 1000) ** 2)
    exact = corner / math.sqrt(2 * (1 + (corner / 1000) ** 2) - 1)
    worked_out = work_out(formula_from("lower band edge", row), volts)
    assert worked_out.value == pytest.approx(exact, rel=0.02)
    assert reference < 1


@pytest.mark.parametrize(
    ("measure", "change", "code"),
    [
        ("output power", {"load": ""}, "load"),
        ("output power", {"load": "0 ohm"}, "load"),
        ("output power", {"of": ["a", "b"]}, "inputs"),
        ("output power", {"of": "a"}, "inputs"),
        ("gain", {"of": ["a", "a"]}, "inputs"),
        ("output impedance", {"loads": ["8 ohm", "16 ohm"]}, "two-loads"),
        ("output impedance", {"loads": ["8 ohm"]}, "two-loads"),
        ("input impedance", {"series": ""}, "series"),
        ("input impedance", {"series": "0 ohm"}, "load"),
        ("gain", {"series": "100k"}, "series"),
        ("lower band edge", {"hertz": [20]}, "one-frequency-each"),
        ("lower band edge", {"hertz": [20, float("nan")]}, "one-frequency-each"),
        ("lower band edge", {"hertz": [20, 40]}, "reference-outside"),
        ("lower band edge", {"drop": -3}, "drop"),
        ("lower band edge", {"drop": "three"}, "formula-number"),
        ("gain", {"colour": "red"}, "formula-key"),
        ("dc volts", {"of": ["a"]}, "no-formula"),
    ],
)
def test_a_formula_that_cannot_be_is_refused_with_its_reason(measure, change, code):
    with pytest.raises(ChecksError) as refused:
        formula_from(measure, GOOD.get(measure, {}) | change)
    assert refused.value.code == code


def test_readings_that_give_no_figure_say_why():
    for measure, volts, code in (
        ("output impedance", (8.0, 8.5), "volts rise"),
        ("input impedance", (6.0, 6.0), "volts do not fall"),
        ("gain", (1.0, 0.0), "above zero"),
        ("lower band edge", (1.0, 1.0), "no-edge"),
    ):
        with pytest.raises(ChecksError) as refused:
            work_out(formula_from(measure, GOOD[measure]), [Estimate(v) for v in volts])
        assert refused.value.code == code


@pytest.mark.parametrize(
    ("measure", "row", "code"),
    [
        ("distortion", {"signal": "sweep"}, "other-signal"),
        ("distortion", {"signal": "whistle"}, "other-signal"),
        ("distortion", {}, "other-signal"),
        ("distortion", {"signal": "tone", "channel": "middle"}, "channel"),
        ("distortion", {"signal": "tone", "hertz": ["high"]}, "formula-number"),
        ("distortion", {"signal": "tone", "hertz": [90_000]}, "frequency"),
        ("distortion", {"signal": "tone", "seconds": 0.1}, "seconds"),
        ("output power", {"signal": "tone"}, "load"),
        ("output power", {"signal": "stepped level", "load": "8 ohm", "at": "90%"}, "at"),
        ("ac volts", {"signal": "tone"}, "no-recording"),
        ("distortion", {"signal": "tone", "at_most": 3}, "formula-key"),
    ],
)
def test_a_request_that_no_recording_answers_is_refused_with_its_reason(measure, row, code):
    with pytest.raises(ChecksError) as refused:
        request_from(measure, row)
    assert refused.value.code == code
