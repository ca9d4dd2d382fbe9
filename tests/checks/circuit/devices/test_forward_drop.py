"""LEDs and other diodes with a drop of their own: not silicon's 0.6 V."""

import pytest

from checks.circuit import Condition, predict, predict_scatter
from checks.errors import ChecksError
from tests.checks.circuit import kits
from tests.checks.circuit.kits import bench_supply, parts_of, resistor


def cathode(**diode):
    """A triode biased by a diode in its cathode, at some milliamperes."""
    return [
        *bench_supply(250),
        resistor("R9", "ht", "chassis", "100k"),
        resistor("R1", "ht", "a", "15k"),
        resistor("R2", "g", "chassis", "100k"),
        kits.triode("V1", "a", "g", "k", "6SN7"),
        kits.diode("D2", "k", "chassis") | diode,
    ]


def bias(**diode):
    return predict(parts_of(*cathode(**diode)), Condition(), [("k", "chassis", "dc volts")])[0].value


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("type_", "least", "most"),
    [("red LED", 1.65, 1.9), ("LED, 3 mm green", 1.95, 2.25), ("LED blue", 2.9, 3.3), ("infrared led", 1.05, 1.3)],
)
def test_an_led_in_a_cathode_has_its_colours_drop_and_not_silicons(type_, least, most):
    """Drops at 10 mA by colour as data sheets give them (common practice)."""
    assert least < bias(type=type_) < most
    assert bias() < 0.75


def test_an_led_without_a_colour_is_refused():
    with pytest.raises(ChecksError, match="D2.*LED") as caught:
        bias(type="LED, 5 mm")
    assert caught.value.code == "led-drop"


def test_a_guides_own_drop_holds_at_its_own_current():
    rows = [
        *bench_supply(10),
        resistor("R1", "ht", "x", "8k", "0.1%"),
        kits.diode("D2", "x", "chassis") | {"model": {"volts": 2.0, "amps": 0.001}},
    ]
    (reading,) = predict(parts_of(*rows), Condition(), [("x", "chassis", "dc volts")])
    assert reading.value == pytest.approx(2.0, abs=0.002)


@pytest.mark.lengthy
def test_good_leds_scatter_by_a_tenth():
    (spread,) = predict_scatter(
        parts_of(*cathode(type="red LED")), Condition(), [("k", "chassis", "dc volts")], samples=2000
    )
    assert 0.06 < spread.high / spread.nominal - 1 < 0.12
    assert spread.drivers[0].ref == "D2"


@pytest.mark.lengthy
def test_a_pair_of_leds_in_series_drops_twice():
    pair = [r for r in cathode() if r["ref"] != "D2"]
    pair += [kits.diode("D2", "k", "m") | {"type": "red LED"}, kits.diode("D3", "m", "chassis") | {"type": "red LED"}]
    (reading,) = predict(parts_of(*pair), Condition(), [("k", "chassis", "dc volts")])
    assert reading.value == pytest.approx(2 * bias(type="red LED"), abs=0.1)
