"""A build seen as a whole: all readings, finding a word, one's own photos, and the way to the designer."""

from uuid import uuid4

import pytest
from django.urls import reverse

from builds.bench.gates.facts import load_facts
from builds.bench.models import Photo, StageVisit, Tick
from builds.bench.photos.storage import save_photo
from builds.guides.demo.files import demo_zip
from builds.guides.find import Kind, find
from builds.guides.guide_cache import load_guide
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Step
from builds.review.demo.photos import draw_photo
from tests import factories
from tests.builds.guides.sent_form import version_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def guide():
    return load_guide(store_guide(read_guide(demo_zip("five-watt"), "guide.zip"), factories.make_designer()))


def client_of(client, person):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def keys(hits, kind):
    return {getattr(hit.row, "key", getattr(hit.row, "ref", "")) for hit in hits if hit.kind is kind}


@pytest.mark.lengthy
def test_a_part_is_found_by_its_reference_and_not_by_a_longer_one(guide):
    refs = keys(find(guide, "r1"), Kind.PART)
    assert refs == {"R1"} and "R10" in guide.parts


@pytest.mark.lengthy
def test_a_resistor_is_found_by_its_bands_in_their_order(guide):
    """IEC 60062: brown, green, red is 1.5 kilohm; the same bands backwards are another part."""
    assert keys(find(guide, "brown green red"), Kind.PART) >= {"R8", "R11"}
    ordered = [hit.colours[:3] for hit in find(guide, "brown green red") if hit.kind is Kind.PART]
    assert ordered[0] == ("brown", "green", "red")  # parts with the bands in another order come after


@pytest.mark.lengthy
def test_a_value_is_found_however_it_is_written(guide):
    assert keys(find(guide, "1k5"), Kind.PART) == keys(find(guide, "1.5k"), Kind.PART) >= {"R8", "R11"}
    assert not keys(find(guide, "1m5"), Kind.PART) & {"R8", "R11"}


@pytest.mark.lengthy
def test_a_pin_leads_to_the_checks_that_probe_it(guide):
    result = keys(find(guide, "V2 pin 3"), Kind.CHECK)
    assert "v-v2-3" in result and "v-v2-2" not in result


@pytest.mark.lengthy
def test_a_search_finds_rows_that_hold_every_word(guide):
    assert find(guide, "solder") and not find(guide, "solder unicorn")
    assert find(guide, "") == [] and find(guide, "…") == []


def test_markup_in_a_query_stays_text(client):
    build = factories.make_build()
    page = client_of(client, build.builder).get(reverse("bench:find", args=[build.pk]), {"q": "<b>x</b>"})
    assert page.status_code == 200 and "<b>x</b>" not in page.content.decode()


def test_all_readings_shows_every_attempt_once_and_filters(client):
    build = factories.make_build()
    stage = build.revision.stages.first()
    one, two = stage.checks.all()[:2]
    factories.add_reading(build=build, check=one, value=500.0, outcome="out of band")
    factories.add_reading(build=build, check=one, value=300.0)
    page = client_of(client, build.builder)
    where = reverse("bench:readings", args=[build.pk])
    answer = page.get(where)
    lines = {line.check.pk: line for row in answer.context["shown"] for line in row.checks}
    assert [reading.attempt for reading in lines[one.pk].attempts] == [2, 1] and lines[two.pk].is_unread
    off = page.get(where, {"show": "off"}).context
    assert not off["shown"] and off["counts"]["off"] == 0  # the latest attempt is what counts
    unread = [line.check for row in page.get(where, {"show": "unread"}).context["shown"] for line in row.checks]
    assert one not in unread and two in unread


def photographed(build, **fields):
    return save_photo(draw_photo("a.jpg", "X", "x"), build=build, by=build.builder, entry_key=uuid4(), **fields)


def test_a_withdrawn_photo_loses_its_files_and_opens_its_stage_again(client, django_capture_on_commit_callbacks):
    revision = factories.make_revision(stages=1, checks=0, steps=1, issued=False)
    Step.objects.filter(stage__revision=revision).update(photo="required")
    build = factories.make_build(revision=revision)
    stage = revision.stages.get()
    step = stage.steps.get()
    Tick.objects.create(build=build, step=step)
    photo = photographed(build, stage=stage, step=step)
    visit = StageVisit.objects.create(build=build, stage=stage, done_at=photo.at)
    assert step.pk in load_facts(build).photographed
    with django_capture_on_commit_callbacks(execute=True):
        client_of(client, build.builder).post(reverse("bench:withdraw-photo", args=[build.pk, photo.pk]))
    visit.refresh_from_db()
    assert step.pk not in load_facts(build).photographed and visit.done_at is None
    assert not photo.full.storage.exists(photo.full.name) and not build.photos.exists()
    assert Photo.with_withdrawn.get().withdrawn_at  # the record says that there was one
    for size in ("full", "thumb"):
        assert client.get(reverse("bench:photo", args=[build.pk, photo.pk, size])).status_code == 404


def test_no_photo_is_withdrawn_from_a_closed_record(client):
    build = factories.make_build()
    photo = photographed(build, stage=build.revision.stages.first())
    build.finished_at = photo.at
    build.save()
    client_of(client, build.builder).post(reverse("bench:withdraw-photo", args=[build.pk, photo.pk]))
    assert build.photos.count() == 1


def test_the_builder_sees_how_to_reach_the_designer(client):
    build = factories.make_build()
    kit, designer = build.revision.kit, build.revision.kit.designers.first()
    designer.email = "private@example.org"
    designer.save()
    letter = build.revision.letter
    address, desk = reverse("guides:contact", args=[kit.key, letter]), client_of(client, designer)
    desk.post(address, {"contact": "kits@example.org"} | version_at(desk, address))
    page = client_of(client, build.builder).get(reverse("bench:designer", args=[build.pk])).content.decode()
    assert 'href="mailto:kits@example.org"' in page and "private@example.org" not in page
