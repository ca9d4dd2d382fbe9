"""A valve changed after its readings: the one that sits there now was never measured."""

from contextlib import contextmanager
from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.bench.diagnosis.observations import observations
from builds.bench.gates import gating
from builds.bench.gates.gating import concede, refresh_status
from builds.bench.models import MadeSafe
from builds.bench.readings.taking import take_reading
from builds.bench.valves.replaced import checks_at
from builds.guides.models import Check, Revision
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    """A powered stage with a reading at V1 and one at the supply, both in band."""
    valve = {"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83", "base": "B9A"}}
    revision = factories.make_revision(stages=2, checks=2, steps=0, parts=(valve,), issued=False)
    Check.objects.filter(stage__revision=revision, key="check-2-1").update(red="V1.1")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    for key in ("check-1-1", "check-1-2", "check-2-1", "check-2-2"):
        read(build, key, "300 V")
    return build


def read(build, key, typed, at=None):
    row = Check.objects.get(stage__revision=build.revision, key=key)
    return take_reading(build, row, typed, by=build.builder, mains_volts=230.0, at=at)


def note(client, build, **fields):
    MadeSafe.objects.create(build=build, typed="1", volts=1.0, is_safe=True)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post(
        reverse("bench:valves", args=[build.pk]), {"ref": "V1", "make": "Kestrel", "entry_key": uuid4(), **fields}
    )
    assert answer.status_code == 302, answer.content.decode()


@contextmanager
def freeze(moment):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(timezone, "now", lambda: moment)
        yield


def passed(build) -> set[str]:
    return set(build.statuses.filter(passed=True).values_list("check_row__key", flat=True))


ALL = {"check-1-1", "check-1-2", "check-2-1", "check-2-2"}


def test_a_swap_asks_for_the_readings_of_that_socket_again_and_for_no_others(client, build):
    note(client, build)
    assert passed(build) == ALL and all(state.is_done for state in gating.stage_states(build))
    note(client, build, make="Northlight", why="doubt")
    assert passed(build) == ALL - {"check-2-1"}
    assert [state.is_done for state in gating.stage_states(build)] == [True, False]
    read(build, "check-2-1", "301 V")
    assert passed(build) == ALL


def test_a_corrected_note_asks_for_nothing(client, build):
    note(client, build)
    note(client, build, make="Kestrell", why="slip")
    assert passed(build) == ALL


@pytest.mark.lengthy
def test_no_page_calls_the_old_valves_reading_right(client, build):
    note(client, build)
    note(client, build, make="Northlight", why="faulty")
    at = [build.pk, "stage-2"]
    client.post(reverse("bench:cautions", args=at), {"read": "on", "mains_volts": "230"})
    for address in (
        reverse("bench:stage", args=at),
        reverse("bench:grid", args=at),
        reverse("bench:copy", args=at[:1]),
    ):
        page = client.get(address).content.decode()
        assert "out of date" in page, address
    page = client.get(reverse("bench:check", args=[*at, "check-2-1"])).content.decode()
    assert "the mains voltage or the guide was changed after this reading." in page and 'id="verdict"' not in page


def test_the_designers_word_alone_lets_an_old_reading_pass(client, build):
    note(client, build)
    note(client, build, make="Northlight", why="doubt")
    row = Check.objects.get(stage__revision=build.revision, key="check-2-1")
    assert not refresh_status(build, row).passed
    concede(build, row, by=None, reason="The same valve, put back.")
    assert "check-2-1" in passed(build)


def test_where_nothing_tells_what_reads_a_valve_all_its_stages_are_read_again(build):
    assert {check.key for check in checks_at(build, "V1")} == {"check-2-1"}
    assert {check.key for check in checks_at(build, "V9")} == {"check-2-1", "check-2-2"}


def test_a_reading_of_the_old_valve_that_arrives_late_lets_nothing_pass(client, build):
    note(client, build)
    note(client, build, make="Northlight", why="doubt")
    hour = timedelta(hours=1)
    build.valves.filter(why="doubt").update(
        at=timezone.now() + hour
    )  # the reading below is an hour older than the swap
    moved = timezone.now() + hour / 2
    with freeze(moved + hour):
        read(build, "check-2-1", "300 V", at=moved)
        assert "check-2-1" not in passed(build)
        read(build, "check-2-1", "300 V", at=moved + hour)
        assert "check-2-1" in passed(build)


def test_a_reading_of_the_old_valve_confirms_none_of_the_new_one(client, build):
    note(client, build)
    assert read(build, "check-2-1", "329 V").outcome == "too close to call"
    note(client, build, make="Northlight", why="doubt")
    read(build, "check-2-1", "329 V")
    assert "check-2-1" not in passed(build)
    read(build, "check-2-1", "329 V")
    assert "check-2-1" in passed(build)


def test_an_old_valves_reading_is_no_evidence_and_gives_no_current_or_dissipation(client, build):
    note(client, build)
    assert "stage-2/check-2-1" in {seen.place for seen in observations(build)}
    note(client, build, make="Northlight", why="doubt")
    assert {seen.place for seen in observations(build)} == {
        "stage-1/check-1-1",
        "stage-1/check-1-2",
        "stage-2/check-2-2",
    }


@pytest.fixture
def pair():
    """Two like valves with a reading at each, and a third of another type."""
    valves = [
        {"ref": ref, "kind": "pentode", "detail": {"type": type_, "base": "octal"}}
        for ref, type_ in (("V1", "EL34"), ("V2", "EL34"), ("V3", "6V6"))
    ]
    revision = factories.make_revision(stages=2, checks=3, steps=0, parts=tuple(valves), issued=False)
    for n in (1, 2, 3):
        Check.objects.filter(stage__revision=revision, key=f"check-2-{n}").update(red=f"V{n}.3")
    Revision.objects.filter(pk=revision.pk).update(state="issued", issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    for key in (f"check-{stage}-{n}" for stage in (1, 2) for n in (1, 2, 3)):
        read(build, key, "300 V")
    return build


@pytest.mark.lengthy
def test_valves_that_changed_places_leave_neither_socket_its_reading_though_one_is_noted(client, pair):
    for ref in ("V1", "V2", "V3"):
        note(client, pair, ref=ref)
    note(client, pair, ref="V1", make="Northlight", why="places")
    assert {"check-2-1", "check-2-2", "check-2-3"} - passed(pair) == {"check-2-1", "check-2-2"}
    read(pair, "check-2-1", "301 V")
    note(client, pair, ref="V2", make="Kestrel", why="places")  # the other half of the same exchange
    assert {"check-2-1", "check-2-2", "check-2-3"} - passed(pair) == {"check-2-2"}
    read(pair, "check-2-2", "301 V")
    note(client, pair, ref="V1", make="Kestrel", why="places")  # and back again
    assert {"check-2-1", "check-2-2", "check-2-3"} - passed(pair) == {"check-2-1", "check-2-2"}
