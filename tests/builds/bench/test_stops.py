"""A reading that said switch off stays in sight after the kit is made safe, until its check reads well."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.gates.facts import facts_of
from builds.bench.gates.gating import power_of
from builds.bench.gates.stops import active_stop
from tests import factories

pytestmark = pytest.mark.django_db
KEEP_OFF = "Keep it unplugged until you have found the fault"


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(checks=2, steps=0))


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def at(name, build, *more):
    return reverse(f"bench:{name}", args=[build.pk, *more])


def read(phone, build, typed, check="check-1-1"):
    return phone.post(at("reading", build, "stage-1", check), {"typed": typed, "entry_key": str(uuid4())})


def make_safe(phone, build):
    phone.post(at("make-safe", build), {"typed": "3", "entry_key": str(uuid4())})


def text_of(phone, *address):
    return phone.get(at(*address)).content.decode()


def test_after_made_safe_the_build_and_the_stage_lead_to_the_stop_and_not_past_it(phone, build):
    read(phone, build, "450")
    make_safe(phone, build)
    for page in (text_of(phone, "build", build), text_of(phone, "stage", build, "stage-1")):
        assert KEEP_OFF in page and "450 V is above the stop limit of 400 V." in page
        assert at("check", build, "stage-1", "check-1-1") + "#verdict" in page and "Made safe" in page
    assert '<span class="small">Next</span>' not in text_of(phone, "build", build)
    assert "Next reading:" not in text_of(phone, "stage", build, "stage-1")


def test_the_check_no_longer_orders_what_was_done(phone, build):
    read(phone, build, "450")
    make_safe(phone, build)
    page = text_of(phone, "check", build, "stage-1", "check-1-1")
    assert KEEP_OFF in page and "before anything else" not in page
    assert KEEP_OFF in text_of(phone, "check", build, "stage-1", "check-1-2")


def test_a_good_reading_takes_the_notice_away(phone, build):
    read(phone, build, "450")
    make_safe(phone, build)
    read(phone, build, "300")
    assert KEEP_OFF not in text_of(phone, "build", build)


def test_an_unanswered_stop_is_not_yet_told_as_made_safe(phone, build):
    read(phone, build, "450")
    assert active_stop(build, power_of(build, facts_of(build))) is None
    assert phone.get(at("build", build))["Location"] == at("stop", build)


def test_the_stop_page_says_what_was_read_once(phone, build):
    read(phone, build, "450")
    assert text_of(phone, "stop", build).count("450 V") == 1
