"""Windings with taps, written as pieces that share a node: held beside a simulation in time, and in closed form."""

import math

import pytest

from checks.circuit import Condition
from tests.checks.circuit.kits import capacitor, diode, resistor
from tests.checks.circuit.rectifiers.test_supplies import read, transformer
from tests.checks.circuit.timed import Timed

MAIN = [diode("D1", "a", "p"), capacitor("C1", "p", "chassis", "220u"), resistor("R1", "p", "chassis", "5k")]
TAPPED = transformer(
    ("upper", "50 V", "20R", ("a", "tap")), ("lower", "200 V", "80R", ("tap", "chassis")), primary="0.01R"
)
WHOLE = transformer(("ht", "250 V", "100R", ("a", "chassis")), primary="0.01R")
ROOT = 1.08 * math.sqrt(2)  # 8 % of regulation
PIECES = [("a", "t", 50 * ROOT, 20.0, 0.0), ("t", "0", 200 * ROOT, 80.0, 0.0)]
LOADS = [("p", "0", 5e3), ("q", "0", 5e3)]


def test_a_tap_that_nothing_takes_from_changes_nothing():
    assert read([TAPPED, *MAIN], "p").value == pytest.approx(read([WHOLE, *MAIN], "p").value, rel=1e-9)


@pytest.mark.lengthy
def test_what_is_taken_from_a_tap_weighs_on_the_end_above_it():
    """Both pulses pass the lower piece at the same time."""
    taken = [diode("D2", "tap", "q"), capacitor("C2", "q", "chassis", "220u"), resistor("R2", "q", "chassis", "5k")]
    timed = Timed(
        LOADS, [("p", "0", 220e-6), ("q", "0", 220e-6)], (), PIECES, [("a", "p", None), ("t", "q", None)]
    ).means(p=310.0, q=240.0)
    upper, lower = read([TAPPED, *MAIN, *taken], "p", "q")
    assert upper.value == pytest.approx(timed["p"], rel=6e-3)
    assert lower.value == pytest.approx(timed["q"], rel=6e-3)
    assert upper.value < read([TAPPED, *MAIN], "p").value


@pytest.mark.lengthy
def test_a_bias_supply_hangs_on_a_tap():
    """A diode the other way round takes the other half of every cycle."""
    taken = [diode("D2", "n", "tap"), capacitor("C2", "chassis", "n", "220u"), resistor("R2", "n", "chassis", "47k")]
    timed = Timed(
        [("p", "0", 5e3), ("n", "0", 47e3)],
        [("p", "0", 220e-6), ("0", "n", 220e-6)],
        (),
        PIECES,
        [("a", "p", None), ("n", "t", None)],
    ).means(p=310.0, n=-300.0)
    supply, bias = read([TAPPED, *MAIN, *taken], "p", "n")
    assert supply.value == pytest.approx(timed["p"], rel=6e-3)
    assert bias.value == pytest.approx(timed["n"], rel=6e-3)


@pytest.mark.lengthy
def test_two_taps_stand_on_each_other():
    three = transformer(
        ("x", "50 V", "20R", ("a", "u")),
        ("y", "100 V", "40R", ("u", "t")),
        ("z", "100 V", "40R", ("t", "chassis")),
        primary="0.01R",
    )
    small = [
        row
        for n, node in enumerate("ut", 2)
        for row in (
            diode(f"D{n}", node, f"q{n}"),
            capacitor(f"C{n}", f"q{n}", "chassis"),
            resistor(f"R{n}", f"q{n}", "chassis", "1M"),
        )
    ]
    top, middle, low = read([three, *MAIN, *small], "p", "q2", "q3")
    assert low.value == pytest.approx(middle.value / 2, rel=0.02)  # hardly loaded: in the ratio of the turns
    assert top.value > middle.value > low.value > 100


def test_a_tapped_winding_is_measured_piece_by_piece_with_the_power_off():
    rows = [TAPPED, *MAIN]
    assert read(rows, "a", condition=Condition("off"), measure="resistance").value == pytest.approx(100.0, rel=0.01)
    assert read(rows, "tap", condition=Condition("off"), measure="resistance").value == pytest.approx(80.0, rel=0.01)
