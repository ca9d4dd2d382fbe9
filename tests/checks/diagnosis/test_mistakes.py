"""One mistake in many readings, readings that fit nothing, and faults that come in all sizes."""

import numpy as np
import pytest

from checks.diagnosis import Observation, fault_list, next_reading, rank
from checks.diagnosis.common_mistakes import COMMON, Mistake, MistakeKind
from checks.diagnosis.fault import Move
from checks.diagnosis.ranking import least_over_range
from checks.diagnosis.slips import SlipKind
from checks.errors import ChecksError
from tests.checks.diagnosis.test_faults import PARTS, prepared  # noqa: F401 (a fixture)
from tests.checks.diagnosis.trials import Kit


@pytest.fixture(scope="module")
def kit():
    return Kit(1)


def readings(kit, change, of=lambda place: True):
    """What a healthy kit reads at every check, changed where `of` says so."""
    results = []
    for place, nominal in zip(kit.prepared.places, kit.prepared.nominal, strict=True):
        if place.check:
            value = change(float(nominal)) if of(place) else float(nominal)
            results.append(Observation(place.name, value, 0.005 * abs(value) + 0.01))
    return results


def volts(place):
    return place.probe.measure == "dc volts" and place.stage == "valves-in"


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("factor", "kind"),
    [
        (-1.0, MistakeKind.LEADS_SWAPPED),
        (1e-3, MistakeKind.NOTED_TOO_SMALL),
        (1e3, MistakeKind.NOTED_TOO_LARGE),
    ],
)
def test_one_mistake_in_many_readings_is_named_and_condemns_nothing(kit, factor, kind):
    ranking = rank(kit.prepared, readings(kit, lambda v: v * factor, volts))
    assert ranking.mistake.kind is kind
    assert ranking.clear > 0.9
    assert ranking.groups[0].probability < 0.05


@pytest.mark.lengthy
@pytest.mark.parametrize("change", [lambda v: 1e12, lambda v: 3 * v + 50, lambda v: -5 * v])
def test_readings_that_fit_nothing_are_something_else(kit, change):
    """However far off they are: no fault wins because it is a little less wrong than the others."""
    ranking = rank(kit.prepared, readings(kit, change))
    assert ranking.other > 0.9


@pytest.mark.lengthy
def test_healthy_readings_are_no_mistake(kit):
    assert rank(kit.prepared, readings(kit, lambda v: v)).mistake is None


@pytest.mark.lengthy
def test_one_reading_of_the_wrong_sign_is_a_slip_with_the_leads_swapped(kit):
    ranking = rank(kit.prepared, readings(kit, lambda v: -v, lambda place: place.name == "valves-in/v-v2-3"))
    assert ranking.slips[0].kind is SlipKind.LEADS_SWAPPED
    assert ranking.clear > 0.85 and ranking.other < 0.15  # one odd reading may also be an unknown fault


def test_over_range_says_nothing_where_many_meters_give_up():
    """A meter that reads to 2 megohm shows the same for 10 megohm as for nothing at all (common practice)."""
    assert least_over_range("off", 1e7) == 2e6
    assert least_over_range("off", 1.5e6) == pytest.approx(2.25e6)
    assert least_over_range("on", 300.0) == 600.0


@pytest.mark.lengthy
@pytest.mark.parametrize("ohms", [500.0, 3e3, 3e4])
def test_a_cold_joint_is_found_in_any_size(kit, ohms):
    """In the cathode of the output valve, put into the rows themselves and solved by scipy."""
    fault = next(f for f in kit.prepared.faults if f.key == "R10 cold")
    sized = type(fault)("drawn", "drawn", "drawn", fault.refs, 1.0, (Move("R10", "value", 1 + ohms / 180.0),))
    seen = kit.readings(sized)
    ranking = rank(kit.prepared, [seen[p.name] for p in kit.order if p.name in seen])
    likely = [f.key for g in ranking.groups[:2] for f in g.faults]
    assert any(key.startswith("R10 ") for key in likely), likely[:4]


def test_sizes_spread_about_the_factor_and_never_turn_it_round():
    assert Move("R1", "value", 11.0, 1.0).sized(np.array([-1.0, 0.0, 1.0])) == pytest.approx([2.0, 11.0, 101.0])
    assert Move("V1", "strength", 0.3, 0.5).sized(0.0) == pytest.approx(0.3)
    for wrong in (lambda: Move("R1", "value", 2.0, -1.0), lambda: Mistake("x", 0.0, (), 0.1)):
        with pytest.raises(ChecksError):
            wrong()


def test_mistakes_are_rarer_than_faults():
    assert sum(m.prior for m in COMMON) < 0.05


@pytest.mark.lengthy
def test_what_a_reading_points_to_are_rows_that_it_tells_apart(prepared):  # noqa: F811
    suggestion = next_reading(prepared, rank(prepared, [Observation("hot/k", 14.0, 0.1)]), {"hot/k"})
    rows = suggestion.points_to
    assert 2 <= len(rows) <= 4 and len({row.faults for row in rows}) == len(rows)
    assert sum(row.healthy for row in rows) <= 1 and not any(row.healthy and row.faults for row in rows)
    assert all(a.high <= b.low for a, b in zip(rows, rows[1:], strict=False) if a.high and b.low)


@pytest.mark.lengthy
def test_nothing_with_the_power_on_is_asked_for_that_the_guide_does_not_ask(kit):
    ranking = rank(kit.prepared, readings(kit, lambda v: 0.5 * v, lambda place: place.name == "valves-in/v-v2-3"))
    extras = [p for p in kit.prepared.places if not p.check and p.power == "on"]
    assert extras  # they are known, for the coverage of the guide
    assert next_reading(kit.prepared, ranking, set(), lambda place: place in extras) is None


def test_extra_places_are_not_what_the_guide_reads_already(kit):
    names = {p.name for p in kit.prepared.places if not p.check}
    assert "off V2.3 chassis" not in names  # the guide has it as pre-power/o-v2-3


@pytest.mark.lengthy
def test_every_way_the_supply_can_fail_is_on_the_list():
    keys = {f.key for f in fault_list(PARTS)}
    assert keys >= {"T1 primary open", "S1 open", "F1 blown", "D1 open", "D1 reversed", "V1 and V2 exchanged"}
    moves = next(f for f in fault_list(PARTS) if f.key == "V1 and V2 exchanged").moves
    assert any("guest" in move.ref for move in moves)  # the double triode's heater joins the pentode's screen
