"""At and after a stop: causes and readings with the power off, and nothing else. Never a slip, never "measure again",
never a live reading, whichever check is in view."""

from uuid import uuid4

import numpy as np
import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from builds.bench.diagnosis.allowed_measurements import allowed_measurements
from builds.bench.diagnosis.designer_hints import for_reading
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.diagnosis.observations import observations
from builds.bench.gates.facts import load_facts
from builds.bench.gates.gating import concede
from builds.bench.gates.sittings import acknowledge, open_sitting, switch_on
from builds.bench.models import MadeSafe, PowerOn
from builds.bench.readings.taking import take_reading
from builds.guides import revisions
from builds.guides.circuit.fault_dictionary import load_fault_dictionary
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check
from builds.review.probable_causes import over_builds
from checks.diagnosis import Observation, rank
from checks.diagnosis.ranking import SLIP
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
STOPS = (
    GUIDE.replace('expected = "330 V"', 'expected = "293 V"')
    .replace('red = "ht"\n', 'red = "ht"\nstop_above = "330 V"\nstop_below = "200 V"\n', 1)
    .replace(
        'red = "ht"\n',
        'red = "ht"\nhint = [{ when = "off", text = "R2 may be high.", next = "mid" }, '
        '{ when = "off", text = "Look at R2." }]\n',
        1,
    )
)
FORBIDDEN = ("slip", "again", "clear", "Go on", "Continue.", "power on", "fits a good kit")


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def build(designer):
    revision = revisions.issue(store_guide(read_guide(STOPS.encode()), designer))
    return factories.make_build(revision=revision)


def check(build, key):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def read(build, key, typed):
    return take_reading(build, check(build, key), typed, by=build.builder, mains_volts=230.0)


def make_safe(build):
    MadeSafe.objects.create(entry_key=uuid4(), build=build, typed="1", volts=1.0, is_safe=True)


def card(build, key):
    row = check(build, key)
    return render_to_string("bench/_causes.html", {"found": diagnose(build, row), "build": build, "check": row})


@pytest.mark.lengthy
@pytest.mark.parametrize("typed", ["331", "335", "360", "450", "199", "150", "20", "0.3", "-331", "OL", "2000"])
def test_a_reading_past_its_stop_limit_is_never_a_slip_however_normal_the_others(build, typed):
    read(build, "mid", "146 V")
    assert read(build, "ht", typed).outcome == "switch off"
    for made_safe in (False, True):
        if made_safe:
            make_safe(build)
        for key in ("ht", "mid"):
            diagnosis = diagnose(build, check(build, key))
            assert not diagnosis.slips and not diagnosis.mistake and not diagnosis.slip and not diagnosis.again
            assert diagnosis.clear == 0.0 and not diagnosis.fits
            assert diagnosis.suggestion is None or diagnosis.suggestion.place.power == "off"
            page = card(build, key)
            assert not [text for text in FORBIDDEN if text in page]


@pytest.mark.lengthy
def test_the_same_reading_short_of_the_limit_may_still_be_a_slip(build):
    """The other side of the rule: without the limit these words are allowed, so the test above can fail."""
    read(build, "mid", "146 V")
    prepared = load_fault_dictionary(build.revision)
    stopped = Observation("power/ht", 420.0, 1.0, past_stop=True)
    plain = Observation("power/ht", 420.0, 1.0)
    mid = Observation("power/mid", 146.0, 0.5)
    assert plain.slip_chance == SLIP and stopped.slip_chance == 0.0
    assert rank(prepared, [plain, mid]).slips and not rank(prepared, [stopped, mid]).slips


@pytest.mark.lengthy
def test_a_stop_on_one_check_forbids_live_readings_on_the_page_of_every_other(build):
    read(build, "ht", "325 V")
    live = [p for p in load_fault_dictionary(build.revision).places if p.power == "on"]
    assert any(allowed_measurements(build, check(build, "ht"))(p) for p in live)
    read(build, "mid", "260 V")
    for row in (check(build, "ht"), check(build, "mid")):
        assert live and not any(allowed_measurements(build, row)(p) for p in live)
    make_safe(build)
    assert not any(allowed_measurements(build, check(build, "ht"))(p) for p in live)
    read(build, "mid", "146 V")
    assert any(allowed_measurements(build, check(build, "ht"))(p) for p in live)


@pytest.mark.lengthy
def test_a_reading_that_may_mean_overload_forbids_live_readings_too(build):
    read(build, "mid", "30 V")
    live = [p for p in load_fault_dictionary(build.revision).places if p.power == "on"]
    make_safe(build)
    for row in (check(build, "ht"), check(build, "mid")):
        assert not any(allowed_measurements(build, row)(p) for p in live)
    concede(build, check(build, "mid"), by=factories.make_designer(), reason="Known.")
    assert any(allowed_measurements(build, check(build, "mid"))(p) for p in live)


@pytest.mark.lengthy
def test_beside_an_order_to_switch_off_the_page_of_another_check_has_no_field(build, client):
    row = check(build, "ht")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), row.stage, 230.0)
    switch_on(build, row.stage, PowerOn.Why.AGAIN, by=build.builder, entry_key=uuid4())
    asked = reverse("bench:check", args=[build.pk, "power", "ht"])
    assert 'name="typed"' in client.get(asked).content.decode()
    read(build, "mid", "30 V")
    page = client.get(asked).content.decode()
    assert "Switch off now. Unplug." in page and "Do not measure here" in page and 'name="typed"' not in page
    own = client.get(reverse("bench:check", args=[build.pk, "power", "mid"]) + "?measure=1").content.decode()
    assert 'name="typed"' in own  # a typing error is corrected there


@pytest.mark.lengthy
def test_the_designers_page_asks_for_no_live_reading_while_a_stop_stands(build):
    prepared = load_fault_dictionary(build.revision)
    read(build, "mid", "30 V")
    read(build, "ht", "450 V")
    (_page, (row,)) = over_builds(build.revision, prepared, None)
    assert row.ranking.clear == 0.0 and not row.ranking.slips
    assert row.suggestion is None or row.suggestion.place.power == "off"


@pytest.mark.lengthy
def test_a_hint_that_leads_to_a_live_reading_is_left_out_while_a_stop_stands(build, client):
    row, guide = check(build, "ht"), load_guide(build.revision)
    reading = read(build, "ht", "325 V")
    texts, after = for_reading(row, reading, guide, allowed_measurements(build, row))
    assert after.key == "mid" and len(texts) == 2
    read(build, "mid", "260 V")
    texts, after = for_reading(row, reading, guide, allowed_measurements(build, row))
    assert after is None and texts == ["Look at R2."]
    make_safe(build)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), row.stage, 230.0)
    page = client.get(reverse("bench:check", args=[build.pk, "power", "ht"])).content.decode()
    verdict = page.partition('id="verdict"')[2].partition('id="photos')[0]
    assert "Look at R2." in verdict and "Measure next: " not in verdict and "again" not in verdict


@pytest.mark.lengthy
def test_the_stop_page_offers_causes_and_power_off_readings_only(build, client):
    read(build, "mid", "293 V")  # both are twice what they should be
    read(build, "ht", "586 V")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("bench:stop", args=[build.pk])).content.decode()
    card_of_stop = page.partition('class="causes')[2].partition("</section>")[0]
    assert "cause-list" in card_of_stop
    assert not [text for text in FORBIDDEN if text in card_of_stop]


@pytest.mark.lengthy
def test_a_stop_that_no_known_fault_explains_names_none(build, client):
    """The half of a divider is right and its whole is not: no single fault does that."""
    read(build, "mid", "146 V")
    read(build, "ht", "450 V")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("bench:stop", args=[build.pk])).content.decode()
    assert "cause-list" not in page and "What to look for once it is safe" in page


@pytest.mark.lengthy
def test_what_is_left_of_the_probabilities_at_a_stop_adds_up_to_one(build):
    read(build, "mid", "146 V")
    read(build, "ht", "450 V")
    ranking = rank(load_fault_dictionary(build.revision), observations(build)).condition_on_fault()
    assert np.isclose(ranking.other + sum(g.probability for g in ranking.groups), 1.0)
    assert ranking.clear == 0.0 and load_facts(build).check_states
