"""A figure of an issued guide that was wrong: readings judged by it would be called right by a band that is not."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Erratum, MadeSafe, PowerOn, Reading, Tick
from builds.bench.offline.judging import make_key, rules_for
from builds.bench.readings.context import build_context
from builds.bench.readings.taking import take_reading
from builds.guides.figures import band_for
from builds.guides.models import Check, FigureCorrection, Revision, Step
from builds.notifications.models import Notification
from builds.review.corrected_figures import list_widened_limits
from checks.band import Band
from tests import factories

pytestmark = pytest.mark.django_db
BACKEND = "django.contrib.auth.backends.ModelBackend"
NARROW = {"expected": "280 V", "band": "3%", "stop_above": "320 V"}  # as issued: 300 V ± 10 %, stop above 400 V


@pytest.fixture
def build():
    made = factories.make_build(revision=factories.make_revision(steps=1))
    Tick.objects.bulk_create(Tick(build=made, step=step) for step in Step.objects.filter(stage__revision=made.revision))
    return made


@pytest.fixture
def desk(build):
    client = Client()
    client.force_login(build.revision.kit.designers.get(), backend=BACKEND)
    return client


@pytest.fixture
def phone(build):
    client = Client()
    client.force_login(build.builder, backend=BACKEND)
    return client


def check_of(build, key="check-1-1"):
    return Check.objects.select_related("stage__revision").get(stage__revision=build.revision, key=key)


def address(name, build, *more):
    return reverse(f"review:{name}", args=[build.revision.kit.key, build.revision.letter, *more])


def publish(desk, build, key="check-1-1", **figures):
    stage = f"stage-{key.split('-')[1]}"
    words = {"about": f"check:{stage}/{key}", "words": "The guide's figure was wrong.", "entry_key": str(uuid4())}
    answer = desk.post(address("errata", build), words | figures)
    build.refresh_from_db()
    build.revision.refresh_from_db()
    return answer


def read(build, typed, key="check-1-1"):
    return take_reading(build, check_of(build, key), typed, by=build.builder)


def test_a_reading_is_judged_by_the_corrected_figures_and_never_by_those_as_issued(desk, build):
    assert publish(desk, build, **NARROW).status_code == 302
    assert read(build, "300 V").outcome == "out of band"
    assert read(build, "280 V").outcome == "in band"
    assert read(build, "325 V").outcome == "switch off"


def test_the_row_as_issued_stays_and_a_correction_is_never_rewritten(desk, build):
    publish(desk, build, **NARROW)
    row = FigureCorrection.objects.get()
    assert check_of(build).expected == "300 V"
    for change in ({"figures": {}}, {"at": timezone.now()}, {"reason": "Other."}):
        with pytest.raises(IntegrityError), transaction.atomic():
            FigureCorrection.objects.filter(pk=row.pk).update(**change)


def test_a_reading_past_the_stop_limit_as_corrected_orders_the_power_off(desk, phone, build):
    PowerOn.objects.create(build=build, at=timezone.now())
    read(build, "325 V", "check-2-1")
    assert build.statuses.get().passed
    publish(desk, build, "check-2-1", **NARROW)
    status = build.statuses.get()
    assert (status.passed, status.outcome, status.attempts) == (False, "switch off", 2)
    assert [r.outcome for r in Reading.objects.order_by("attempt")] == ["in band", "switch off"]
    first, again = Reading.objects.order_by("attempt")
    assert again.typed == first.typed and again.at == first.at and "judged again" in again.explanation
    page = phone.get(reverse("bench:build", args=[build.pk]), follow=True).content.decode()
    assert "witch off" in page


def test_a_reading_below_a_stop_limit_over_the_meters_range_is_a_stop_too(desk, build):
    take_reading(build, check_of(build, "check-2-1"), "-290 V", by=build.builder)
    publish(desk, build, "check-2-1", stop_below="-250 V")
    assert build.statuses.get().stop is not None


def test_a_reading_that_the_new_stop_does_not_reach_is_read_again_and_not_stopped(desk, build):
    read(build, "300 V")
    publish(desk, build, **NARROW)
    status = build.statuses.get()
    assert not status.passed and status.stop is None and status.attempts == 1


def test_an_erratum_taken_back_gives_back_the_figures_and_not_the_readings_judged_by_it(desk, build):
    publish(desk, build, **NARROW)
    read(build, "280 V")
    desk.post(address("withdraw-erratum", build, Erratum.objects.get().pk))
    build.revision.refresh_from_db()
    assert not build.statuses.get().passed
    assert read(build, "325 V").outcome == "in band"
    assert FigureCorrection.objects.get().withdrawn_at is not None


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"expected": "9 ohm", "band": "5%"}, "expected"),
        ({"expected": "260 V", "band": "-5%"}, "band"),
        ({"low": "280 V", "high": "250 V"}, "high"),
        ({"stop_above": "OL"}, "stop_above"),
        ({"expected": "model"}, "expected"),
        ({"expected": "300 V", "band": "10%"}, "expected"),
    ],
)
def test_figures_that_an_import_would_refuse_are_refused_at_their_field(desk, build, figures, field):
    answer = publish(desk, build, **figures)
    assert answer.status_code == 422 and not Erratum.objects.exists()
    assert answer.context["form"].errors and (field in answer.context["form"].errors or field == "high")


@pytest.mark.parametrize(
    "figures",
    [
        {"expected": "300 V", "band": "15%"},
        {"at_least": "200 V"},
        {"stop_above": "450 V"},
    ],
)
def test_nothing_is_widened_without_a_written_reason_that_is_kept(desk, build, figures):
    answer = publish(desk, build, "check-2-1", **figures)
    assert answer.status_code == 422 and "reason" in answer.context["form"].errors
    assert publish(desk, build, "check-2-1", reason="Measured on three.", **figures).status_code == 302
    assert FigureCorrection.objects.get().reason == "Measured on three."


def test_a_stop_limit_left_blank_stays(desk, build):
    publish(desk, build, expected="280 V", band="3%")
    assert band_for(check_of(build)).stop_above == 400.0


def test_a_band_past_a_parts_rating_meets_the_objection_of_issuing(desk):
    """An electrolytic rated 350 V: a band that reaches past it is issued only with a written reason."""
    capacitor = {
        "ref": "C1",
        "kind": "electrolytic",
        "value": "47u",
        "detail": {"joins": ["ht", "chassis"], "volts": "350 V"},
    }
    revision = factories.make_revision(steps=1, parts=(capacitor,), issued=False)
    Check.objects.filter(stage__revision=revision).update(stop_above="")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    client = Client()
    client.force_login(revision.kit.designers.get(), backend=BACKEND)
    answer = publish(client, build, "check-2-1", low="340 V", high="380 V")
    assert answer.status_code == 422
    assert "C1" in str(answer.context["form"].errors["reason"])


def test_figures_for_something_that_is_not_a_check_are_refused(desk, build):
    data = {"about": "stage:stage-1", "words": "W", "entry_key": str(uuid4()), "expected": "280 V", "band": "3%"}
    assert desk.post(address("errata", build), data).status_code == 422


@pytest.mark.lengthy
def test_every_page_and_paper_says_the_corrected_figures_and_that_they_were_corrected(desk, phone, build):
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    publish(desk, build, **NARROW)
    told = "As issued: 300 V ± 10 %, switch off above 400 V"
    phone.post(reverse("bench:confirm-erratum", args=[build.pk, Erratum.objects.get().pk]))
    own, letter = [build.pk], [build.revision.kit.key, build.revision.letter]
    pages = {
        "check": phone.get(reverse("bench:check", args=[*own, "stage-1", "check-1-1"])),
        "copy": phone.get(reverse("bench:copy", args=own)),
        "guide": desk.get(reverse("reports:guide-html", args=letter)),
        "worksheet": phone.get(reverse("reports:worksheet", args=own)),
        "review": desk.get(address("check", build, check_of(build).pk)),
    }
    for name, answer in pages.items():
        text = b"".join(answer).decode().replace("\N{NO-BREAK SPACE}", " ")
        assert answer.status_code == 200 and told in text, name
        assert "288" in text or name == "review", name  # 280 V + 3 %
    news = desk.get(address("errata", build)).content.decode()
    assert "Corrected figures: 280 V ± 3 %, switch off above 320 V." in news


@pytest.mark.lengthy
def test_a_phone_judges_by_the_corrected_figures_under_another_key(desk, build):
    before = build_context(build, check_of(build), None)
    publish(desk, build, **NARROW)
    after = build_context(build, check_of(build), None)
    assert make_key(before) != make_key(after)
    assert rules_for(after)["above"] == 320.0


@pytest.mark.lengthy
def test_a_correction_in_words_after_the_figures_lets_no_verdict_stand_again(desk, phone, build):
    from builds.bench.gates.facts import load_facts

    publish(desk, build, **NARROW)
    assert check_of(build).pk not in load_facts(build).in_words
    publish(desk, build)
    assert check_of(build).pk in load_facts(build).in_words


def test_a_draft_that_leaves_the_correction_out_is_not_issued_without_a_reason(desk, build):
    from builds.guides.objections import objections_to
    from builds.guides.revisions import clone

    publish(desk, build, **NARROW)
    draft = clone(build.revision)
    assert "correction-left-out" in {o.code for o in objections_to(draft)}
    Check.objects.filter(stage__revision=draft, key="check-1-1").update(expected="280 V", band="3%")
    assert "correction-left-out" not in {o.code for o in objections_to(draft)}


@pytest.mark.lengthy
def test_the_same_page_sent_twice_corrects_once(desk, build):
    data = {"about": "check:stage-1/check-1-1", "words": "W", "entry_key": str(uuid4())} | NARROW
    assert [desk.post(address("errata", build), data).status_code for _tap in (1, 2)] == [302, 302]
    assert FigureCorrection.objects.count() == 1
    assert desk.post(address("errata", build), data | {"stop_above": "310 V"}).status_code == 422


def test_whoever_uses_a_finished_amplifier_past_the_new_stop_limit_is_told_to_switch_off(desk, build):
    read(build, "325 V", "check-2-1")
    factories.give_address(build.builder, "builder@example.org")
    type(build).objects.filter(pk=build.pk).update(finished_at=timezone.now())
    publish(desk, build, "check-2-1", **NARROW)
    told = Notification.objects.filter(person=build.builder).values_list("words", flat=True)
    assert any("Switch off and unplug" in text and "325 V" in text for text in told)
    assert build.statuses.get().passed  # what was signed off stays on record as it was


def sign_off(build):
    factories.give_address(build.builder, "builder@example.org")
    factories.give_address(build.revision.kit.designers.get(), "designer@example.org")
    type(build).objects.filter(pk=build.pk).update(finished_at=timezone.now())


def words_to(person):
    return [*Notification.objects.filter(person=person).values_list("words", flat=True)]


@pytest.mark.lengthy
def test_whoever_signed_off_a_reading_out_of_the_corrected_band_is_told_and_so_is_the_designer(desk, phone, build):
    read(build, "300 V", "check-2-1")
    read(build, "300 V", "check-2-2")
    sign_off(build)
    publish(desk, build, "check-2-1", **NARROW)
    publish(desk, build, "check-2-2", expected="300 V", band="5%")  # within it still
    for person in (build.builder, build.revision.kit.designers.get()):
        (told,) = [words for words in words_to(person) if "out of the corrected band" in words]
        assert "Do not use build" in told and "300 V" in told
    for client, name in ((phone, "bench:build"), (desk, "review:build")):
        page = client.get(reverse(name, args=[build.pk])).content.decode().replace("\xa0", " ")
        assert page.count("Too high: 300 V. The upper limit is 288 V.") == 1, name
        assert "Do not use this build" in page, name
    assert build.statuses.filter(passed=True).count() == 2  # what was signed off stays on record as it was


def test_a_signed_off_build_past_the_corrected_stop_says_first_to_switch_off(desk, phone, build):
    read(build, "325 V", "check-2-1")
    sign_off(build)
    publish(desk, build, "check-2-1", **NARROW)
    page = phone.get(reverse("bench:build", args=[build.pk])).content.decode()
    assert "Switch off. Unplug. Do not use this build." in page and "above the stop limit of 320\xa0V" in page


@pytest.mark.lengthy
def test_nothing_is_said_of_a_signed_off_build_once_the_correction_is_withdrawn(desk, phone, build):
    read(build, "300 V", "check-2-1")
    sign_off(build)
    publish(desk, build, "check-2-1", **NARROW)
    desk.post(address("withdraw-erratum", build, Erratum.objects.get().pk))
    assert "Do not use this build" not in phone.get(reverse("bench:build", args=[build.pk])).content.decode()


@pytest.mark.lengthy
def test_a_stop_by_figures_that_are_withdrawn_holds_and_says_so_until_the_check_reads_well(desk, phone, build):
    PowerOn.objects.create(build=build, at=timezone.now())
    read(build, "325 V", "check-2-1")
    publish(desk, build, "check-2-1", **NARROW)
    desk.post(address("withdraw-erratum", build, Erratum.objects.get().pk))
    status = build.statuses.get()
    assert status.stop is not None and not status.passed
    page = phone.get(reverse("bench:stop", args=[build.pk])).content.decode()
    assert "Switch off" in page and "figures that have been withdrawn since" in page
    MadeSafe.objects.create(build=build, typed="1.0", volts=1.0, is_safe=True)
    assert read(build, "325 V", "check-2-1").outcome == "in band"
    status.refresh_from_db()
    assert status.stop is None and status.passed


def test_a_program_is_told_which_readings_were_judged_by_figures_that_were_corrected_since(desk, build):
    from builds.operations.api.reading import _as_corrected

    before, other = read(build, "300 V"), read(build, "300 V", "check-1-2")
    publish(desk, build, **NARROW)
    after, told = read(build, "280 V"), _as_corrected(build.revision)
    assert [told(row)["figures_corrected"] for row in (before, other, after)] == [True, False, False]


@pytest.mark.lengthy
def test_findings_say_that_figures_were_corrected(desk, build):
    builds = [build, *(factories.make_build(revision=build.revision) for _n in range(3))]
    publish(desk, build, expected="300 V", band="5%")
    for one in builds:
        one.revision.refresh_from_db()
        read(one, "322 V")
    page = desk.get(address("findings", build)).content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "These figures were corrected on" in page and "As issued: 300 V ± 10 %" in page


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        (Band(None, 0.1), Band(-5.0, 0.1), "band"),  # -3 V was out: of an upper limit alone the size counts
        (Band(None, 0.1), Band(-0.1, 0.1), ""),
        (Band(-5.0, 5.0, stop_above=50.0), Band(-4.0, 5.0, stop_above=50.0), ""),
        (Band(None, 60.0, stop_above=70.0), Band(-80.0, 60.0, stop_above=70.0), "band stop"),  # -75 V was a stop
        (Band(-5.0, 5.0, stop_below=-50.0), Band(-5.0, 5.0, stop_below=-50.0, stop_above=100.0), "stop"),
        (Band(-34.0, -28.0, stop_below=-50.0), Band(-33.0, -28.0, stop_below=-50.0), ""),
        (Band(285.0, 335.0, stop_above=400.0), Band(285.0, 330.0, stop_above=390.0), ""),
        (Band(285.0, 335.0), Band(285.0, None), "band"),
    ],
)
def test_a_correction_is_wider_by_what_it_lets_in_and_no_longer_stops_whatever_field_says_so(before, after, says):
    words = " ".join(list_widened_limits(before, after)).lower()
    assert ("band is wider" in words, "stop limit" in words) == ("band" in says, "stop" in says)
