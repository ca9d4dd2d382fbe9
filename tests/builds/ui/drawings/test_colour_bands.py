"""The colour bands drawn of a guide's resistors: the colour code of IEC 60062 by a table written out by hand."""

from types import SimpleNamespace

import pytest

from builds.ui.drawings.resistor import list_colours
from checks.codes import COLOURS, decode_colours
from checks.quantity import parse_quantity


def bands(value, tolerance="5%", kind="resistor"):
    return " ".join(list_colours(SimpleNamespace(kind=kind, value=value, tolerance=tolerance)))


@pytest.mark.parametrize(("value", "colours"), [
    ("R10", "brown black silver"), ("R47", "yellow violet silver"), ("1R0", "brown black gold"),
    ("2R2", "red red gold"), ("4R7", "yellow violet gold"), ("8R2", "grey red gold"), ("10R", "brown black black"),
    ("15", "brown green black"), ("22R", "red red black"), ("33R", "orange orange black"), ("39", "orange white black"),
    ("47", "yellow violet black"), ("56", "green blue black"), ("68R", "blue grey black"), ("75", "violet green black"),
    ("82", "grey red black"), ("91", "white brown black"), ("100R", "brown black brown"), ("130", "brown orange brown"),
    ("220R", "red red brown"), ("270", "red violet brown"), ("470", "yellow violet brown"),
    ("510", "green brown brown"),
    ("680", "blue grey brown"), ("820", "grey red brown"), ("1k", "brown black red"), ("1k2", "brown red red"),
    ("1k5", "brown green red"), ("1k8", "brown grey red"), ("2k7", "red violet red"), ("3k9", "orange white red"),
    ("4k7", "yellow violet red"), ("5k6", "green blue red"), ("10k", "brown black orange"), ("22k", "red red orange"),
    ("33k", "orange orange orange"), ("47k", "yellow violet orange"), ("68k", "blue grey orange"),
    ("82k", "grey red orange"), ("100k", "brown black yellow"), ("150k", "brown green yellow"),
    ("220k", "red red yellow"), ("270k", "red violet yellow"), ("330k", "orange orange yellow"),
    ("470k", "yellow violet yellow"), ("560k", "green blue yellow"), ("1M", "brown black green"),
    ("2M2", "red red green"), ("4M7", "yellow violet green"), ("10M", "brown black blue"), ("22M", "red red blue"),
])  # fmt: skip
def test_a_resistor_of_five_per_cent_has_two_figures_a_multiplier_and_gold(value, colours):
    assert bands(value) == f"{colours} gold"
    assert bands(value, "10%") == f"{colours} silver"
    assert bands(value, "J") == f"{colours} gold"  # the letter of IEC 60062


@pytest.mark.parametrize(("value", "colours"), [
    ("1R", "brown black black silver"), ("10R", "brown black black gold"), ("49.9", "yellow white white gold"),
    ("100R", "brown black black black"), ("332", "orange orange red black"), ("475", "yellow violet green black"),
    ("1k", "brown black black brown"), ("1k5", "brown green black brown"), ("4k99", "yellow white white brown"),
    ("4k7", "yellow violet black brown"), ("6k81", "blue grey brown brown"), ("10k", "brown black black red"),
    ("22k1", "red red brown red"), ("47k", "yellow violet black red"), ("68k1", "blue grey brown red"),
    ("82k5", "grey red green red"), ("100k", "brown black black orange"), ("220k", "red red black orange"),
    ("475k", "yellow violet green orange"), ("1M", "brown black black yellow"), ("2M21", "red red brown yellow"),
    ("10M", "brown black black green"),
])  # fmt: skip
def test_a_resistor_of_one_per_cent_has_three_figures_and_brown(value, colours):
    assert bands(value, "1%") == f"{colours} brown"
    assert bands(value, "2 %") == f"{colours} red"


@pytest.mark.parametrize(("tolerance", "colour"), [("2%", "red"), ("1%", "brown"), ("0.5%", "green"), ("0.25%", "blue"),
                                                   ("0.1%", "violet"), ("F", "brown"), ("G", "red"), ("D", "green"),
                                                   ("C", "blue"), ("B", "violet")])  # fmt: skip
def test_a_close_tolerance_has_its_own_colour(tolerance, colour):
    assert bands("10k", tolerance) == f"brown black black red {colour}"


@pytest.mark.parametrize(("value", "tolerance"), [
    ("4k99", "5%"),  # three figures, on two bands
    ("10k", "3%"),  # no colour
    ("10k", "20%"),
    ("10k", ""),
    ("1234", "1%"),
    ("0", "5%"),
    ("-10k", "5%"),
    ("", "5%"),
    ("to suit", "5%"),
    ("10k", "tight"),
    ("100n", "5%"),
    ("R001", "5%"),  # 1 mΩ lies below silver
    ("1T", "5%"),
])  # fmt: skip
def test_a_value_that_no_colours_say_has_none_drawn_rather_than_wrong_ones(value, tolerance):
    assert bands(value, tolerance) == ""


@pytest.mark.parametrize("kind", ["capacitor", "potentiometer", "inductor", "diode", "thermistor"])
def test_only_resistors_are_drawn_with_bands(kind):
    assert bands("10k", kind=kind) == ""


@pytest.mark.parametrize("tolerance", ["1%", "2%", "5%", "10%"])
def test_every_value_of_the_e12_series_reads_back_from_its_colours(tolerance):
    for power in range(-1, 7):
        for figure in (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82):
            value = f"{figure * 10.0**power:.10g}"
            drawn = bands(value, tolerance).split()
            assert len(drawn) == (5 if tolerance in ("1%", "2%") else 4)
            read = decode_colours(drawn)
            assert read.ohms == pytest.approx(parse_quantity(value, "Ω").value, rel=1e-9)
            assert f"{read.tolerance:g}%" == tolerance


def test_the_ten_figures_are_in_the_order_of_the_spectrum_between_black_brown_and_grey_white():
    assert COLOURS == ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
