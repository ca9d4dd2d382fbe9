"""How widely good builds scatter, what drives it, and what parts have to bear."""

import math

import numpy as np
import pytest

from checks.circuit import Condition, component_stresses, predict, predict_scatter
from checks.circuit.prediction import scatter as scatter_module
from checks.errors import ChecksError
from tests.checks.circuit import kits
from tests.checks.circuit.kits import parts_of, resistor

OFF = Condition(power="off")


def scatter(rows, red, condition=OFF, measure="resistance", **more):
    return predict_scatter(parts_of(*rows), condition, [(red, "chassis", measure)], **more)[0]


def test_one_resistor_scatters_evenly_between_its_limits():
    """A rectangular distribution: 95 % lie within 95 % of its limits (JCGM 101)."""
    spread = scatter([resistor("R1", "a", "chassis", "10k", "5%")], "a", samples=20_000)
    assert (spread.low, spread.high) == pytest.approx((10e3 * (1 - 0.0475), 10e3 * (1 + 0.0475)), rel=2e-3)
    assert (spread.worst_low, spread.worst_high) == pytest.approx((9500, 10500))
    assert spread.drivers[0].ref == "R1"
    assert spread.drivers[0].share == pytest.approx(1.0)


def test_two_equal_resistors_share_the_scatter_and_it_grows_as_their_root():
    rows = [resistor("R1", "a", "b", "10k"), resistor("R2", "b", "chassis", "10k")]
    spread = scatter(rows, "a", samples=20_000)
    assert [d.share for d in spread.drivers] == pytest.approx([0.5, 0.5], abs=0.01)
    assert np.std(spread.samples) == pytest.approx(500 / math.sqrt(3) * math.sqrt(2), rel=0.02)
    assert spread.worst_high == pytest.approx(21_000)


def test_the_same_seed_gives_the_same_builds():
    rows = [resistor("R1", "a", "chassis", "10k")]
    assert np.array_equal(scatter(rows, "a", samples=500).samples, scatter(rows, "a", samples=500).samples)
    assert not np.array_equal(scatter(rows, "a", samples=500).samples, scatter(rows, "a", samples=500, seed=2).samples)


def test_the_largest_driver_of_a_cathode_is_its_valve_and_of_the_supply_its_transformer():
    parts = parts_of(*kits.demo_rows())
    spread = predict_scatter(
        parts, Condition(), [("V2.3", "chassis", "dc volts"), ("ht.reservoir", "chassis", "dc volts")], samples=500
    )
    assert [f.drivers[0].ref for f in spread] == ["V2", "T1"]
    assert all(f.low < f.nominal < f.high for f in spread)
    assert all(f.worst_low < f.low and f.high < f.worst_high for f in spread)


@pytest.mark.lengthy
def test_an_unknown_line_widens_the_scatter():
    parts = parts_of(*kits.demo_rows())
    known, unknown = (
        predict_scatter(parts, Condition(line_spread=s), [("ht.reservoir", "chassis", "dc volts")], samples=500)[0]
        for s in (0.0, 0.1)
    )
    assert unknown.high - unknown.low > 2 * (known.high - known.low)


def test_an_unregulated_supply_goes_with_the_mains():
    predicted = predict(parts_of(*kits.demo_rows()), Condition(), [("ht.reservoir", "chassis", "dc volts")])[0]
    assert predicted.mains_exponent == pytest.approx(1.0, abs=0.05)


@pytest.mark.lengthy
def test_no_part_of_the_demonstration_kit_is_over_its_limit():
    assert [s for s in component_stresses(parts_of(*kits.demo_rows()), Condition(), samples=500) if s.over] == []


@pytest.mark.lengthy
def test_a_resistor_too_small_and_a_capacitor_too_weak_are_found():
    weak = {"R10": {"power": "250mW"}, "C1": {"volts": "250 V"}}
    rows = [r | weak.get(r["ref"], {}) for r in kits.demo_rows()]
    over = {(s.ref, s.what) for s in component_stresses(parts_of(*rows), Condition(), samples=500) if s.over}
    assert {("R10", "dissipation"), ("C1", "voltage")} <= over


@pytest.mark.lengthy
def test_a_design_centre_limit_is_judged_at_nominal_mains_only():
    """IEC 60134:1961: ordinary mains variation is allowed for in a design-centre limit."""
    rows = [
        dict(r, limits={"system": "design centre", "anode_watts": 12.0}) if r["ref"] == "V2" else r
        for r in kits.demo_rows()
    ]
    results = [
        s
        for s in component_stresses(parts_of(*rows), Condition(), samples=500)
        if s.what == "anode dissipation" and s.ref == "V2"
    ]
    high = next(s for s in results if s.at == "high mains")
    nominal = next(s for s in results if s.at == "nominal")
    assert high.value > nominal.value
    assert not high.over


@pytest.mark.lengthy
def test_a_build_that_does_not_settle_does_not_silence_the_others_but_many_do(monkeypatch):
    net_rows = [*kits.bench_supply(300), resistor("R9", "ht", "chassis", "100k")]
    whole = scatter(net_rows, "ht", Condition(), "dc volts", samples=1000)

    def losing(count):
        def operate_(net, m, **more):
            result = scatter_operate(net, m, **more)
            if len(m) == 1000:
                result.volts[:count] = np.nan
            return result

        return operate_

    scatter_operate = scatter_module.solve_operating_point
    monkeypatch.setattr(scatter_module, "solve_operating_point", losing(2))
    result = scatter(net_rows, "ht", Condition(), "dc volts", samples=1000)
    assert len(result.samples) == 998
    assert (result.low, result.high) == pytest.approx((whole.low, whole.high), rel=1e-3)
    monkeypatch.setattr(scatter_module, "solve_operating_point", losing(50))
    with pytest.raises(ChecksError, match="did not settle in 50 of 1000"):
        scatter(net_rows, "ht", Condition(), "dc volts", samples=1000)


def test_a_reading_that_tips_over_has_a_worst_case_no_milder_than_its_band():
    """Two triodes cross-coupled, either of which may win: moves about the middle, where neither has, tell too
    little."""
    rows = [
        *kits.bench_supply(400),
        resistor("R99", "ht", "chassis", "100k"),
        kits.twin("V1", ("a1", "g1", "k"), ("a2", "g2", "k"), "ECC82"),
        resistor("R1", "ht", "a1", "22k"),
        resistor("R2", "ht", "a2", "22k"),
        resistor("R3", "a1", "g2", "220k"),
        resistor("R4", "a2", "g1", "220k"),
        resistor("R5", "g1", "chassis", "100k"),
        resistor("R6", "g2", "chassis", "100k"),
        resistor("R7", "k", "chassis", "10k"),
    ]
    spread = scatter(rows, "a1", Condition(), "dc volts", samples=300)
    assert spread.worst_low <= spread.low < spread.high <= spread.worst_high


def test_too_few_samples_are_refused():
    with pytest.raises(ChecksError, match="samples"):
        scatter([resistor("R1", "a", "chassis", "10k")], "a", samples=10)


def test_ratings_with_the_power_off_are_refused():
    with pytest.raises(ChecksError, match="power on"):
        component_stresses(parts_of(resistor("R1", "a", "chassis", "10k")), OFF)
