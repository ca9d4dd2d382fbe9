"""Drawn builds: the same number draws the same build, faults do what they say, builders stop where they should."""

import ast
from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from tests.trials import draw
from tests.trials.bench import Bench
from tests.trials.circuit import KITS, OPEN, circuit_of, load
from tests.trials.faults import all_faults, neighbour, unlisted
from tests.trials.meters import EXACT, TYPES, Meter, draw_meter
from tests.trials.scatter import batch_of, draw_mains, scatter, truncated
from tests.trials.taking import is_off, is_stop, take

KIT = "steady-line"


def one(number: int, choose=lambda _c: [], slip=False):
    return draw.draw_build(KIT, load(KIT), np.random.default_rng(number), 7, choose, slip)


def named(family: str, ref: str, text: str = ""):
    def choose(circuit):
        result = all_faults(circuit, np.random.default_rng(1))[family]
        return [next(f for f in result if ref in f.refs and text in f.detail)]

    return choose


@pytest.mark.lengthy
def test_the_same_number_draws_the_same_build_and_another_does_not():
    assert one(5) == one(5)
    assert one(5)["readings"] != one(6)["readings"]


@pytest.mark.lengthy
def test_a_healthy_build_comes_to_the_end():
    build = one(5)
    assert not build["off"] and not build["stop"]
    assert build["readings"][-1][0] == "sign-off/final-earth"


def test_a_reading_off_ends_the_build_with_its_stage():
    build = one(5, named("value", "R13", "ten times"))
    assert build["off"] == "pre-power/o-v1-8"
    assert build["truth"] == [["high", ["R13"], "ten times: 8.2e+03 ohm"]]
    assert build["readings"][-1][0].startswith("pre-power/")
    assert dict(build["readings"])["pre-power/o-v1-8"] == pytest.approx(8200, rel=0.05)


@pytest.mark.lengthy
def test_a_reading_past_its_stop_limit_ends_the_build_at_once():
    build = one(5, named("tap", "T1", "115"))
    assert build["stop"] and build["off"] == build["readings"][-1][0] == "first-power/p-heater"


@pytest.mark.lengthy
def test_probes_in_each_others_place_show_minus():
    build = one(5, slip=True)
    kind, refs, place = build["truth"][0]
    assert (kind, refs) == ("slip", []) and dict(build["readings"])[place] < 0 and build["off"] == place


@pytest.mark.lengthy
def test_what_breaks_down_under_voltage_measures_well_before():
    guide = load(KIT)
    circuit = circuit_of(guide)
    leak = named("short", "C12")(circuit)[0]
    log = take(Bench(guide, circuit, 230.0, [leak.change]), EXACT, 230, np.random.default_rng(1))
    assert log.off == "valves-in/v-l-out" and log.stop


def test_an_unknown_family_is_refused():
    with pytest.raises(KeyError):
        draw.of_family("sabotage", np.random.default_rng(1))(circuit_of(load(KIT)))


@pytest.mark.lengthy
@pytest.mark.parametrize("kit", KITS)
def test_every_fault_changes_the_circuit_and_names_parts_it_has(kit):
    circuit = circuit_of(load(kit))
    faults = all_faults(circuit, np.random.default_rng(3))
    assert set(faults) == set(draw.QUOTAS)
    for fault in (f for family in faults.values() for f in family):
        spoiled = circuit.copy()
        fault.change(spoiled)
        assert spoiled != circuit, fault
        assert set(fault.refs) <= set(circuit.parts)
    for _ in range(20):
        assert unlisted(circuit, np.random.default_rng(4)).kind == "unlisted"


def test_an_open_resistor_is_open_on_the_bench():
    guide = load(KIT)
    circuit = circuit_of(guide)
    before = Bench(guide, circuit.copy()).ohms(4, "l.out", "chassis")
    next(f for f in all_faults(circuit, np.random.default_rng(1))["open"] if f.refs == ("R17",)).change(circuit)
    assert circuit.parts["R17"].is_["ohms"] == OPEN
    assert before == pytest.approx(470e3, rel=0.01) and Bench(guide, circuit).ohms(4, "l.out", "chassis") > 1e8


def test_neighbours_are_preferred_values_and_never_the_value_itself():
    """IEC 60063, E12."""
    rng = np.random.default_rng(2)
    drawn = {round(neighbour(8200.0, rng)) for _ in range(100)}
    assert drawn <= {4700, 5600, 6800, 10000, 12000, 15000} and len(drawn) == 6


def test_scatter_stays_within_tolerance_and_shares_a_batch():
    guide = load(KIT)
    drawn = []
    for n in range(40):
        circuit = circuit_of(guide)
        scatter(circuit, np.random.default_rng(n), batch_of(KIT, "A", 1))
        drawn.append(circuit)
    nominal = circuit_of(guide)
    for ref in ("R1", "R12", "R26", "C1", "Z1"):
        name = next(k for k in ("ohms", "farads", "volts") if nominal.parts[ref].is_.get(k))
        ratios = [c.parts[ref].is_[name] / nominal.parts[ref].is_[name] for c in drawn]
        tolerance = float(nominal.parts[ref].row["tolerance"].strip("%")) / 100
        assert max(abs(r - 1) for r in ratios) <= tolerance + 1e-9
        assert np.std(ratios) > tolerance / 20
    assert all(0.7 <= s <= 1.3 for c in drawn for s in c.parts["V1"].is_["strength"])


@pytest.mark.lengthy
def test_sections_of_a_valve_are_alike_and_valves_are_not():
    guide, pairs, others = load(KIT), [], []
    for n in range(300):
        circuit = circuit_of(guide)
        scatter(circuit, np.random.default_rng(n), batch_of(KIT, "A", 1))
        pairs.append(circuit.parts["V1"].is_["strength"])
        others.append((circuit.parts["V1"].is_["strength"][0], circuit.parts["V2"].is_["strength"][0]))
    assert np.corrcoef(np.array(pairs).T)[0, 1] > 0.4
    assert abs(np.corrcoef(np.array(others).T)[0, 1]) < 0.25


def test_mains_and_truncated_draws_keep_their_limits():
    rng = np.random.default_rng(1)
    assert all(207 <= draw_mains(rng) <= 253 for _ in range(500))
    assert all(abs(truncated(rng, 0.0, 1.0)) <= 1 for _ in range(500))


# ---- meters
def test_a_meter_shows_no_more_digits_than_it_has():
    meter = Meter("basic", {"dc": 0.0, "ac": 0.0, "ohms": 0.0}, 0.4)
    rng = np.random.default_rng(1)
    assert {round(meter.shows(284.37, "dc", rng) % 1, 6) for _ in range(30)} == {0.0}
    assert meter.shows(1.2345, "dc", rng) == pytest.approx(1.234, abs=0.0021)
    assert meter.shows(-8.0, "dc", rng) < 0 <= meter.shows(-8.0, "ac", rng)


def test_over_range_is_no_figure():
    rng = np.random.default_rng(1)
    for name, spec in TYPES.items():
        assert Meter(name, {"dc": 0.0, "ac": 0.0, "ohms": 0.0}, 0.4).shows(spec[-1] * 1.05, "ohms", rng) is None
    assert draw_meter(rng).shows(float("inf"), "ohms", rng) is None


def test_a_band_is_wider_for_who_noted_no_mains_and_moves_with_it_for_who_did():
    guide = load(KIT)
    check = {"expected": "300 V", "band": "5%", "mains_exponent": 1.0, "measure": "dc volts"}
    assert is_off(guide, check, 325.0, 230, 10e6)
    assert not is_off(guide, check, 325.0, 245, 10e6)
    assert not is_off(guide, check, 325.0, None, 10e6)
    assert is_off(guide, check, None, None, 10e6)
    assert is_off(guide, check, 270.0, 230, 1e6) and not is_off(
        guide, check | {"source_resistance": "100k"}, 270.0, 230, 1e6
    )


def test_over_range_stops_where_there_is_a_limit_above():
    guide = load(KIT)
    assert is_stop(guide, {"stop_above": "400 V", "measure": "dc volts"}, None)
    assert not is_stop(guide, {"measure": "resistance"}, None)
    assert not is_stop(guide, {"stop_above": "400 V", "measure": "dc volts"}, 399.0)


# ---- what is kept
def test_the_kept_builds_are_enough_and_of_every_kind():
    builds = draw.read()
    assert len(builds) >= 400
    count = Counter((b["kit"], b["kind"]) for b in builds)
    for kit in KITS:
        assert (
            count[kit, "single"] >= 45
            and count[kit, "pair"] == count[kit, "unlisted"] == 15
            and count[kit, "healthy"] >= 20
        )
    off = [b for b in builds if b["off"]]
    assert all(b["off"] in dict(b["readings"]) for b in off)
    assert len([b for b in off if b["kind"] == "healthy"]) < 0.1 * sum(b["kind"] == "healthy" for b in builds)


@pytest.mark.lengthy
def test_the_kept_builds_can_be_drawn_again():
    """The first builds of the file, from its own number: a change of the generator must draw the file anew."""
    import json

    number = json.loads(draw.KEPT.read_text())["seed"]
    first = draw.draw_kit(KITS[0], number, Counter())
    for kept in draw.read()[:3]:
        made = next(first)
        assert made | {"readings": []} == kept | {"readings": []}
        for (place, shown), (kept_place, kept_shown) in zip(made["readings"], kept["readings"], strict=True):
            assert place == kept_place
            assert shown is None or shown == pytest.approx(kept_shown, rel=0.02, abs=0.02)


def test_nothing_that_draws_knows_what_it_tries():
    """Only the runner and the tests of the site's import may touch the project."""
    for path in Path(__file__).parent.glob("*.py"):
        if path.name in (
            "diagnosis.py",
            "findings.py",
            "bench_findings.py",
            "workrooms.py",
            "lots.py",
            "test_guides.py",
            "test_diagnosis.py",
            "test_findings.py",
            "reliability.py",
            "test_reliability.py",
        ):
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not [n for n in names if n.split(".")[0] in ("checks", "builds") or n.startswith("tests.checks")], (
                path
            )
