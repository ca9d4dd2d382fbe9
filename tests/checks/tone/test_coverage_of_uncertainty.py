"""The uncertainty of figures from typed volts against JCGM 101:2008: their distribution drawn with numpy from formulas
written out here, and the share of true values that the stated interval covers.

Meters and loads are off by anything within their limits alike (rectangular, JCGM 100:2008, 4.3.7), as the project says;
the interval is the value ± 1.96 u.
"""

import math

import numpy as np
import pytest

from checks.derived import Estimate
from checks.tone.formulas import formula_from, work_out
from checks.verdict import conformance

DRAWS, FACTOR = 200_000, 1.96
METER, LOAD = 0.015, 0.05  # half-widths as shares: a usual meter on AC volts, a usual power resistor


def impedance(v1, v2, r1, r2):
    """(V1 - V2) / (I2 - I1)."""
    return (v1 - v2) / (v2 / r2 - v1 / r1)


TABLES = {
    "power": ({"of": ["a"], "load": "8 ohm", "tolerance": "5%"}, (6.3,), (8.0,), lambda v, r: v**2 / r),
    "gain": ({"of": ["a", "b"]}, (6.3, 0.063), (), lambda out, into: 20 * np.log10(out / into)),
    "decibels below full output": ({"of": ["a", "b"]}, (0.004, 6.3), (), lambda hum, full: 20 * np.log10(full / hum)),
    "channel difference": ({"of": ["a", "b"]}, (6.3, 6.0), (), lambda left, right: 20 * np.log10(left / right)),
    "input impedance": ({"of": ["a", "b"], "series": "100k"}, (6.0, 3.0), (100e3,), lambda v0, v, r: r * v / (v0 - v)),
    "output impedance": ({"of": ["a", "b"], "loads": ["16 ohm", "4 ohm"]}, (8.0, 5.0), (16.0, 4.0), impedance),
    "output impedance, no load": (
        {"of": ["a", "b"], "loads": ["none", "8 ohm"]}, (10.0, 6.0), (8.0,), lambda v0, v, r: r * (v0 - v) / v,
    ),
    "damping factor": (
        {"of": ["a", "b"], "loads": ["16 ohm", "4 ohm"]}, (8.0, 5.0), (16.0, 4.0),
        lambda v1, v2, r1, r2: r2 / impedance(v1, v2, r1, r2),
    ),
    "damping factor, no load": ({"of": ["a", "b"], "loads": ["none", "8 ohm"]}, (10.0, 6.0), (8.0,),
                                lambda v0, v, r: v / (v0 - v)),
}  # fmt: skip
MEASURES = {"power": "output power", "decibels below full output": "below full output"}


def stated(name):
    row, volts, _loads, _formula = TABLES[name]
    measure = name.partition(",")[0]
    formula = formula_from(MEASURES.get(measure, measure), row)
    return work_out(formula, [Estimate(v, METER * v / math.sqrt(3)) for v in volts])


def drawn(name):
    """The figure of many builders whose meters and loads are off, each by its own share."""
    _row, volts, loads, formula = TABLES[name]
    random = np.random.default_rng(101)
    values = [v * (1 + METER * random.uniform(-1, 1, DRAWS)) for v in volts]
    return formula(*values, *(r * (1 + LOAD * random.uniform(-1, 1, DRAWS)) for r in loads))


@pytest.mark.parametrize("name", TABLES)
def test_the_stated_interval_covers_what_was_drawn_and_is_no_wider_than_it_must_be(name):
    figure, values = stated(name), drawn(name)
    assert figure.value == pytest.approx(float(np.median(values)), rel=0.02)
    covered = float((np.abs(values - figure.value) <= FACTOR * figure.u).mean())
    assert 0.94 < covered <= 1
    assert figure.u == pytest.approx(float(values.std()), rel=0.06)


@pytest.mark.parametrize("name", TABLES)
@pytest.mark.parametrize("away", [-1.5, -0.5, 0.5, 1.5])
def test_the_probability_of_keeping_to_a_limit_is_the_share_of_the_draws(name, away):
    """What verdicts rest on. Rectangular errors make it differ from a normal distribution's by some hundredths."""
    figure, values = stated(name), drawn(name)
    limit = figure.value + away * figure.u
    assert float(conformance(figure.value, figure.u, -math.inf, limit)) == pytest.approx(
        float((values <= limit).mean()), abs=0.06
    )


def test_an_interval_half_as_wide_would_not_cover():
    """That the comparison can fail."""
    figure, values = stated("gain"), drawn("gain")
    assert (np.abs(values - figure.value) <= FACTOR / 2 * figure.u).mean() < 0.8
