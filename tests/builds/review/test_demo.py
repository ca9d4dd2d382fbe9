"""The demo's start: what the first page needs is loaded at once, and the rest is a worker's, each said."""

import pytest
from django.test import Client

from builds.accounts.models import Person
from builds.bench.gates.facts import load_facts
from builds.bench.gates.gating import stage_states
from builds.bench.models import Build
from builds.guides.models import Kit, StoredFaultDictionary
from builds.jobs.models import Job
from builds.jobs.registry import FUNCTIONS
from builds.review.demo import load_demo
from builds.review.models import Decision
from checks.statistics.findings import Kind

pytestmark = pytest.mark.django_db


@pytest.fixture
def no_worker(settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}


@pytest.mark.lengthy
def test_the_demo_is_there_to_be_looked_at_before_a_worker_has_done_anything(no_worker):
    said = []
    load_demo("first word 41", "first word 41", said.append)
    assert len(said) > 15 and not StoredFaultDictionary.objects.exists()
    assert {row.kind for row in Job.objects.filter(state=Job.State.WAITING)} == {"faults", "demo", "demo-recordings"}
    assert all(row.kind in FUNCTIONS for row in Job.objects.all())  # what a worker does not know it cannot do
    assert [kit.key for kit in Kit.objects.all()] == ["five-watt"]
    _every_signed_off_build_is_done()
    figures = Decision.objects.get(check_row__key="v-preamp")  # the planted one
    assert (figures.state, figures.finding) == ("accepted", Kind.FIGURE_OFF)
    client = Client()
    client.force_login(Person.objects.get(display_name="Designer"), backend="django.contrib.auth.backends.ModelBackend")
    for page in ("/kits/", "/review/five-watt/A/", "/review/five-watt/A/faults/"):
        assert client.get(page).status_code == 200, page
    said.clear()
    load_demo("second word 41", "second word 41", said.append)
    assert not said and Kit.objects.get().revisions.count() == 2
    assert Person.objects.get(display_name="Builder 01").check_password("second word 41")


def _every_signed_off_build_is_done():
    signed_off = Build.objects.exclude(finished_at=None)
    assert len(signed_off) > 5
    for build in signed_off:
        open_stages = [state.stage.key for state in stage_states(build, load_facts(build)) if not state.complete]
        assert not open_stages, (build.serial, open_stages)
