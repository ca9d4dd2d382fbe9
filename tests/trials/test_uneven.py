"""The second bench against published points, worked examples and what the textbooks say of rectifiers."""

import math

import numpy as np
import pytest

from tests.trials import draw
from tests.trials.circuit import GUIDES, Circuit, Part, circuit_of, load
from tests.trials.figures import figure
from tests.trials.uneven import KEPT, KIT, UnevenBench
from tests.trials.uneven_laws import PENTODES, TRIODES, Law, meet_point
from tests.trials.uneven_solver import Solver


def part(ref, kind, ends, **values):
    return Part(ref, kind, ends if isinstance(ends, dict) else dict(zip("01", ends, strict=True)), values, {})


def law_of(type_):
    if type_ in TRIODES:
        va, vg, ia, gm, mu = TRIODES[type_]
        k, contact = meet_point(va, vg, ia, gm, mu)
        return Law(k, mu, contact, 0.0), np.array([va, vg]), ia, gm
    va, vs, vg, ia, i_s, gm, mu = PENTODES[type_]
    k, contact = meet_point(vs, vg, ia + i_s, gm * (ia + i_s) / ia, mu)
    return Law(k, mu, contact, 0.0, ia / (ia + i_s), True), np.array([va, vs, vg]), ia, gm


@pytest.mark.parametrize("type_", [*TRIODES, *PENTODES])
def test_a_law_meets_its_published_point(type_):
    """RCA 12AX7, 12AU7 and 6V6GT at 250 V: current and transconductance."""
    law, volts, ia, gm = law_of(type_)
    i, d = law(volts[None, :].astype(float))
    assert i[0, 0] == pytest.approx(ia, rel=0.01)
    assert d[0, 0, -1] == pytest.approx(gm, rel=0.01)


@pytest.mark.parametrize("type_", [*TRIODES, *PENTODES])
def test_slopes_are_those_of_the_currents(type_):
    law, volts, *_ = law_of(type_)
    for at in (volts.astype(float), volts * np.array([0.05] + [1.0] * (len(volts) - 1)), volts * 0.3):
        _i, d = law(at[None, :])
        for n in range(len(at)):
            step = np.eye(len(at))[n] * 1e-4
            slope = (law((at + step)[None, :])[0] - law((at - step)[None, :])[0])[0] / 2e-4
            assert d[0, :, n] == pytest.approx(slope, rel=1e-3, abs=1e-9)


def test_current_ends_slowly_where_an_even_grid_would_have_cut_it_off():
    """10 µA of an ECC82 flow at -25.5 V and 250 V, far beyond -250/17 V (a sheet's cut-off point, from memory)."""
    law, *_ = law_of("ECC82")
    at = np.array([[250.0, -17.5], [250.0, -21.0], [250.0, -40.0]])
    amps = law(at)[0][:, 0]
    assert amps[0] > 1e-4 and amps[1] > 1e-5 and amps[2] < 1e-7


def rectifier(load_ohms, farads, source=100.0, volts=230.0):
    coils = [{"name": n, "from": 0, "volts": volts, "ohms": r} for n, r in (("primary", 0.01), ("ht", source))]
    at = {"primary.0": "mains.inlet", "primary.1": "mains.neutral", "ht.0": "w", "ht.1": "chassis"}
    parts = [
        part("T1", "mains transformer", at, coils=coils),
        part("D1", "diode", {"anode": "w", "cathode": "raw"}, reversed=False, ohms=0.0, leak=1e10),
        Part(
            "C1",
            "electrolytic",
            {"0": "raw", "1": "chassis"},
            {"farads": farads, "leak": 1e9, "reversed": False},
            {"volts": "450 V"},
        ),
        part("R1", "resistor", ("raw", "chassis"), ohms=load_ohms),
    ]
    solver = Solver(Circuit({p.ref: p for p in parts}), {p.ref for p in parts}, line=230.0)
    return solver.steady() @ solver.row("raw", "chassis")


@pytest.mark.lengthy
@pytest.mark.parametrize("load_ohms", [2e3, 1e4])
def test_half_a_wave_into_a_large_reservoir_gives_what_the_conduction_angle_says(load_ohms):
    """tan θ - θ = π Rs/R, V = E cos θ - drop, for a reservoir without ripple (O. H. Schade, Proc. IRE 31, 1943)."""
    low, high = 0.0, 1.5
    for _ in range(60):
        angle = (low + high) / 2
        low, high = (angle, high) if math.tan(angle) - angle < math.pi * 100.6 / load_ohms else (low, angle)
    assert rectifier(load_ohms, 2e-3).mean() == pytest.approx(230 * math.sqrt(2) * math.cos(angle) - 0.8, rel=0.01)


@pytest.mark.lengthy
def test_a_reservoir_sags_by_what_its_load_draws_in_a_cycle():
    """Less than I/fC from peak to trough, and more than half of it: it is filled for a part of the cycle."""
    wave = rectifier(1e4, 47e-6, source=10.0)
    whole = wave.mean() / 1e4 / 50 / 47e-6
    assert 0.5 * whole < np.ptp(wave) < whole


def test_an_ohmmeter_finds_two_resistors_side_by_side_and_nothing_beside_a_gap():
    guide = load(KIT)
    bench = UnevenBench(guide, circuit_of(guide))
    cold = next(n for n, s in enumerate(guide["stage"]) if s["key"] == "cold")
    assert bench.ohms(cold, "l.one.cathode", "chassis") == pytest.approx(1500, rel=0.001)
    assert bench.ohms(cold, "l.hot", "chassis") == pytest.approx(0.4, rel=0.01)
    assert bench.ohms(cold, "in.nowhere", "chassis") == math.inf


@pytest.mark.slow
def test_figures_of_the_guide_are_those_of_its_prototype():
    guide = load(KIT)
    bench = UnevenBench(guide, circuit_of(guide))
    for n, stage in enumerate(guide["stage"]):
        for check in (c for c in stage.get("check", []) if "expected" in c):
            assert bench.value(n, check, 10e6) == pytest.approx(figure(check["expected"]), rel=0.01), check["key"]


def test_the_kit_and_its_builds_are_kept_together():
    builds = draw.read(KEPT)
    assert (GUIDES / f"{KIT}.toml").exists() and {b["kit"] for b in builds} == {KIT}
    assert sum(b["kind"] == "single" for b in builds) >= 40 and any(b["kind"] == "healthy" for b in builds)
