"""With power on record, whether to switch off is the first thing a builder reads about a reading that is off."""

import re
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.diagnosis.advice import advise_on
from builds.bench.diagnosis.diagnose import diagnose
from builds.bench.gates.facts import load_facts
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import MadeSafe
from builds.bench.readings.taking import take_reading
from builds.bench.views.next_up import next_up
from builds.guides import revisions
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check
from builds.ui.messages.advice import advice_text, predicted_reading, round_predicted
from checks.diagnosis.advice import ASKS_TO_MEASURE_AGAIN, AdviceCode
from tests import factories
from tests.builds.guides.test_circuit import GUIDE

pytestmark = pytest.mark.django_db
OHMS = """
[[stage]]
key = "cold"
title = "Cold"
power = "off"
[[stage.check]]
key = "mid-ohms"
title = "Middle, ohms"
measure = "resistance"
red = "mid"
expected = "50k"
band = "10%"
"""
TEXT = GUIDE.replace('expected = "330 V"', 'expected = "293 V"').replace(
    'red = "ht"\n', 'red = "ht"\nstop_above = "350 V"\n', 1
)


@pytest.fixture
def build():
    revision = revisions.issue(store_guide(read_guide((TEXT + OHMS).encode()), factories.make_designer()))
    return factories.make_build(revision=revision)


def check(build, key):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def advice_after(build, key, typed, with_dictionary=True):
    row = check(build, key)
    reading = take_reading(build, row, typed, by=build.builder, mains_volts=230.0)
    facts = load_facts(build)
    return advise_on(build, row, reading, facts, diagnose(build, row, facts) if with_dictionary else None)


def codes(advice):
    return [advice.lead.code, *(one.code for one in advice.folded)]


@pytest.mark.lengthy
@pytest.mark.parametrize("with_dictionary", [True, False])
def test_a_supply_thirty_per_cent_low_says_switch_off_and_never_measure_again(build, with_dictionary):
    advice = advice_after(build, "ht", "205 V", with_dictionary)
    assert advice.lead.code is AdviceCode.SWITCH_OFF
    assert not set(codes(advice)) & ASKS_TO_MEASURE_AGAIN
    MadeSafe.objects.create(entry_key=uuid4(), build=build, typed="1", volts=1.0, is_safe=True)
    row = check(build, "ht")
    kept = advise_on(build, row, build.readings.get(), load_facts(build), None)
    assert kept.lead.code is AdviceCode.KEEP_OFF


@pytest.mark.lengthy
def test_a_supply_a_little_high_within_its_stop_limit_may_stay_on(build):
    assert advice_after(build, "ht", "330 V").lead.code is AdviceCode.POWER_MAY_STAY


@pytest.mark.lengthy
def test_a_supply_far_too_high_says_switch_off_though_its_capacitors_stand_it():
    """A lost load does not make 420 V of 293 V, and a stop limit from a capacitor's rating is silent."""
    text = TEXT.replace('stop_above = "350 V"', 'stop_above = "450 V"')
    revision = revisions.issue(store_guide(read_guide(text.encode()), factories.make_designer()))
    advice = advice_after(factories.make_build(revision=revision), "ht", "420 V", False)
    assert advice.lead.code is AdviceCode.SWITCH_OFF
    assert not set(codes(advice)) & ASKS_TO_MEASURE_AGAIN


@pytest.mark.lengthy
def test_no_reading_says_that_the_power_may_stay_while_another_says_that_it_may_not(build):
    assert advice_after(build, "mid", "40 V", False).lead.code is AdviceCode.SWITCH_OFF
    result = codes(advice_after(build, "ht", "330 V", False))
    assert AdviceCode.POWER_MAY_STAY not in result and not set(result) & ASKS_TO_MEASURE_AGAIN


@pytest.mark.lengthy
def test_a_supply_of_the_wrong_sign_names_the_leads_and_the_rectifier(build):
    advice = advice_after(build, "ht", "-316 V")
    assert codes(advice)[:2] == [AdviceCode.SWITCH_OFF, AdviceCode.NEGATIVE_SUPPLY]
    assert "rectifier" in advice_text(advice).more[0] and "−316 V" in advice_text(advice).more[0]


@pytest.mark.lengthy
def test_negative_ohms_name_a_charged_capacitor(build):
    advice = advice_after(build, "mid-ohms", "-40")
    assert advice.lead.code is AdviceCode.CHARGED_CAPACITOR and "capacitor" in advice_text(advice).lead


@pytest.mark.lengthy
def test_a_reading_in_band_has_no_advice(build):
    assert advice_after(build, "ht", "293 V") is None


@pytest.mark.lengthy
def test_the_check_page_says_it_before_the_verdict_and_contradicts_it_nowhere(build, client):
    advice_after(build, "ht", "205 V")
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), check(build, "ht").stage, 230.0)
    page = client.get(reverse("bench:check", args=[build.pk, "power", "ht"])).content.decode()
    verdict = page.partition('id="verdict"')[2].partition('id="photos"')[0]
    assert verdict.index('class="advice') < verdict.index("verdict-word")
    assert "easure again" not in verdict


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(4.5e-6, "V", "0 V"), (-0.01, "V", "0 V"), (0.4, "Ω", "0 Ω"), (1e-6, "A", "0 A"), (12.34, "V", "12 V")],
)
def test_what_no_meter_tells_from_nothing_is_nothing(value, unit, text):
    assert round_predicted(value, unit) == text


def test_over_range_is_named():
    assert predicted_reading(None, "Ω") == "over range"


def first_words(page: str) -> str:
    """What follows the heading of a page: of its first notice, the words in bold or its own heading."""
    main = page.partition("<main")[2]
    match = re.search(r'class="[^"]*\balarm\b[^"]*"[^>]*>.*?<(?:h2|strong)[^>]*>(.*?)</(?:h2|strong)>', main, re.S)
    return " ".join(re.sub("<[^>]*>|■", " ", match[1]).split()) if match else ""


@pytest.mark.lengthy
@pytest.mark.parametrize(("key", "typed"), [("ht", "205 V"), ("mid", "30 V"), ("mid", "-146 V"), ("ht", "0.5")])
def test_no_page_leads_on_before_the_power_is_off_while_a_reading_may_mean_an_overload(build, client, key, typed):
    """Whether to switch off stands first on the build's page, its stage and every check; the way on makes safe."""
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    stage = check(build, "ht").stage
    acknowledge(open_sitting(build), stage, 230.0)
    take_reading(build, check(build, key), typed, by=build.builder, mains_volts=230.0)
    other = "mid" if key == "ht" else "ht"
    safe, here = reverse("bench:make-safe", args=[build.pk]), [build.pk, "power"]
    pages = [
        reverse("bench:build", args=[build.pk]),
        reverse("bench:stage", args=here),
        reverse("bench:check", args=[*here, other]),
        reverse("bench:check", args=[*here, key]),
    ]
    for address in pages:
        page = client.get(address).content.decode()
        assert first_words(page).startswith("Switch off now. Unplug."), address
        assert safe in page
    assert client.get(reverse("bench:grid", args=here)).status_code == 302
    opened = next_up(build, stage, load_facts(build))
    assert opened.url.startswith(safe) and opened.is_live
    MadeSafe.objects.create(entry_key=uuid4(), build=build, typed="1", volts=1.0, is_safe=True)
    for address in pages:
        assert first_words(client.get(address).content.decode()).startswith("Keep it unplugged"), address
    assert next_up(build, stage, load_facts(build)).url.endswith(f"checks/{key}/#verdict")


@pytest.mark.lengthy
def test_a_reading_that_cannot_mean_an_overload_leads_on(build, client):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    stage = check(build, "ht").stage
    acknowledge(open_sitting(build), stage, 230.0)
    take_reading(build, check(build, "ht"), "330 V", by=build.builder, mains_volts=230.0)
    assert first_words(client.get(reverse("bench:stage", args=[build.pk, "power"])).content.decode()) == ""
    assert not next_up(build, stage, load_facts(build)).is_live


@pytest.mark.lengthy
@pytest.mark.parametrize("closed", ["finished_at", "given_up_at"])
def test_nothing_is_next_on_a_build_whose_record_is_closed(build, closed):
    stage = check(build, "ht").stage
    before = next_up(build, stage, load_facts(build))
    assert before.label.startswith(("Next", "Make safe"))
    setattr(build, closed, timezone.now())
    build.save()
    assert next_up(build, stage, load_facts(build)).label == "Back to the build"
