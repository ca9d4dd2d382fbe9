"""What a stage's readings say together, on the demo guide's own parts list."""

import pytest

from builds.bench.gates.discharge import compute_discharge
from builds.bench.models import CheckStatus, Reading
from builds.bench.readings.derived import list_derived
from builds.guides.demo.files import demo_zip
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from tests import factories

pytestmark = [pytest.mark.django_db, pytest.mark.lengthy]


@pytest.fixture
def guide():
    return load_guide(store_guide(read_guide(demo_zip()), factories.make_designer()))


def stands(guide, stage_key, values):
    """Unsaved statuses of a stage's checks: {check key: value at the guide's mains}."""
    stage = next(s for s in guide.stages if s.key == stage_key)
    for check in stage.checks.all():
        value = values.get(check.key)
        yield (
            check,
            None
            if value is None
            else CheckStatus(latest=Reading(at_reference=value, u=abs(value) / 200, outcome="in band")),
        )


def test_the_output_valves_dissipation_follows_from_its_cathode(guide):
    derived = {
        d.what: d for d in list_derived(guide, list(stands(guide, "valves-in", {"v-v2-3": 8.1, "v-v2-7": 292.0})))
    }
    assert derived["cathode current"].value == pytest.approx(8.1 / 180, rel=1e-6)
    assert derived["anode dissipation"].value == pytest.approx((292 - 8.1) * 8.1 / 180, rel=1e-6)
    assert derived["anode dissipation"].at_most
    assert derived["anode dissipation"].of[0] == "V2 pins 7 and 3"


def test_nothing_is_said_before_anything_is_read(guide):
    assert list_derived(guide, list(stands(guide, "valves-in", {}))) == []


def test_a_reading_that_said_switch_off_is_not_built_on(guide):
    rows = list(stands(guide, "valves-in", {"v-v2-3": 25.0}))
    for _check, standing in rows:
        if standing:
            standing.latest.outcome = "switch off"
    assert list_derived(guide, rows) == []


def test_a_valve_that_was_changed_has_no_current_and_no_dissipation_of_the_one_before(guide):
    rows = list(stands(guide, "valves-in", {"v-v2-3": 8.1, "v-v2-7": 292.0}))
    for _check, standing in rows:
        if standing:
            standing.outcome, standing.passed = "in band", False
    assert list_derived(guide, rows) == []


def test_the_demos_supply_discharges_through_its_bleeder_within_two_minutes(guide):
    revision = next(iter(guide.parts.values())).revision
    discharge = compute_discharge(revision, 330.0)
    assert 5 < discharge.seconds < 120
    assert discharge.bleeders and set(discharge.capacitors) >= {"C1", "C2"}
