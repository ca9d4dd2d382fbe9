"""Valve models, supplies and stages against data sheets, Schade's curves and measured stages (source beside each
value)."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from checks.circuit import Condition, predict
from checks.circuit.fitting.residuals import acceptance_table, rectifier_table, residual_table
from checks.circuit.netlist.tolerances import SCREEN_MODEL
from checks.circuit.rectifiers.conduction import Law, child_current, compute_perveance, mean_current, steady_state
from checks.circuit.valves.koren import Koren, pentode_current, triode_current
from checks.circuit.valves.types import find_koren
from tests.checks.circuit import kits
from tests.checks.circuit.kits import bench_supply, parts_of, resistor
from tests.references.reader import named, row, rows

TRIODES = [r for r in rows("OP-") if "vg2" not in r["inputs"]]
PENTODES = [r for r in rows("OP-") if "vg2" in r["inputs"]]


def type_of(r) -> str:
    return r["id"].split("-")[1].split("_")[0]


def near(r, expected):
    return pytest.approx(expected, rel=r.get("rel_tol") or 1e-9, abs=r.get("abs_tol") or 1e-12)


def allowed(r) -> float:
    """5 % at a data sheet's main point, 20 % at its others."""
    return 0.05 if r["id"].endswith("-A") else 0.20


@pytest.mark.parametrize("r", TRIODES, ids=named)
def test_a_triode_passes_its_sheets_current(r):
    i, expected = r["inputs"], r["expected"]
    ia, _va, gm = triode_current(find_koren(type_of(r), {}), float(i["va"]), float(i["vg1"]))
    assert ia == pytest.approx(expected["ia_A"], rel=allowed(r))
    assert gm == pytest.approx(expected["gm_A_per_V"], rel=0.10)


@pytest.mark.parametrize("r", PENTODES, ids=named)
def test_a_pentode_passes_its_sheets_currents(r):
    i, expected = r["inputs"], r["expected"]
    (ia, *_), (screen, *_rest) = pentode_current(
        find_koren(type_of(r), {}), *(float(i[k]) for k in ("va", "vg2", "vg1"))
    )
    assert ia == pytest.approx(expected["ia_A"], rel=allowed(r))
    assert screen == pytest.approx(expected["ig2_A"], rel=0.15 if r["id"].endswith("-A") else 0.17)


@pytest.mark.parametrize("r", [r for r in rows("KOR-") if "vg2" not in r["inputs"]], ids=named)
def test_the_triode_equations_are_korens(r):
    """Published parameter sets, kg1 as printed there: the equation with his factor 2 halves nothing."""
    i, expected = r["inputs"], r["expected"]
    ia, by_va, gm = triode_current(Koren(**i["params"]), float(i["va"]), float(i["vg1"]))
    factor = expected["ia_mA"] / (1000 * ia)
    assert min(abs(factor - 1), abs(2 * factor - 1)) < 0.002  # sets are printed for both forms of the equation
    assert 1000 * gm * factor == pytest.approx(expected["gm_mA_per_V"], rel=0.01)
    assert 1 / by_va / factor == pytest.approx(expected["ra_ohm"], rel=0.01)


def test_every_goal_of_the_fit_is_met():
    """Anode current within 5 % at the main point and 20 % at the others; screen current within 15 % and 17 %."""
    for name, point, quantity, _published, _model, error in residual_table():
        limit = {"ia": 5 if point == "A" else 20, "ig2": 15 if point == "A" else 100 * SCREEN_MODEL}.get(quantity)
        assert limit is None or abs(error) <= limit, (name, point, quantity, error)


def test_models_stand_within_current_productions_limits_and_a_rectifier_gives_its_printed_output():
    """Electro-Harmonix acceptance limits; JJ Electronic 5Y3S, typical operation, as VALVES.md lists them."""
    for name, _at, low, high, amps, _off, _source, _sure in acceptance_table():
        assert low < amps < high, name
    (error,) = [row[4] for row in rectifier_table() if "DC output" in row[1]]
    assert abs(error) < 1


@pytest.mark.parametrize("r", rows("SCH-A"), ids=named)
def test_an_endless_reservoir_follows_schade(r):
    """tan θ - θ = π Rs/RL per half-wave: O. H. Schade, Proc. IRE 31:341 (1943), the limit of large ωCR."""
    i, expected = r["inputs"], r["expected"]
    phases = 2 if i["type"] == "full-wave" else 1
    rs, load = i["Rs_over_RL"] * 1000.0, 1000.0

    def excess(v):
        return phases * float(mean_current(np.float64(v), np.float64(1.0), np.float64(rs), Law(0.0))[0]) - v / load

    ratio = brentq(excess, 1e-6, 1.0)
    assert ratio == near(r, expected["Edc_over_Epeak"])


@pytest.mark.parametrize("r", rows("SCH-B"), ids=named)
def test_a_finite_reservoir_follows_its_steady_state(r):
    i, expected = r["inputs"], r["expected"]
    load, hertz = 1000.0, 50.0
    farads = i["omega_C_RL"] / (2 * math.pi * hertz * load)
    steady = steady_state(1.0, i["Rs_over_RL"] * load, farads, load, hertz, Law(0.0), 2)
    assert steady.mean == pytest.approx(expected["Edc_over_Epeak"], rel=1e-3)
    assert steady.ripple_pp == pytest.approx(expected["Vpp_over_Epeak"], rel=5e-3)


def test_a_rectifier_valves_supply_gives_its_sheets_volts():
    r = row("5Y3-CAP")
    i, expected = r["inputs"], r["expected"]
    steady = steady_state(
        i["V_rms"] * math.sqrt(2),
        i["Rt_ohm"],
        i["C_F"],
        expected["datasheet_V"] / i["I_A"],
        i["f_Hz"],
        Law(0.0, i["child_law_K"]),
        2,
    )
    assert steady.mean == pytest.approx(expected["datasheet_V"], rel=0.01)


@pytest.mark.parametrize("r", rows("DROP-"), ids=named)
def test_a_rectifier_valve_drops_by_childs_law(r):
    i, expected = r["inputs"], r["expected"]
    assert (i["I_A"] / i["K"]) ** (2 / 3) == near(r, expected["drop_V"])
    assert compute_perveance(expected["datasheet_V"], i["I_A"]) == pytest.approx(i["K"], rel=0.01)
    current, _slope = child_current(expected["drop_V"] + 100 * i["I_A"], 100.0, i["K"])
    assert float(current) == pytest.approx(i["I_A"], rel=1e-3)


@pytest.mark.parametrize("r", rows("PK-1", "PK-3", "PK-4"), ids=named)
def test_an_unloaded_supply_reaches_the_peak(r):
    volts = r["inputs"]["V_rms_per_half"]
    supply = [
        kits.transformer(("ht", f"{volts} V", "1R", ("a", "b"))),
        {"ref": "D1", "kind": "bridge", "joins": {"ac1": "a", "ac2": "b", "plus": "ht", "minus": "chassis"}},
        kits.capacitor("C1", "ht", "chassis"),
        resistor("R1", "ht", "chassis", "1000M"),
    ]
    value = predict(parts_of(*supply), Condition(), [("ht", "chassis", "dc volts")])[0].value
    assert value == pytest.approx(r["expected"] - 1.4, abs=0.02)  # two silicon drops of 0.7 V


def stage(ra, rk, supply, type_="ECC83", **own):
    return parts_of(
        *bench_supply(supply, ohms="1R"),
        resistor("R9", "ht", "chassis", "100k"),
        resistor("R1", "ht", "a", ra),
        resistor("R2", "k", "chassis", rk),
        resistor("R3", "g", "chassis", "1M"),
        kits.triode("V1", "a", "g", "k", type_, **own),
    )


def milliamps(parts, ra) -> float:
    ht, anode = (
        p.value for p in predict(parts, Condition(), [("ht", "chassis", "dc volts"), ("a", "chassis", "dc volts")])
    )
    return 1000 * (ht - anode) / ra


@pytest.mark.parametrize("r", rows("PHIL-"), ids=named)
def test_a_self_biased_stage_draws_what_was_measured(r):
    """Measured stage currents; other refits of the same valve differ from the measurement by as much."""
    i, expected = r["inputs"], r["expected"]
    result = milliamps(stage(f"{i['Ra']:.0f}", f"{i['Rk']}", i["Vb"]), i["Ra"])
    assert result == pytest.approx(expected["ia_mA_measured"], rel=0.08)


def test_a_textbook_stage_comes_out_as_solved_there():
    r = row("TXT-1")
    i, expected = r["inputs"], r["expected"]
    own = dict(i["params"], kg1=2 * i["params"]["kg1"])  # printed for the form without the factor 2
    trials = [milliamps(stage(f"{i['Rp']:.0f}", f"{i['Rk']}", i["Ebb"], model=m), i["Rp"]) for m in (i["params"], own)]
    assert min(abs(t - expected["ia_mA"]) for t in trials) < 0.02


@pytest.mark.parametrize("r", rows("GE-"), ids=named)
def test_resistance_coupled_stages_of_the_tables_have_a_working_point(r):
    """With the table's resistors the anode stands between a fifth and four fifths of the supply, and the gain the
    model's slopes give is within a quarter of the measured one at 300 V. At 90 V the stage starves (under 0.1 mA),
    where a real valve's amplification falls as the model's does not: there two fifths are allowed.
    """
    i, expected = r["inputs"], r["expected"]
    ra, rs = i["Rp_Mohm"] * 1e6, i["Rs_Mohm"] * 1e6
    parts = stage(f"{ra:.0f}", f"{expected['Rk_ohm']}", i["Ebb"])
    ht, anode, cathode = (
        p.value for p in predict(parts, Condition(), [(n, "chassis", "dc volts") for n in ("ht", "a", "k")])
    )
    assert 0.2 < anode / ht < 0.8
    _ia, by_va, gm = triode_current(find_koren("ECC83", {}), anode - cathode, -cathode)
    gain = gm / (by_va + 1 / ra + 1 / rs)
    assert gain == pytest.approx(expected["gain"], rel=0.25 if i["Ebb"] >= 300 else 0.40)


@pytest.mark.parametrize("r", rows("RK-"), ids=named)
def test_a_sheets_cathode_resistor_makes_the_sheets_bias(r):
    """Self-bias: the fitted valve on the sheet's resistor settles within a tenth of the sheet's current."""
    name, type_ = r["id"].rsplit("-", 1)[0].split("-", 1)[1], type_of(r)
    point = next(p for p in rows("OP-") if p["id"] == f"OP-{name}-{r['id'][-1]}")
    i, expected = point["inputs"], r["expected"]
    koren, vk = find_koren(type_, {}), expected["Vk_V"]

    def excess(volts):
        if "vg2" in i:
            (ia, *_), (ig2, *_rest) = pentode_current(koren, i["va"], i["vg2"], -volts)
            total = float(ia) + float(ig2)
        else:
            total = float(triode_current(koren, float(i["va"]), -volts)[0])
        return total - volts / expected["Rk_datasheet_ohm"]

    assert brentq(excess, 0.05, 60.0) == pytest.approx(vk, rel=0.10)
