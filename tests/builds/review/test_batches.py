"""Batches noted by the designer, and what the readings go with."""

import json
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import FittedValve
from builds.reports.gather import gather
from builds.review.correlations import Circumstances, correlate_check
from builds.review.correlations_cache import list_correlations
from builds.review.models import PartBatch
from builds.review.queries import builds_page
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def programme():
    """Twelve builds of a kit whose first check reads low in the last four, which have another batch and, by turns, two
    makes."""
    designer = factories.make_designer()
    revision = factories.make_revision(
        designer=designer, checks=6, parts=({"ref": "R8", "kind": "resistor", "value": "1k5"},)
    )
    builds = [factories.make_build(revision=revision, serial=f"{n:02d}") for n in range(1, 13)]
    for c, check in enumerate(factories.checks_of(revision=revision)):
        for n, build in enumerate(builds):
            scatter = ((n * 7 + c * 5) % 11 - 5) * 0.4
            factories.add_reading(build=build, check=check, value=300 + scatter - (30 if c == 0 and n >= 8 else 0))
    return revision, designer, builds


def note(client, revision, designer, **fields):
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    return client.post(
        reverse("review:batches", args=[revision.kit.key, "A"]),
        {"refs": "r8", "name": "week 22", "first": "09", "last": "12", **fields},
    )


@pytest.mark.lengthy
def test_a_noted_batch_explains_the_check_it_shifted_and_no_other(client, programme):
    revision, designer, builds = programme
    assert note(client, revision, designer).status_code == 302
    said = [row for row in list_correlations(revision, Circumstances(revision)) if row.circumstance.kind == "batch"]
    assert [(row.label, row.check.key) for row in said] == [("batch of R8", "check-1-1")]
    assert (
        "for week 22 (4 builds)" in said[0].sentence
        and "for no recorded batch (8 builds)" in said[0].sentence
        and said[0].q < 0.001
    )
    page = client.get(reverse("review:check", args=[revision.kit.key, "A", said[0].check.pk])).content.decode()
    assert "Correlated with the batch of R8" in page


@pytest.mark.lengthy
def test_the_make_counts_that_was_in_the_socket_when_the_reading_was_taken(programme):
    revision, _designer, builds = programme
    check = factories.checks_of(revision=revision)[0]
    then = timezone.now()
    for n, build in enumerate(builds):
        low = n >= 8
        FittedValve.objects.create(
            build=build, ref="V1", make="Kestrel" if low else "Northlight", at=then - timedelta(hours=2)
        )
        FittedValve.objects.create(build=build, ref="V1", make="northlight.", why="doubt", at=then + timedelta(hours=2))
    readings = [(b.pk, then, 300.0 + n % 3 - (30 if n >= 8 else 0)) for n, b in enumerate(builds)]
    results = {row.label: row for row in correlate_check(check, readings, Circumstances(revision))}
    assert results["make of V1"].is_reported and "for Kestrel (4 builds)" in results["make of V1"].sentence
    late = [(b, then + timedelta(hours=3), v) for b, _, v in readings]
    assert "make of V1" not in {row.label for row in correlate_check(check, late, Circumstances(revision))}


@pytest.mark.lengthy
def test_a_build_has_one_batch_of_a_part(client, programme):
    revision, designer, _ = programme
    note(client, revision, designer)
    answer = note(client, revision, designer, name="week 23", first="12", last="")
    assert (
        answer.status_code == 422 and "already has" in answer.content.decode() and "week 23" in answer.content.decode()
    )
    assert PartBatch.objects.count() == 1


@pytest.mark.lengthy
@pytest.mark.parametrize(
    ("field", "typed", "text"),
    [
        ("refs", "R8, R99", "has no R99"),
        ("refs", " , ", "Name"),
        ("first", "77", "No build"),
        ("last", "08", "comes before"),
        ("name", "", "recognise"),
        ("first", "09\x00", "Null"),
    ],
)
def test_what_is_not_in_the_kit_is_refused_with_what_was_typed(client, programme, field, typed, text):
    revision, designer, _ = programme
    answer = note(client, revision, designer, **{field: typed})
    assert answer.status_code == 422 and text in answer.content.decode()
    assert not PartBatch.objects.exists()


@pytest.mark.lengthy
def test_a_note_can_be_taken_away_by_the_kits_designer_only(client, programme):
    revision, designer, builds = programme
    note(client, revision, designer)
    address = reverse("review:take-away-batch", args=[revision.kit.key, "A", PartBatch.objects.get().pk])
    for stranger in (builds[0].builder, factories.make_designer()):
        client.force_login(stranger, backend="django.contrib.auth.backends.ModelBackend")
        assert client.post(address).status_code in (403, 404)
    assert PartBatch.objects.count() == 1
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    assert client.post(address).status_code == 302 and not PartBatch.objects.exists()


@pytest.mark.lengthy
def test_builds_with_equal_circumstances_give_no_correlation(programme):
    revision, _, _ = programme
    PartBatch.objects.create(revision=revision, refs=["R8"], name="all").builds.set(revision.builds.all())
    around = Circumstances(revision)
    assert not [row for row in list_correlations(revision, around) if row.circumstance.kind == "batch"]


@pytest.mark.lengthy
def test_the_fault_summary_says_what_goes_with_a_batch(client, programme):
    revision, designer, _ = programme
    key = revision.kit.key
    note(client, revision, designer)
    rows = client.get(reverse("reports:json", args=[key, "A"])).getvalue()
    said = [row for row in json.loads(rows)["goes_with"] if row["with"] == "batch of R8"]
    assert [row["check"] for row in said] == ["Check 1.1"] and said[0]["false_discovery_rate"] < 0.001
    assert "Correlated with the batch of R8" in client.get(reverse("reports:summary", args=[key, "A"])).content.decode()
    note(client, revision, designer, name="week 18", first="01", last="08")
    assert "for week 18 (8 builds)" in client.get(reverse("reports:summary", args=[key, "A"])).content.decode()


@pytest.mark.lengthy
def test_builds_one_to_twelve_are_counted_as_people_count(client):
    """Serials without leading zeros: a perfect rise is a trend, and a batch from 2 to 10 is nine builds."""
    designer = factories.make_designer()
    revision = factories.make_revision(
        designer=designer, checks=1, parts=({"ref": "R8", "kind": "resistor", "value": "1k5"},)
    )
    check, *_ = factories.checks_of(revision=revision)
    for n in (11, 2, 10, 1, 9, 3, 12, 4, 8, 5, 7, 6):
        factories.add_reading(
            build=factories.make_build(revision=revision, serial=str(n)), check=check, value=290.0 + n
        )
    rise = next(row for row in list_correlations(revision, Circumstances(revision)) if row.label == "serial number")
    assert rise.dependence.tau == pytest.approx(1) and rise.is_reported
    page = (
        client_of(client, designer)
        .get(reverse("review:check", args=[revision.kit.key, "A", check.pk]))
        .content.decode()
    )
    assert "Readings rise with the serial number" in page
    reported = [row for row in gather(revision).correlations if row.label == "serial number"]
    assert reported and reported[0].dependence.tau == pytest.approx(1)
    assert [b.serial for b in builds_page(revision, "serial", 0)[0]] == [str(n) for n in range(1, 13)]
    assert note(client, revision, designer, first="2", last="10").status_code == 302
    assert {b.serial for b in PartBatch.objects.get().builds.all()} == {str(n) for n in range(2, 11)}


def client_of(client, person):
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client
