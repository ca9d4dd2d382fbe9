"""Meters, verdicts, mains and safety against JCGM 100 and 106, IEC 62368-1, IEC 60038, ANSI C84.1 and circuit
theory."""

import math

import pytest

from checks.band import Band
from checks.circuit import part_from_mapping
from checks.derived import Estimate, current_through
from checks.discharge import discharge
from checks.mains import LOWEST, SUPPLIES, find_supply, line_for
from checks.meter import Accuracy, MeterSpec, half_width, measure, standard_uncertainty
from checks.quantity import Quantity
from checks.safety import (
    ES2_AC_RMS,
    ES2_DC,
    TOUCH_AC_RMS,
    TOUCH_DC,
    energy_class,
    stored_energy,
)
from checks.verdict import IN_AT, conformance
from tests.references.reader import named, row, rows

INF = math.inf
RANGES = (10, 50, 300, 1000)


def near(r, expected):
    return pytest.approx(expected, rel=r.get("rel_tol", 1e-9), abs=r.get("abs_tol", 0) or 1e-12)


def test_rectangular_distribution():
    r = row("G-RECT")
    assert standard_uncertainty(r["inputs"]["a"]) == near(r, r["expected"])


def test_display_resolution():
    r = row("G-RES")
    spec = MeterSpec("digital", Accuracy(0), Accuracy(0), Accuracy(0), input_ohms=1e7)
    measurement = measure(Quantity(10.0, "V", r["inputs"]["delta"]), "dc volts", spec)
    assert measurement.u == near(r, r["expected"])


@pytest.mark.parametrize("r", [r for r in rows("DMM-") if "reading" in r["inputs"]], ids=named)
def test_accuracy_statements(r):
    i = r["inputs"]
    half = half_width(i["reading"], Accuracy(i["pct_of_reading"], i["counts"]), i["resolution"])
    assert half == near(r, r["expected"]["half_width_a"])
    assert standard_uncertainty(half) == near(r, r["expected"]["u"])


@pytest.mark.parametrize("r", rows("LOADT-"), ids=named)
def test_loading_of_a_thevenin_source_is_corrected(r):
    """What the meter shows, corrected, must give back the source's own voltage."""
    i = r["inputs"]
    spec = MeterSpec("digital", Accuracy(0.5), Accuracy(1), Accuracy(1), input_ohms=i["R_in_ohm"])
    shown = r["expected"]["reading_V"]
    assert shown == near(r, i["V_th"] * i["R_in_ohm"] / (i["R_in_ohm"] + i["R_th_ohm"]))
    measurement = measure(Quantity(shown, "V", 0.1), "dc volts", spec, source_ohms=i["R_th_ohm"])
    assert measurement.value == near(r, i["V_th"])


@pytest.mark.parametrize("r", rows("LOAD-1", "LOAD-2", "LOAD-3", "LOAD-5"), ids=named)
def test_loading_of_a_divider_is_corrected(r):
    i = r["inputs"]
    spec = MeterSpec("digital", Accuracy(0.5), Accuracy(1), Accuracy(1), input_ohms=i["meter_ohm"])
    thevenin = i["R1_ohm"] * i["R2_ohm"] / (i["R1_ohm"] + i["R2_ohm"])
    measurement = measure(Quantity(r["expected"]["reading_V"], "V", 0.01), "dc volts", spec, source_ohms=thevenin)
    assert measurement.value == near(r, r["expected"]["true_V"])


def test_loading_correction_formula():
    r = row("LOAD-CORR")
    spec = MeterSpec(
        "analogue", Accuracy(3, 0, True), Accuracy(4, 0, True), Accuracy(5), ohms_per_volt=20e3, ranges=(300,)
    )
    measurement = measure(
        Quantity(r["inputs"]["V_read"], "V", 1.0), "dc volts", spec, source_ohms=r["inputs"]["R_th_ohm"]
    )
    assert measurement.value == near(r, r["expected"])


def test_ohms_per_volt():
    r = row("OHMPV")
    spec = MeterSpec(
        "analogue",
        Accuracy(3, 0, True),
        Accuracy(4, 0, True),
        Accuracy(5),
        ohms_per_volt=r["inputs"]["ohm_per_V"],
        ranges=tuple(r["inputs"]["range_V"]),
    )
    assert [spec.resistance_on(v) for v in r["inputs"]["range_V"]] == near(r, r["expected"])


def test_conformance_one_sided():
    r = row("J-UP")
    i = r["inputs"]
    assert float(conformance(i["y"], i["u"], -INF, i["T_U"])) == near(r, r["expected"])


@pytest.mark.parametrize("r", rows("J-2S", "J-BAND"), ids=named)
def test_conformance_two_sided(r):
    i, expected = r["inputs"], r["expected"]
    p = float(conformance(i["y"], i["u"], i["T_L"], i["T_U"]))
    assert p == near(r, expected["pc"] if isinstance(expected, dict) else expected)


@pytest.mark.parametrize("r", rows("J-GB-"), ids=named)
def test_risk_at_the_acceptance_limit(r):
    """At the limit drawn in by r·U the chance of being outside is what the guard band promises."""
    u, limit = 1.0, 0.0
    risk = 1 - float(conformance(limit - r["inputs"]["r"] * 2 * u, u, -INF, limit))
    assert risk == near(r, r["expected"])


def test_mains_normalisation():
    r = row("J-NORM")
    i = r["inputs"]
    line = line_for(i["mains_nominal_V"], measured_volts=i["mains_V"], nominal_volts=i["mains_nominal_V"])
    assert i["V_read"] / line.factor == near(r, r["expected"])


@pytest.mark.parametrize("r", rows("MSCALE-"), ids=named)
def test_a_secondary_follows_the_mains(r):
    i = r["inputs"]
    line = line_for(i["winding_for_V"], measured_volts=i["mains_V"], nominal_volts=230)
    v = i["secondary_nominal_V"]
    assert Band(v, v, v).scaled(line.factor, 1).expected == near(r, r["expected"])


@pytest.mark.parametrize(
    ("name", "nominal", "key"), [("C84-A", 120, None), ("IEC38", 230, None), ("JP100", 100, "100V")]
)
def test_supply_ranges(name, nominal, key):
    expected = row(name)["expected"]
    supply = SUPPLIES[nominal]
    assert [supply.low, supply.high] == (expected[key] if key else expected)


@pytest.mark.parametrize("r", rows("MAINS-"), ids=named)
def test_a_line_reading_against_its_supplys_range(r):
    nominal = 120 if "120" in r["inputs"]["system"] else 230
    supply = find_supply(nominal)
    assert (supply.low <= r["inputs"]["V"] <= supply.high) is r["expected"]


def discharged(ohms, farads, start, end):
    """Of one capacitor and its bleeder, without tolerances."""
    parts = [
        {"ref": "C1", "kind": "capacitor", "value": f"{farads:.15g} F", "volts": "600 V"},
        {"ref": "R1", "kind": "resistor", "value": f"{ohms:.15g} ohm"},
    ]
    ends = {"joins": ["ht", "chassis"], "tolerance": "0%"}
    return discharge([part_from_mapping(row | ends) for row in parts], start, end)


@pytest.mark.parametrize("r", rows("DIS-1", "DIS-2", "DIS-4"), ids=named)
def test_discharge_time_and_energy(r):
    i = r["inputs"]
    found = discharged(i["R_ohm"], i["C_F"], i["V0"], i["V_end"])
    assert found.seconds == near(r, r["expected"]["t_s"])
    assert found.joules == stored_energy(i["C_F"], i["V0"]) == near(r, r["expected"]["energy_J"])


def test_the_largest_bleeder_takes_the_time_it_was_made_for():
    r = row("DIS-MAXR")
    i = r["inputs"]
    found = discharged(r["expected"]["R_ohm"], i["C_F"], i["V0"], i["V_end"])
    assert found.seconds == near(r, i["t_s"])


@pytest.mark.parametrize("r", rows("ES-1", "ES-2", "ES-5", "ES-7", "ES-8"), ids=named)
def test_energy_classes(r):
    i = r["inputs"]
    assert energy_class(dc_volts=i.get("dc_V", 0), ac_volts_rms=i.get("ac_V_rms", 0)) == r["expected"]


@pytest.mark.parametrize("r", rows("HTOL-"), ids=named)
def test_heater_bands(r):
    from checks.band import parse_band

    i = r["inputs"]
    band = parse_band(unit="V", expected=f"{i['V']} V", band=f"{i['tol_pct']}%")
    assert [band.low, band.high] == near(r, r["expected"])


def test_what_a_good_meter_may_show():
    r = row("DMM-FOR")
    i = r["inputs"]
    half = half_width(i["true_V"], Accuracy(i["pct"], i["counts"]), i["resolution"])
    assert [i["true_V"] - half, i["true_V"] + half] == near(r, r["expected"])


def test_the_default_guard_band():
    """ISO 14253-1: 95 % probability of conformance is reached so far inside the limit."""
    r = row("J-14253")
    reach = r["expected"]["guard_factor_times_u"]
    assert float(conformance(-reach, r["inputs"]["u"], -INF, 0.0)) == pytest.approx(IN_AT, rel=1e-4)


def test_energy_source_limits():
    expected = row("ES-LIM")["expected"]
    assert list(expected["ES1"].values())[:2] == [TOUCH_DC, TOUCH_AC_RMS]
    assert [expected["ES2"]["dc_V"], expected["ES2"]["ac_rms_V"]] == [ES2_DC, ES2_AC_RMS]
    assert math.sqrt(2) * TOUCH_AC_RMS == near(row("ES-PK"), row("ES-PK")["expected"][0])


def test_what_en_50160_allows_a_230_volt_supply():
    expected = row("EN50160")["expected"]
    assert [SUPPLIES[230].low, SUPPLIES[230].high] == expected["95pct"]
    assert pytest.approx(expected["all"][0]) == 230 * LOWEST


def test_a_mains_plug_is_safe_below_the_same_touch_limit():
    assert row("PLUG2S")["expected"]["limit_V"] == TOUCH_DC


@pytest.mark.parametrize("r", rows("LAMP-"), ids=named)
def test_current_through_a_lamp_across_the_mains(r):
    i = r["inputs"]
    assert current_through(Estimate(float(i["V"])), r["expected"]["R_hot_ohm"], 0.0).value == near(
        r, r["expected"]["I_max_A"]
    )
