"""The builder's pages over HTTP."""

import io
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from builds.bench.models import MadeSafe, Photo, Reading, Snag, Tick
from builds.guides.models import Step
from tests import factories
from tests.browser.test_traps import issue

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(checks=1, steps=1), builder=factories.make_builder())


@pytest.fixture
def phone(client, build):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client


def at(name, build, *more):
    return reverse(f"bench:{name}", args=[build.pk, *more])


def post_reading(phone, build, typed, stage="stage-1", check="check-1-1", **more):
    return phone.post(at("reading", build, stage, check), {"typed": typed, "entry_key": str(uuid4()), **more})


def test_the_list_leads_to_the_build(phone, build):
    assert at("build", build) in phone.get(reverse("bench:builds")).content.decode()


def test_a_reading_answers_with_its_verdict(phone, build):
    answer = post_reading(phone, build, "300", follow=True)
    text = phone.get(answer["Location"]).content.decode()
    assert "in band" in text and "This is right" in text


def test_htmx_gets_the_fragment(phone, build):
    answer = phone.post(
        at("reading", build, "stage-1", "check-1-1"),
        {"typed": "300", "entry_key": str(uuid4())},
        headers={"HX-Request": "true"},
    )
    assert "in band" in answer.content.decode() and "<html" not in answer.content.decode()


def test_an_unreadable_entry_keeps_what_was_typed(phone, build):
    answer = post_reading(phone, build, '<i>"300</i>')
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "&lt;i&gt;&quot;300&lt;/i&gt;" in text and "<i>" not in text


def test_a_retried_post_shows_the_first_reading(phone, build):
    key = str(uuid4())
    for _ in range(2):
        answer = phone.post(at("reading", build, "stage-1", "check-1-1"), {"typed": "300", "entry_key": key})
    assert Reading.objects.get().typed == "300" and answer.status_code == 302


def test_another_reading_from_a_page_that_was_sent_before_is_neither_logged_unseen_nor_lost(phone, build):
    """The browser's Back brings the old page with its old key."""
    key = str(uuid4())
    phone.post(at("reading", build, "stage-1", "check-1-1"), {"typed": "300", "entry_key": key})
    answer = phone.post(at("reading", build, "stage-1", "check-1-1"), {"typed": "299", "entry_key": key})
    assert answer.status_code == 422 and "300" in str(answer.context["form"].errors["typed"])
    form = answer.context["form"]
    assert form["typed"].value() == "299" and form["entry_key"].value() != key
    phone.post(at("reading", build, "stage-1", "check-1-1"), {"typed": "299", "entry_key": form["entry_key"].value()})
    assert list(Reading.objects.order_by("attempt").values_list("typed", flat=True)) == ["300", "299"]


def test_another_made_safe_reading_from_an_old_page_is_asked_again_and_makes_nothing_safe(phone, build):
    key = str(uuid4())
    for typed in ("12", "12", "300"):
        answer = phone.post(at("make-safe", build), {"typed": typed, "entry_key": key})
    form = answer.context["form"]
    assert answer.status_code == 422 and form["typed"].value() == "300"
    phone.post(at("make-safe", build), {"typed": "300", "entry_key": form["entry_key"].value()})
    assert list(MadeSafe.objects.order_by("pk").values_list("typed", "is_safe")) == [("12", True), ("300", False)]


@pytest.mark.parametrize("change", [{"mains_volts": "231"}, {"meter": "0"}, {"mains_hertz": ""}])
def test_settings_that_cannot_be_come_back_with_what_was_chosen(phone, build, change):
    chosen = {"mains_volts": "240", "mains_hertz": "60", "meter": build.meter_id} | change
    answer = phone.post(at("settings", build), chosen)
    assert answer.status_code == 422
    assert answer.context["form"].errors and answer.context["form"]["mains_volts"].value() == chosen["mains_volts"]
    build.refresh_from_db()
    assert build.mains_hertz == 50


@pytest.mark.parametrize("key", ["", "not-a-key"])
def test_a_missing_entry_key_is_refused_without_breaking(phone, build, key):
    answer = phone.post(at("reading", build, "stage-1", "check-1-1"), {"typed": "300", "entry_key": key})
    assert answer.status_code == 422 and not Reading.objects.exists()


def test_a_shut_stage_takes_no_reading(phone, build):
    answer = post_reading(phone, build, "300", "stage-2", "check-2-1")
    assert answer.status_code == 409 and not Reading.objects.exists()


def test_a_stop_takes_over_until_made_safe(phone, build):
    assert post_reading(phone, build, "450")["Location"] == at("stop", build)
    assert phone.get(at("build", build))["Location"] == at("stop", build)
    assert "Switch off now" in phone.get(at("stop", build)).content.decode()
    wrong = phone.post(at("make-safe", build), {"typed": "60", "entry_key": str(uuid4())})
    assert wrong.status_code == 422 and "not safe" in wrong.content.decode()  # the limit itself is not below it
    phone.post(at("make-safe", build), {"typed": "OL", "entry_key": str(uuid4())})
    assert MadeSafe.objects.count() == 1
    phone.post(at("make-safe", build), {"typed": "5.9", "entry_key": str(uuid4())})
    assert phone.get(at("build", build)).status_code == 200


def test_a_powered_stage_asks_cautions_and_mains_first(phone, build):
    phone.post(at("tick", build, "stage-1", "step-1-1"), {"done": "yes"})
    post_reading(phone, build, "300")
    assert phone.get(at("stage", build, "stage-2"))["Location"] == at("cautions", build, "stage-2")
    unread = phone.post(at("cautions", build, "stage-2"), {"mains": "231"})
    assert unread.status_code == 422
    mistyped = phone.post(at("cautions", build, "stage-2"), {"mains": "23", "read": "on"})
    assert "80 V to 280 V" in mistyped.content.decode()
    phone.post(at("cautions", build, "stage-2"), {"mains": "231", "read": "on"})
    post_reading(phone, build, "300", "stage-2", "check-2-1")
    assert Reading.objects.get(check_row__key="check-2-1").mains_volts == 231


def test_ticks_go_both_ways_and_never_double(phone, build):
    for wish, left in (("yes", 1), ("yes", 1), ("no", 0), ("no", 0)):
        phone.post(at("tick", build, "stage-1", "step-1-1"), {"done": wish})
        assert Tick.objects.count() == left


def picture(size=(900, 600), kind="JPEG", **more):
    out = io.BytesIO()
    Image.new("RGB", size, "#886644").save(out, kind, **more)
    return SimpleUploadedFile(f"photo.{kind.lower()}", out.getvalue())


def test_a_photo_is_written_anew_without_its_place(phone, build):
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (51.0, 30.0, 0.0)}
    phone.post(at("add-photo", build, "stage-1", "step-1-1"), {"photo": picture(exif=exif), "entry_key": str(uuid4())})
    photo = Photo.objects.get()
    with Image.open(photo.full) as kept:
        assert kept.format == "JPEG" and not kept.getexif()
    shown = phone.get(at("photo", build, photo.pk, "thumb"))
    assert shown["Content-Type"] == "image/jpeg" and shown["X-Content-Type-Options"] == "nosniff"


def test_a_heic_photo_is_read(phone, build):
    """heic.heic was made with libheif's encoder from a plain drawing; the site itself only decodes."""
    raw = (Path(__file__).parent / "heic.heic").read_bytes()
    phone.post(
        at("add-photo", build, "stage-1", "step-1-1"),
        {"photo": SimpleUploadedFile("p.heic", raw), "entry_key": str(uuid4())},
    )
    assert (Photo.objects.get().width, Photo.objects.get().height) == (320, 240)


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_phones_other_formats_are_read(phone, build, kind):
    phone.post(at("add-photo", build, "stage-1", "step-1-1"), {"photo": picture(kind=kind), "entry_key": str(uuid4())})
    assert Photo.objects.get().width == 900


@pytest.mark.parametrize("raw", [b"<svg onload=alert(1)>", b"", b"\xff\xd8\xff\xe0 cut short"])
def test_what_is_no_photo_is_refused(phone, build, raw):
    answer = phone.post(
        at("add-photo", build, "stage-1", "step-1-1"),
        {"photo": SimpleUploadedFile("x.jpg", raw), "entry_key": str(uuid4())},
    )
    assert answer.status_code == 422 and not Photo.objects.exists()


def test_a_damaged_photo_is_told_as_such(phone, build):
    whole = picture(size=(2000, 1500)).read()
    answer = phone.post(
        at("add-photo", build, "stage-1", "step-1-1"),
        {"photo": SimpleUploadedFile("x.jpg", whole[: len(whole) // 2]), "entry_key": str(uuid4())},
    )
    assert answer.status_code == 422 and "damaged" in answer.content.decode()


def test_a_snag_is_reported_once_and_escaped(phone, build):
    data = {
        "severity": "slowed",
        "kind": "words",
        "about": "step:step-1-1",
        "words": "<script>alert(1)</script>",
        "entry_key": str(uuid4()),
    }
    for _ in range(2):
        answer = phone.post(at("new-snag", build, "stage-1"), data)
    snag = Snag.objects.get()
    assert snag.step.key == "step-1-1"
    assert "&lt;script&gt;" in phone.get(answer["Location"]).content.decode()


def test_a_snag_can_be_reported_even_after_a_stop(phone, build):
    post_reading(phone, build, "450")
    assert phone.get(at("new-snag", build, "stage-1")).status_code == 200


def test_charts_show_every_pin(phone, build):
    assert phone.get(at("charts", build, "voltage")).status_code == 200
    assert phone.get(at("charts", build, "nonsense")).status_code == 404


def test_an_unfinished_build_is_not_signed_off(phone, build):
    phone.post(at("finish", build))
    build.refresh_from_db()
    assert build.finished_at is None


def test_several_photos_go_in_at_once_and_a_retry_adds_none(phone, build):
    key = str(uuid4())
    for _ in range(2):
        phone.post(
            at("add-photo", build, "stage-1", "step-1-1"), {"photo": [picture(), picture(kind="PNG")], "entry_key": key}
        )
    assert [photo.step.key for photo in Photo.objects.all()] == ["step-1-1", "step-1-1"]


def test_one_bad_photo_among_several_is_named_and_the_others_are_kept(phone, build):
    bad = SimpleUploadedFile("notes.txt", b"no photo")
    answer = phone.post(
        at("add-photo", build, "stage-1", "step-1-1"), {"photo": [picture(), bad], "entry_key": str(uuid4())}
    )
    assert answer.status_code == 422
    assert "notes.txt: This file cannot be read as a photo" in answer.content.decode()
    assert Photo.objects.count() == 1


def test_more_photos_than_a_post_may_hold_are_refused(phone, build):
    many = [picture() for _ in range(13)]
    answer = phone.post(at("add-photo", build, "stage-1", "step-1-1"), {"photo": many, "entry_key": str(uuid4())})
    assert answer.status_code == 422
    assert "12 photos at a time" in answer.content.decode()
    assert not Photo.objects.exists()


@pytest.mark.lengthy
def test_photos_go_with_a_check_and_with_a_stage(phone, build):
    phone.post(at("add-check-photo", build, "stage-1", "check-1-1"), {"photo": picture(), "entry_key": str(uuid4())})
    phone.post(at("add-stage-photo", build, "stage-1"), {"photo": picture(), "entry_key": str(uuid4())})
    assert [(p.check_row and p.check_row.key, p.step) for p in Photo.objects.all()] == [
        ("check-1-1", None),
        (None, None),
    ]
    assert "Your photo 1" in phone.get(at("check", build, "stage-1", "check-1-1")).content.decode()


def test_with_htmx_the_photos_come_back_with_a_fresh_form(phone, build):
    key = str(uuid4())
    answer = phone.post(
        at("add-stage-photo", build, "stage-1"), {"photo": picture(), "entry_key": key}, headers={"HX-Request": "true"}
    )
    assert "photos-stage" in answer.content.decode()
    assert key not in answer.content.decode()


def test_the_pointer_goes_on_once_the_photo_that_it_asked_for_is_there(client):
    revision = factories.make_revision(checks=1, steps=1, issued=False)
    Step.objects.update(photo=Step.Photo.REQUIRED)
    build, phone = factories.make_build(revision=issue(revision)), client
    phone.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    step = build.revision.stages.get(key="stage-1").steps.get()
    Tick.objects.create(build=build, step=step)
    pointer = f'id="next" data-line="step-{step.key}"'
    assert pointer in phone.get(at("stage", build, "stage-1")).content.decode()
    answers = []
    for sent in (SimpleUploadedFile("a.jpg", b"no picture"), picture()):
        data = {"photo": sent, "entry_key": str(uuid4())}
        answers.append(phone.post(at("add-photo", build, "stage-1", step.key), data, headers={"HX-Request": "true"}))
    refused, taken = (answer.content.decode() for answer in answers)
    assert answers[0].status_code == 422 and pointer in refused
    assert f"photos-step-{step.key}" in taken and 'id="next" data-line=""' in taken
    assert at("check", build, "stage-1", "check-1-1") in taken
