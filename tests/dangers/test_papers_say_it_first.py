"""Papers lie on the bench when no page is open: they say first what the bench says first."""

from io import BytesIO
from uuid import uuid4

import pytest
from django.urls import reverse
from pypdf import PdfReader

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Erratum, MadeSafe
from builds.bench.readings.taking import take_reading
from builds.bench.valves.replaced import let_pass_no_longer
from builds.guides.models import Check
from tests import factories

pytestmark = pytest.mark.django_db
ORDER, KEEP = "Switch off. Unplug. Find the fault.", "Keep it unplugged until you have found the fault."


@pytest.fixture
def build(client):
    build = factories.make_build(revision=factories.make_revision(stages=2, checks=2, steps=1, gate=False))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    for stage in build.revision.stages.all():
        acknowledge(open_sitting(build), stage, 230.0 if stage.is_powered else None)
    return build


def read(build, key, typed):
    check = Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)
    return take_reading(build, check, typed, by=build.builder, mains_volts=230.0)


def papers(client, build):
    """(paper, its text) of the worksheet as page and PDF, and of the build record."""
    yield "page", " ".join(client.get(reverse("reports:worksheet", args=[build.pk])).content.decode().split())
    for name in ("worksheet-pdf", "build-record"):
        answer = client.get(reverse(f"reports:{name}", args=[build.pk]))
        pages = PdfReader(BytesIO(answer.getvalue())).pages
        yield name, " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.lengthy
def test_no_paper_of_a_stopped_kit_begins_without_the_order_to_keep_it_off(client, build):
    assert not any(ORDER in said or KEEP in said for _paper, said in papers(client, build))
    read(build, "check-2-1", "450 V")
    for paper, said in papers(client, build):
        assert ORDER in said and "Check 2.1" in said.partition(ORDER)[2][:40], paper
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    for paper, said in papers(client, build):
        assert KEEP in said, paper


@pytest.mark.lengthy
def test_a_sheet_of_work_inside_the_kit_says_that_it_had_power(client, build):
    words = "The kit has had power since it was last made safe."
    said = dict(papers(client, build))
    assert words in said["page"] and words in said["worksheet-pdf"]
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    assert not any(words in text for text in dict(papers(client, build)).values())


@pytest.mark.lengthy
def test_a_sheet_carries_the_corrections_of_its_stage(client, build):
    stages = {stage.key: stage for stage in build.revision.stages.all()}
    check = Check.objects.get(stage__revision=build.revision, key="check-2-1")
    Erratum.objects.create(
        revision=build.revision, stage=stages["stage-2"], check_row=check, words="At most **310 V**.", entry_key=uuid4()
    )
    for paper, said in papers(client, build):
        assert ("Check 2.1: At most 310 V." in said) == (paper != "build-record"), paper


def test_the_record_calls_no_stage_finished_whose_reading_is_to_be_taken_again(client, build):
    step = build.revision.stages.get(key="stage-1").steps.get()
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    client.get(reverse("bench:stage", args=[build.pk, "stage-1"]))
    read(build, "check-1-1", "300 V")
    read(build, "check-1-2", "300 V")
    client.post(reverse("bench:tick", args=[build.pk, "stage-1", step.key]))
    assert build.visits.get(stage__key="stage-1").done_at
    let_pass_no_longer(build, [Check.objects.get(stage__revision=build.revision, key="check-1-1")])
    assert build.visits.get(stage__key="stage-1").done_at is None
