"""Preferred values and part codes against IEC 60063 and IEC 60062 (sources and sureness beside each value)."""

import pytest

from builds.guides.parts_import.values import read_cell
from checks import codes
from checks.errors import ChecksError
from checks.quantity import parse_quantity
from tests.references.reader import named, row, rows


def close(found, given):
    return found == pytest.approx(given, rel=1e-9)


@pytest.mark.parametrize("name", ["E3", "E6", "E12", "E24", "E48", "E96", "E192"])
def test_a_series_is_the_standards_table(name):
    """IEC 60063:2015; the tables are in the reference file where it has them, the rule of its clause otherwise."""
    given = [r for r in rows("E") if r["id"] == name]
    if given:
        assert [round(100 * v) for v in codes.series(name)] == given[0]["expected"]
    n = int(name[1:])
    assert len(codes.series(name)) == n and codes.series(name)[0] == 1.0


@pytest.mark.parametrize("r", rows("ENEAR"), ids=named)
def test_the_nearest_preferred_value(r):
    assert close(codes.nearest(r["inputs"]["value_ohm"], r["inputs"]["series"]), r["expected"])


@pytest.mark.parametrize("r", rows("EMEM"), ids=named)
def test_membership_of_a_series(r):
    value = r["inputs"]["value_ohm"]
    assert close(codes.nearest(value, r["inputs"]["series"]), value) is r["expected"]


@pytest.mark.parametrize("r", [r for r in rows("CC-") if "bands" in r["inputs"] and r["id"] != "CC-REV"], ids=named)
def test_colour_bands_read(r):
    result, expected = codes.decode_colours(r["inputs"]["bands"]), r["expected"]
    assert close(result.ohms, expected["ohm"])
    assert close(result.tolerance, expected["tol_pct"])
    assert close(result.ohms * (1 - result.tolerance / 100), expected["min_ohm"])
    assert close(result.ohms * (1 + result.tolerance / 100), expected["max_ohm"])
    if "tcr_ppm_per_K" in expected:
        assert result.tcr == expected["tcr_ppm_per_K"]


def test_the_colour_table():
    table = row("CC-TAB")["expected"]
    assert {c: n for n, c in enumerate(codes.COLOURS)} == table["digit"]
    assert table["multiplier_exponent"].items() <= codes.MULTIPLIERS.items()


def test_a_part_read_from_the_wrong_end_is_among_the_misreadings():
    r = row("CC-REV")
    bands = r["inputs"]["bands"]
    assert close(codes.decode_colours(bands).ohms, r["expected"]["forward_ohm"])
    assert any(close(m.ohms, r["expected"]["backward_ohm"]) for m in codes.misreadings(bands))


def test_the_tolerance_letters():
    assert row("LT-TAB")["expected"] == codes.TOLERANCE_LETTERS


@pytest.mark.parametrize("r", rows("RC-"), ids=named)
def test_a_parts_list_reads_resistor_letter_codes(r):
    figures = read_cell(r["inputs"]["code"], "resistor").figures
    assert close(parse_quantity(figures["value"], "Ω").number, r["expected"]["ohm"])
    if "tol_pct" in r["expected"]:
        assert figures["tolerance"] == f"{r['expected']['tol_pct']:g}%"


@pytest.mark.parametrize("r", [r for r in rows("CPC-") if "tol_pct" not in r["expected"]], ids=named)
def test_capacitor_letter_codes(r):
    """The standard writes 330 pF as 330p and as n33: the former is ours."""
    written = {"n33": "330p", "u33": "330n"}
    code = r["inputs"]["code"]
    assert codes.capacitor_letter_code(r["expected"]["farad"]) == written.get(code, code)


@pytest.mark.parametrize("r", rows("CPC-"), ids=named)
def test_a_parts_list_reads_capacitor_letter_codes(r):
    """But millifarads are asked about: in lists of the 1950s they are microfarads."""
    if "m" in r["inputs"]["code"]:
        with pytest.raises(ChecksError, match="milli"):
            read_cell(r["inputs"]["code"], "capacitor")
        return
    figures = read_cell(r["inputs"]["code"], "capacitor").figures
    assert close(parse_quantity(figures["value"], "F").number, r["expected"]["farad"])
    if "tol_pct" in r["expected"]:
        assert figures["tolerance"] == f"{r['expected']['tol_pct']:g}%"


@pytest.mark.parametrize("r", rows("CN-"), ids=named)
def test_three_digit_capacitor_markings(r):
    assert codes.three_digit_code(r["expected"]) == r["inputs"]["code"]


def test_what_the_generating_rule_gets_wrong_in_e24_is_as_the_table_has_it():
    r = row("E24-EXC")
    assert set(r["expected"]) <= set(codes.series("E24"))
    assert not set(r["inputs"]["formula_values"]) & set(codes.series("E24"))


@pytest.mark.parametrize("r", [r for r in rows("CC-") if "bands" in r["inputs"] and r["id"] != "CC-REV"], ids=named)
def test_colour_bands_written(r):
    """The other way: the standard's value in its number of bands gives back the same colours."""
    bands, expected = r["inputs"]["bands"], r["expected"]
    assert (
        list(codes.colour_bands(expected["ohm"], expected["tol_pct"], len(bands), expected.get("tcr_ppm_per_K")))
        == bands
    )
