"""Currents, dissipations, heaters and limits against valve data sheets (sources and sureness beside each value)."""

import pytest

from builds.ui.messages.derived import RATING_SYSTEMS
from checks.circuit.valves.types import find_heater, find_limits
from checks.derived import HEATER_SPREAD, Estimate, current_through, heater_current, propagate
from tests.references.reader import named, row, rows

KEYS = {
    "Va": "anode_volts",
    "Pa_W": "anode_watts",
    "Vg2": "screen_volts",
    "Pg2_W": "screen_watts",
    "Ik_mA": "cathode_milliamps",
}
FIRST = (
    "LIM-ECC83_12AX7-1",
    "LIM-ECC81_12AT7-1",
    "LIM-EL84_6BQ5-1",
    "LIM-EL34_6CA7-1",
    "LIM-6L6GC-1",
    "LIM-2A3-1",
    "LIM-300B-1",
)


def type_of(r) -> str:
    return r["inputs"]["type"].split("_")[0]


def near(r, expected):
    return pytest.approx(expected, rel=r.get("rel_tol") or 1e-9)


@pytest.mark.parametrize("r", rows("PA-"), ids=named)
def test_anode_dissipation_is_volts_times_amps(r):
    i = r["inputs"]
    assert propagate(lambda v, a: v * a, Estimate(i["Va"]), Estimate(i["Ia_A"])).value == near(r, r["expected"])


@pytest.mark.parametrize("r", rows("RK-"), ids=named)
def test_a_cathode_resistors_drop_gives_the_data_sheets_current(r):
    """The sheet's cathode resistor at the sheet's bias carries the sheet's anode and screen current."""
    i, expected = r["inputs"], r["expected"]
    amps = current_through(Estimate(-i["Vg1"]), expected["Rk_datasheet_ohm"], 0.0).value
    assert amps == pytest.approx(i["ia_A"] + i["ig2_A"], rel=0.03)


@pytest.mark.parametrize("r", rows("HTR-"), ids=named)
def test_heaters_draw_their_rated_current_at_their_rated_volts(r):
    heater = find_heater(type_of(r))
    assert [heater.volts, heater.amps] == list(r["expected"].values())
    assert heater_current(Estimate(heater.volts), heater.volts, heater.amps).value == near(r, r["expected"]["A"])


@pytest.mark.parametrize("r", [row(name) for name in FIRST], ids=named)
def test_limits_are_the_sheets(r):
    limits = find_limits(type_of(r), {})
    assert {k: limits[KEYS[k]] for k in r["expected"] if k in KEYS} == {
        k: v for k, v in r["expected"].items() if k in KEYS
    }
    assert limits["system"] in RATING_SYSTEMS


@pytest.mark.parametrize("r", rows("SPR-02", "SPR-05", "SPR-08"), ids=named)
def test_heater_scatter_allowed_for_is_about_that_of_the_sheets(r):
    assert pytest.approx(r["expected"]["half_range_pct"], abs=2.1) == 100 * HEATER_SPREAD


@pytest.mark.parametrize("r", rows("RATE-1", "RATE-2"), ids=named)
def test_each_rating_system_says_where_it_is_judged(r):
    word = {"design centre": "guide’s own mains", "design maximum": "your mains voltage"}[r["inputs"]["system"]]
    assert word in RATING_SYSTEMS[r["inputs"]["system"]]()
