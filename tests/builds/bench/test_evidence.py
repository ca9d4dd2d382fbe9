"""What counts as evidence: causes only for the checks they move, no typing errors, readings beside the guide."""

import numpy as np
import pytest
from django.utils import timezone

from builds.accounts.models import Meter
from builds.bench.diagnosis.centres import FEWEST, list_centres
from builds.bench.diagnosis.confirmed import ConfirmedCauses
from builds.bench.diagnosis.diagnose import compute_ranking, find_meter_ohms
from builds.bench.diagnosis.observations import observations
from builds.bench.models import ConfirmedFault
from builds.bench.readings import extras
from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check
from builds.review.probable_causes import over_builds, withdrawn_readings
from checks.diagnosis import rank
from checks.diagnosis.likelihood import METER_OHMS
from checks.meter import PRESETS
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
COLD = """
[[stage]]
key = "cold"
title = "Cold"
power = "off"
[[stage.check]]
key = "winding"
title = "Winding"
measure = "resistance"
red = "ht.a"
expected = "100"
band = "15%"
[[stage.check]]
key = "words-only"
title = "Earth"
measure = "resistance"
red = "=the earth pin"
expected = "0.1"
band = "100%"
"""


@pytest.fixture
def revision():
    text = GUIDE.replace('expected = "330 V"', 'expected = "293 V"') + COLD
    return revisions.issue(store_guide(read_guide(text.encode()), factories.make_designer()))


@pytest.fixture
def build(revision):
    return factories.make_build(revision=revision)


def check(revision, key):
    return Check.objects.select_related("stage__revision").get(stage__revision=revision, key=key)


def read(build, key, typed, **more):
    row = check(build.revision, key)
    return take_reading(build, row, typed, by=build.builder, mains_volts=230.0, **more)


@pytest.mark.lengthy
def test_a_confirmed_cause_is_given_only_to_the_checks_that_it_moves(build):
    read(build, "mid", "94 V")
    load_fault_dictionary(build.revision)
    ConfirmedFault.objects.create(build=build, fault="R2 x0.1", words="R2 is ten times too small")
    causes = ConfirmedCauses.of(build.revision)
    assert causes.prepared is not None
    assert causes.of_check(check(build.revision, "mid")) == {build.serial: ["R2 is ten times too small"]}
    assert causes.of_check(check(build.revision, "winding")) == {}
    assert causes.of_check(check(build.revision, "words-only")) == {}


@pytest.mark.lengthy
def test_a_cause_that_was_taken_back_is_given_to_no_check(build):
    taken_back = timezone.now()
    ConfirmedFault.objects.create(build=build, fault="R2 x0.1", words="R2", taken_back_at=taken_back)
    assert ConfirmedCauses.of(build.revision).of_check(check(build.revision, "mid")) == {}


@pytest.mark.lengthy
def test_a_reading_corrected_as_a_typing_error_is_no_evidence(build):
    prepared = load_fault_dictionary(build.revision)
    read(build, "mid", "146 V")
    read(build, "mid", "14.6 V")
    read(build, "mid", "146 V", is_slip=True)
    assert withdrawn_readings([build]) == {(build.pk, check(build.revision, "mid").pk, 2)}
    page, rows = over_builds(build.revision, prepared, None)
    assert not [row for row in rows if row.causes]


@pytest.mark.lengthy
def test_a_reading_that_was_mended_is_evidence_with_what_was_measured_beside_it(build):
    prepared = load_fault_dictionary(build.revision)
    place = next(p for p in prepared.places if not p.check and p.power == "off")
    read(build, "mid", "94 V")
    extras.take_extra(build, place, "47k", entry_key="5b1a7c3e-0000-4000-8000-00000000000a", by=build.builder)
    read(build, "mid", "146 V")
    assert extras.extra_observations(build) == []
    assert [o.place for o in extras.extra_observations_by_build([build])[build.pk]] == [place.name]
    _page, (row,) = over_builds(build.revision, prepared, None)
    assert row.mended and row.causes


@pytest.mark.lengthy
def test_good_builds_make_the_centre_of_a_check_once_there_are_enough(revision):
    prepared = load_fault_dictionary(revision)
    builds = [factories.make_build(revision=revision) for _ in range(FEWEST)]
    for number, one in enumerate(builds):
        assert "power/ht" not in list_centres(revision, prepared)
        read(one, "ht", f"{296 + number} V")
    assert list_centres(revision, prepared)["power/ht"] == pytest.approx(298.0, rel=0.01)


@pytest.mark.lengthy
def test_a_reading_out_of_band_is_no_part_of_the_centre(revision):
    prepared = load_fault_dictionary(revision)
    for _ in range(FEWEST):
        read(factories.make_build(revision=revision), "ht", "205 V")
    assert "power/ht" not in list_centres(revision, prepared)


@pytest.mark.lengthy
def test_the_builders_meter_is_the_one_predicted_through(build):
    assert find_meter_ohms(build) == (build.meter.as_spec().input_ohms if build.meter else METER_OHMS)
    build.meter = None
    assert find_meter_ohms(build) is None
    read(build, "mid", "94 V")
    assert compute_ranking(build, load_fault_dictionary(build.revision)).clear < 0.5


@pytest.mark.lengthy
def test_the_fault_summary_ranks_through_the_builders_own_meter_as_the_bench_does(build):
    prepared = load_fault_dictionary(build.revision)
    spec = PRESETS["basic"].as_dict() | {"input_ohms": 2e5}
    build.meter = Meter.objects.create(owner=build.builder, name="Small meter", spec=spec)
    build.save(update_fields=["meter"])
    read(build, "mid", "94 V")
    _page, (row,) = over_builds(build.revision, prepared, None)
    own, through_another = compute_ranking(build, prepared), rank(prepared, observations(build))
    assert np.allclose(row.ranking.each, own.each)
    assert not np.allclose(own.each, through_another.each)
