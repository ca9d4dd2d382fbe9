"""Errata beside a frozen guide, and stages shut for every build at once."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import Erratum, Halt, Reading
from builds.guides.models import Revision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def designer():
    return factories.make_designer()


@pytest.fixture
def build(designer):
    return factories.make_build(revision=factories.make_revision(designer=designer))


@pytest.fixture
def desk(client, designer):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def phone(build):
    from django.test import Client

    made = Client()
    made.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return made


def at(name, revision, *more):
    return reverse(f"review:{name}", args=[revision.kit.key, revision.letter, *more])


def stage(build, key="stage-1"):
    return reverse("bench:stage", args=[build.pk, key])


def pin(desk, build, about="step:stage-1/step-1-1", words="The wire is **blue**, not brown.", key=None):
    data = {"about": about, "words": words, "again": "Look at yours.", "entry_key": str(key or uuid4())}
    return desk.post(at("errata", build.revision), data)


def test_an_erratum_published_with_a_double_tap_is_one_and_told_once(desk, build):
    key = uuid4()
    assert [pin(desk, build, key=key).status_code for _tap in (1, 2)] == [302, 302]
    assert Erratum.objects.count() == 1


def test_another_correction_on_a_used_page_comes_back_and_is_not_lost(desk, build):
    key = uuid4()
    pin(desk, build, key=key)
    answer = pin(desk, build, words="Fit R7 upright.", key=key)
    assert answer.status_code == 422 and Erratum.objects.count() == 1
    form = answer.context["form"]
    assert form.errors.as_data()["words"][0].code == "used" and form["words"].value() == "Fit R7 upright."
    pin(desk, build, words="Fit R7 upright.", key=form["entry_key"].value())
    assert Erratum.objects.count() == 2


@pytest.mark.lengthy
def test_an_erratum_is_read_and_confirmed_before_the_stage_goes_on(desk, phone, build):
    pin(desk, build)
    assert phone.get(stage(build))["Location"].endswith("/errata/")
    page = phone.get(stage(build), follow=True).content.decode()
    assert "<strong>blue</strong>" in page
    phone.post(reverse("bench:confirm-erratum", args=[build.pk, Erratum.objects.get().pk]))
    assert phone.get(stage(build)).status_code == 200
    assert "confirmed by 1 of" in desk.get(at("errata", build.revision)).content.decode()


def test_no_post_is_taken_before_it_is_confirmed(desk, phone, build):
    pin(desk, build)
    phone.post(
        reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"]), {"typed": "300", "entry_key": str(uuid4())}
    )
    assert not Reading.objects.exists()


def test_builders_past_the_stage_see_an_erratum_on_their_builds_page(desk, phone, build):
    pin(desk, build)
    page = phone.get(reverse("bench:build", args=[build.pk])).content.decode()
    assert "The guide was corrected" in page and "Look at yours" in page


def test_a_withdrawn_erratum_holds_nobody_up(desk, phone, build):
    pin(desk, build)
    desk.post(at("withdraw-erratum", build.revision, Erratum.objects.get().pk))
    assert phone.get(stage(build)).status_code == 200


@pytest.mark.parametrize("data", [{"about": "step:nowhere/x", "words": "W"}, {"about": "stage:stage-1", "words": ""}])
def test_an_erratum_about_nothing_or_without_words_is_refused(desk, build, data):
    assert desk.post(at("errata", build.revision), data).status_code == 422
    assert not Erratum.objects.exists()


def test_a_draft_takes_no_errata(desk, designer):
    draft = factories.make_revision(designer=designer, issued=False)
    answer = desk.post(at("errata", draft), {"about": "stage:stage-1", "words": "W", "entry_key": str(uuid4())})
    assert answer.status_code == 422
    assert "This is a draft" in answer.content.decode()


def test_an_erratum_of_another_revision_is_never_withdrawn_by_its_number(desk, designer, phone, build):
    """Withdrawn by mistake, a warning is gone from every bench of the other revision."""
    pin(desk, build)
    other = factories.make_revision(designer=designer)
    erratum = Erratum.objects.get()
    assert desk.post(at("withdraw-erratum", other, erratum.pk)).status_code == 404
    erratum.refresh_from_db()
    assert erratum.withdrawn_at is None and phone.get(stage(build))["Location"].endswith("/errata/")


def test_a_halt_shuts_the_stage_for_every_build_and_loses_nothing_typed(desk, phone, build):
    first = build.revision.stages.get(key="stage-1")
    desk.post(at("halt", build.revision), {"stage": first.pk, "reason": "C1 may be rated too low."})
    assert "C1 may be rated too low" in phone.get(stage(build)).content.decode()
    answer = phone.post(
        reverse("bench:reading", args=[build.pk, "stage-1", "check-1-1"]), {"typed": "311", "entry_key": str(uuid4())}
    )
    assert answer.status_code == 409
    assert "311" in answer.content.decode()
    assert not Reading.objects.exists()
    desk.post(at("lift", build.revision, Halt.objects.get().pk))
    assert phone.get(stage(build)).status_code == 200


def test_a_halt_needs_its_reason(desk, build):
    answer = desk.post(at("halt", build.revision), {"stage": build.revision.stages.first().pk, "reason": ""})
    assert answer.status_code == 422
    assert not Halt.objects.exists()


def test_errata_flow_into_the_next_drafts_change_list(desk, build):
    from builds.guides.revisions import clone

    pin(desk, build)
    assert "The wire is **blue**" in desk.get(at("changes", clone(build.revision))).content.decode()


@pytest.mark.parametrize(("ref", "stage_key"), [("H1", "stage-1"), ("R1", "stage-2")])
def test_an_erratum_is_pinned_to_any_part_named_by_a_step_or_not(desk, designer, ref, stage_key):
    made = factories.make_revision(
        designer=designer,
        issued=False,
        parts=({"ref": "R1", "kind": "resistor", "value": "1k"}, {"ref": "H1", "kind": "hardware"}),
    )
    made.stages.get(key="stage-2").steps.filter(key="step-2-1").update(parts=["R1"])
    Revision.objects.filter(pk=made.pk).update(state="issued", issued_at=timezone.now())
    page = desk.get(at("errata", made)).content.decode()
    assert "Parts not named in any step" in page
    data = {"about": f"part:{stage_key}/{ref}", "words": "Another screw.", "entry_key": str(uuid4())}
    answer = desk.post(at("errata", made), data)
    row = Erratum.objects.get()
    assert answer.status_code == 302 and (row.part.ref, row.stage.key, row.about) == (ref, stage_key, f"part {ref}")


@pytest.mark.lengthy
def test_a_confirmed_erratum_stays_at_its_step_its_part_or_its_check(desk, phone, build):
    pin(desk, build)
    pin(desk, build, about="check:stage-1/check-1-1", words="Black goes to the **shell**.")
    for row in Erratum.objects.all():
        phone.post(reverse("bench:confirm-erratum", args=[build.pk, row.pk]))
    page = phone.get(stage(build)).content.decode()
    assert page.index("step-step-1-1") < page.index("<strong>blue</strong>") < page.index("step-step-1-2")
    assert "corrected</span>" in page[page.index("check-1-1") :]
    check = reverse("bench:check", args=[build.pk, "stage-1", "check-1-1"])
    assert "<strong>shell</strong>" in phone.get(check).content.decode()
    desk.post(at("withdraw-erratum", build.revision, Erratum.objects.get(check_row__key="check-1-1").pk))
    assert "<strong>shell</strong>" not in phone.get(check).content.decode()


def test_what_an_erratum_is_pinned_to_is_called_as_builders_know_it(desk, build):
    page = desk.get(at("errata", build.revision)).content.decode()
    assert ">step 2: Do thing 2.</option>" in page and ">Check 1.1</option>" in page and ">step step-" not in page
    pin(desk, build)
    assert "Stage 1, step 1 ·" in desk.get(at("errata", build.revision)).content.decode()
