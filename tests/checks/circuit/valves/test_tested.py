"""A valve that was measured by itself: its curve goes through its point, and what no such valve can show is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.circuit import Condition, Probe, part_from_mapping, predict_scatter
from checks.circuit.valves.koren import pentode_current, triode_current
from checks.circuit.valves.tested import CURVES_MISS, MeasuredPoint, koren_as_tested
from checks.circuit.valves.types import find_koren
from checks.errors import ChecksError

# Published points (checks/circuit/valves/valve_points.json names the sheets): V, V, A, A/V.
ECC83 = MeasuredPoint(250, -2, 1.2e-3, 1.6e-3)
EL84 = MeasuredPoint(250, -7.3, 48e-3, 11.3e-3, 250)
# An ECC83 stage as sheets give it for resistance coupling: 250 V, 100 kΩ, 1.5 kΩ (Philips ECC83, 1960: 0.86 mA).
STAGE = [
    {
        "ref": "B1",
        "kind": "dc supply",
        "value": "250 V",
        "tolerance": "1%",
        "joins": {"plus": "ht", "minus": "chassis"},
    },
    {"ref": "RA", "kind": "resistor", "value": "100k", "tolerance": "1%", "joins": ["ht", "anode"]},
    {"ref": "RK", "kind": "resistor", "value": "1k5", "tolerance": "1%", "joins": ["cathode", "chassis"]},
    {"ref": "RG", "kind": "resistor", "value": "1M", "tolerance": "1%", "joins": ["grid", "chassis"]},
    {
        "ref": "V1",
        "kind": "triode",
        "type": "ECC83",
        "base": "B9A",
        "joins": {"anode": "anode", "grid": "grid", "cathode": "cathode"},
    },
]


@pytest.mark.lengthy
@given(st.floats(0.5, 1.6), st.floats(0.85, 1.15))
def test_a_triodes_curve_goes_through_the_measured_current(current, slope):
    tested = MeasuredPoint(250, -2, current * 1.2e-3, current**0.3 * slope * 1.6e-3)
    koren = koren_as_tested(find_koren("ECC83", {}), tested, "ECC83")
    amps, _, by_grid = triode_current(koren, 250, -2)
    assert amps == pytest.approx(tested.anode_amps, rel=1e-6)
    assert by_grid == pytest.approx(tested.transconductance, rel=0.02)


@pytest.mark.lengthy
@given(st.floats(0.6, 1.5))
def test_a_pentodes_screen_goes_with_its_anode(current):
    tested = MeasuredPoint(250, -7.3, current * 48e-3, None, 250)
    usual = find_koren("EL84", {})
    (anode, *_), (screen, *_) = pentode_current(koren_as_tested(usual, tested, "EL84"), 250, 250, -7.3)
    (_, *_), (usual_screen, *_) = pentode_current(usual, 250, 250, -7.3)
    (usual_anode, *_), _ = pentode_current(usual, 250, 250, -7.3)
    assert anode == pytest.approx(tested.anode_amps, rel=1e-6)
    assert screen / anode == pytest.approx(usual_screen / usual_anode, rel=1e-6)


@pytest.mark.parametrize(("type_", "tested"), [("ECC83", ECC83), ("EL84", EL84)])
def test_a_valve_as_its_sheet_has_it_keeps_its_types_curve(type_, tested):
    """The curve misses the sheet's transconductance by up to 7 %: that is no property of the valve."""
    usual = find_koren(type_, {})
    result = koren_as_tested(usual, tested, type_)
    assert result.mu == pytest.approx(usual.mu, rel=0.005) and result.kg1 == pytest.approx(usual.kg1, rel=0.005)


@pytest.mark.parametrize(
    ("type_", "tested", "code", "argument"),
    [
        ("ECC83", MeasuredPoint(250, -2, 12e-3, 1.6e-3), "tested-strange", "anode_amps"),  # a point slipped
        ("ECC83", MeasuredPoint(250, -2, 0.12e-3, 1.6e-3), "tested-strange", "anode_amps"),
        ("ECC83", MeasuredPoint(250, -2, 1.2e-3, 16e-3), "tested-strange", "transconductance"),
        ("ECC83", MeasuredPoint(250, -30, 1.2e-3, 1.6e-3), "tested-no-current", "grid_volts"),
        ("EL84", MeasuredPoint(250, -7.3, 48e-3, 11.3e-3), "tested-screen", "screen_volts"),
        ("ECC82", ECC83, "tested-strange", "anode_amps"),  # another type than it says
    ],
)
def test_figures_that_no_such_valve_shows_are_refused(type_, tested, code, argument):
    with pytest.raises(ChecksError) as caught:
        koren_as_tested(find_koren(type_, {}), tested, type_)
    assert (caught.value.code, caught.value.argument) == (code, argument)


@pytest.mark.parametrize("wrong", [{"anode_amps": 0.0}, {"anode_volts": -250}, {"accuracy": 0.0}, {"accuracy": 0.5}])
def test_a_point_that_is_none_is_refused(wrong):
    with pytest.raises(ChecksError):
        MeasuredPoint(**({"anode_volts": 250, "grid_volts": -2, "anode_amps": 1.2e-3} | wrong))


def _cathode_volts(tested: dict | None):
    rows = [row | ({"tested": {"": tested}} if tested and row["ref"] == "V1" else {}) for row in STAGE]
    parts = [part_from_mapping(row) for row in rows]
    return predict_scatter(parts, Condition(power="on"), [Probe("cathode", "chassis", "dc volts")], samples=1000)[0]


def test_a_tested_valves_figure_follows_it_and_its_band_is_narrower():
    usual = _cathode_volts(None)
    weak = _cathode_volts({"anode_volts": 250, "grid_volts": -2, "anode_amps": 0.9e-3, "transconductance": 1.4e-3})
    strong = _cathode_volts({"anode_volts": 250, "grid_volts": -2, "anode_amps": 1.5e-3, "transconductance": 1.8e-3})
    assert usual.nominal == pytest.approx(1.5e3 * 0.86e-3, rel=0.15)
    assert weak.nominal < usual.nominal < strong.nominal
    for result in (weak, strong):
        assert result.high - result.low < 0.6 * (usual.high - usual.low)
        assert result.low < result.nominal < result.high


def test_what_is_left_of_a_tested_valves_scatter_is_never_less_than_the_curves_miss():
    assert MeasuredPoint(250, -2, 1.2e-3, accuracy=0.005).tolerance.plus >= CURVES_MISS
