"""Noting valves: first fitted, swapped, corrected; and what sat in a socket when."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.models import FittedValve
from builds.bench.valves import fitting
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    revision = factories.make_revision(
        parts=(
            {"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83"}},
            {"ref": "R1", "kind": "resistor", "value": "1k"},
        )
    )
    return factories.make_build(revision=revision)


def post(client, build, **fields):
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    return client.post(reverse("bench:valves", args=[build.pk]), {"ref": "V1", "entry_key": uuid4(), **fields})


def test_the_first_valve_of_a_socket_needs_no_reason(client, build):
    assert post(client, build, make="  Northlight  ", code="LK 24").status_code == 302
    row = build.valves.get()
    assert (row.ref, row.make, row.code, row.why) == ("V1", "Northlight", "LK 24", "first")


def test_a_second_post_of_one_form_notes_one_valve(client, build):
    key = uuid4()
    for _ in range(2):
        post(client, build, make="Northlight", entry_key=key)
    assert build.valves.count() == 1


@pytest.mark.lengthy
def test_a_swap_has_to_say_why_and_nothing_typed_is_lost(client, build):
    post(client, build, make="Northlight")
    answer = post(client, build, make="Kestrel", code="7-25")
    assert answer.status_code == 422 and build.valves.count() == 1
    text = answer.content.decode()
    assert "already has a valve noted" in text and 'value="Kestrel"' in text and 'value="7-25"' in text
    assert post(client, build, make="Kestrel", why="doubt").status_code == 302
    assert [v.make for v in fitting.by_socket(build)["V1"]] == ["Northlight", "Kestrel"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"make": ""},
        {"make": "–"},
        {"make": "x" * 61},
        {"make": "Kestrel", "ref": "R1"},
        {"make": "Kestrel", "entry_key": "no key"},
        {"make": "Kestrel\x00"},
    ],
)
def test_what_cannot_be_noted_is_refused(client, build, wrong):
    assert post(client, build, **wrong).status_code == 422
    assert not build.valves.exists()


def test_a_corrected_slip_counts_from_the_moment_of_what_it_corrects(build):
    first = timezone.now() - timedelta(hours=2)
    FittedValve.objects.create(build=build, ref="V1", make="Nortlight", at=first)
    FittedValve.objects.create(build=build, ref="V1", make="Northlight", why="slip")
    rows = fitting.by_socket(build)["V1"]
    assert [(v.make, v.at, v.why) for v in rows] == [("Northlight", first, "first")]


def test_what_was_in_the_socket_when_a_reading_was_taken(build):
    start = timezone.now() - timedelta(hours=3)
    for n, make in enumerate(("one", "two", "three")):
        FittedValve.objects.create(
            build=build, ref="V1", make=make, why="doubt" if n else "first", at=start + timedelta(hours=n)
        )
    rows = fitting.by_socket(build)["V1"]
    results = [fitting.at_moment(rows, start + timedelta(minutes=m)).make for m in (-30, 0, 59, 61, 200)]
    assert results == ["one", "one", "one", "two", "three"]
    assert fitting.at_moment([], start) is None


def test_makes_typed_otherwise_are_one_make():
    assert fitting.make_key("Kestrel Works") == fitting.make_key(" KESTREL-works.") != fitting.make_key("Kestrel")


def test_a_powered_stage_asks_until_the_valve_is_noted(client, build):
    powered = build.revision.stages.get(power="on")
    assert fitting.sockets_without_note(build, powered) == ["V1"]
    assert fitting.sockets_without_note(build, build.revision.stages.get(power="off")) == []
    powered.not_fitted = ["V1"]
    assert fitting.sockets_without_note(build, powered) == []
    powered.not_fitted = []
    post(client, build, make="Northlight")
    assert fitting.sockets_without_note(build, powered) == []


def test_another_builder_neither_sees_nor_notes(client, build):
    client.force_login(factories.make_builder(), backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("bench:valves", args=[build.pk])
    assert client.get(address).status_code == 404
    assert client.post(address, {"ref": "V1", "make": "x", "entry_key": uuid4()}).status_code == 404
    assert not build.valves.exists()


def test_where_every_socket_is_noted_no_valve_is_offered_as_the_first_and_no_reason_is_chosen(client, build):
    """A swap noted as the first fitted would leave the old valve's readings standing."""
    address = reverse("bench:valves", args=[build.pk])
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    form = client.get(address).context["form"]
    assert form["why"].initial == "first" and not form.fields["why"].required
    refs = [value for value, _label in form.fields["ref"].choices]
    for ref in refs:
        fitting.note_fitted(build, ref, "Kestrel", "", "first", entry_key=uuid4(), by=build.builder)
    form = client.get(address + f"?socket={refs[0]}").context["form"]
    assert form["why"].initial == "" and form.fields["why"].required
    assert "first" not in dict(form.fields["why"].choices)
    for why in ("first", ""):
        sent = {"ref": refs[0], "make": "Northlight", "why": why, "entry_key": uuid4()}
        answer = client.post(address, sent)
        assert answer.status_code == 422
        assert [error.code for error in answer.context["form"].errors.as_data()["why"]] == ["why"]
