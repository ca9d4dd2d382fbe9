"""Readings, gates, stops and concessions."""

from importlib import import_module
from types import SimpleNamespace
from uuid import uuid4

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from builds.bench.gates import gating, sittings
from builds.bench.gates.facts import load_facts
from builds.bench.models import CheckStatus, MadeSafe, Reading, Tick
from builds.bench.readings.context import build_context
from builds.bench.readings.entry_keys import UsedKey
from builds.bench.readings.taking import take_reading
from checks.errors import ChecksError
from checks.meter import PRESETS
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    revision = factories.make_revision(stages=3, checks=1, steps=1)
    return factories.make_build(revision=revision, builder=factories.make_builder())


def stage(build, n):
    return build.revision.stages.get(key=f"stage-{n}")


def read(build, n, typed, **more):
    return take_reading(build, stage(build, n).checks.get(), typed, by=build.builder, **more)


def finish(build, n, typed="300"):
    for step in stage(build, n).steps.all():
        Tick.objects.get_or_create(build=build, step=step)
    return read(build, n, typed)


def states(build):
    return [s.state for s in gating.stage_states(build)]


@pytest.mark.parametrize(
    ("typed", "outcome", "passed"),
    [
        ("300", "in band", True),
        ("330", "too close to call", False),
        ("350", "out of band", False),
        ("450", "switch off", False),
    ],
)
def test_a_reading_is_judged_and_stands(build, typed, outcome, passed):
    assert read(build, 1, typed).outcome == outcome
    standing = CheckStatus.objects.get(build=build)
    assert (standing.outcome, standing.first_outcome, standing.passed) == (outcome, outcome, passed)


def test_the_same_entry_key_makes_one_reading(build):
    key = uuid4()
    first = read(build, 1, "300", entry_key=key)
    assert read(build, 1, "300", entry_key=key).pk == first.pk
    with pytest.raises(UsedKey):
        read(build, 1, "310", entry_key=key)
    assert Reading.objects.count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        Reading.objects.filter(pk=first.pk).first()
        Reading.objects.create(
            build=build, check_row=first.check_row, attempt=9, entry_key=key, typed="1", outcome="in band"
        )


def test_too_close_passes_once_confirmed(build):
    read(build, 1, "330")
    read(build, 1, "330")
    assert CheckStatus.objects.get().passed


def test_too_close_after_a_miss_is_no_confirmation(build):
    read(build, 1, "350")
    read(build, 1, "330")
    assert not CheckStatus.objects.get().passed


def test_a_second_attempt_leaves_other_builds_and_other_checks_as_they_were():
    mine = factories.make_build(revision=factories.make_revision(stages=1, checks=2, steps=0))
    theirs = factories.make_build(revision=mine.revision, builder=factories.make_builder())
    first, second = factories.checks_of(revision=mine.revision)
    before = [
        take_reading(build, check, "300", by=build.builder) for build in (mine, theirs) for check in (first, second)
    ]
    again = take_reading(mine, first, "350", by=mine.builder)
    latest = [
        CheckStatus.objects.get(build=build, check_row=check).latest
        for build in (mine, theirs)
        for check in (first, second)
    ]
    assert latest == [again, *before[1:]]
    assert [s.passed for s in CheckStatus.objects.order_by("build", "check_row")] == [False, True, True, True]


def test_a_typing_slip_is_corrected_but_kept(build):
    read(build, 1, "30")
    read(build, 1, "300", is_slip=True)
    standing = CheckStatus.objects.get()
    assert (standing.first_outcome, standing.attempts, standing.passed) == ("in band", 2, True)
    assert list(Reading.objects.values_list("typed", flat=True)) == ["30", "300"]


def test_what_cannot_be_read_makes_no_reading(build):
    with pytest.raises(ChecksError):
        read(build, 1, "three hundred")
    assert not Reading.objects.exists()


def test_the_database_refuses_to_change_what_was_measured(build):
    taken = read(build, 1, "300")
    with pytest.raises(DatabaseError, match="only ever added"), transaction.atomic():
        Reading.objects.filter(pk=taken.pk).update(value=310.0)


def test_a_gate_shuts_what_comes_after(build):
    assert states(build) == ["open", "shut", "shut"]
    finish(build, 1)
    assert states(build) == ["done", "open", "shut"]
    assert "is a gate" in str(gating.stage_states(build)[2].reasons[0])


def test_a_concession_opens_a_gate(build):
    taken = finish(build, 1, "350")
    assert states(build)[1] == "shut"
    gating.concede(build, taken.check_row, by=None, reason="Known and harmless.")
    assert states(build)[1] == "open"


def test_a_stop_cannot_be_conceded_away(build):
    taken = finish(build, 1, "450")
    gating.concede(build, taken.check_row, by=None, reason="No.")
    assert not CheckStatus.objects.get().passed


def test_a_stop_shuts_everything_until_made_safe(build):
    finish(build, 1)
    read(build, 2, "450")
    assert states(build) == ["shut", "shut", "shut"]
    MadeSafe.objects.create(build=build, typed="70", volts=70, is_safe=False)
    assert gating.find_power(build).stop_unanswered
    MadeSafe.objects.create(build=build, typed="2", volts=2, is_safe=True)
    assert states(build) == ["done", "open", "shut"]


def test_hands_in_work_after_power_starts_with_made_safe(build):
    finish(build, 1)
    finish(build, 2)
    assert states(build) == ["done", "done", "shut"]
    assert "made-safe" in str(gating.stage_states(build)[2].reasons[0])
    MadeSafe.objects.create(build=build, typed="2", volts=2, is_safe=True)
    assert states(build)[2] == "open"


def test_the_builders_mains_moves_the_band(build):
    check = stage(build, 2).checks.get()
    type(check).objects.none()
    from builds.guides.models import Check
    from builds.guides.revisions import clone

    draft = clone(build.revision)
    Check.objects.filter(stage__revision=draft).update(mains_exponent=1.0)
    other = factories.make_build(revision=draft, builder=build.builder)
    row = draft.stages.get(key="stage-2").checks.get()
    assert take_reading(other, row, "328", by=None, mains_volts=250.0).outcome == "in band"
    assert take_reading(other, row, "328", by=None, mains_volts=215.0).outcome == "out of band"
    assert take_reading(other, row, "328", by=None).outcome == "in band"  # not measured: the band is wider


def test_cautions_are_asked_once_a_sitting(build):
    powered = stage(build, 2)
    assert not sittings.ready_for(sittings.current_sitting(build), powered, load_facts(build))
    sitting = sittings.open_sitting(build)
    sittings.acknowledge(sitting, powered, None)
    assert sittings.ready_for(sittings.current_sitting(build), powered, load_facts(build))
    sitting.ended_at = sitting.seen_at
    sitting.save()
    assert not sittings.ready_for(sittings.current_sitting(build), powered, load_facts(build))


def test_states_take_the_same_queries_for_a_longer_guide(django_assert_num_queries):
    for stages in (2, 9):
        revision = factories.make_revision(stages=stages, checks=4)
        row = factories.make_build(revision=revision, builder=factories.make_builder())
        gating.stage_states(row)  # the frozen guide is fetched once
        with django_assert_num_queries(1):
            gating.stage_states(row)


def test_a_check_status_has_the_figures_of_its_latest_reading_and_old_ones_are_filled_in():
    build = factories.make_build()
    checks = factories.checks_of(revision=build.revision)
    for check, typed in ((checks[0], "310"), (checks[0], "304"), (checks[1], "OL")):
        take_reading(build, check, typed, by=build.builder)

    def figures():
        return [(s.at_reference, s.u) for s in build.statuses.order_by("check_row")]

    now = figures()
    assert now == [(s.latest.at_reference, s.latest.u) for s in build.statuses.order_by("check_row")]
    assert now[0][0] == pytest.approx(304, rel=1e-3) and now[1][0] is None
    build.statuses.update(at_reference=None, u=0)
    old_names = SimpleNamespace(get_model=lambda app, name: {"Standing": CheckStatus, "Reading": Reading}[name])
    import_module("builds.bench.migrations.0012_standing_figures").copy(old_names, None)
    assert figures() == now


def test_a_build_whose_meter_is_not_known_is_judged_with_the_least_exact_of_common_digital_ones(build):
    build.meter = None
    meter = build_context(build, stage(build, 1).checks.get(), 230.0).meter
    assert meter == PRESETS["basic"]
    assert meter.dc_volts.percent > PRESETS["handheld"].dc_volts.percent


def test_only_alternating_volts_are_read_at_a_frequency(build, monkeypatch):
    monkeypatch.setattr("builds.bench.readings.context.find_hertz", lambda check: 10e3)
    check = stage(build, 1).checks.get()
    assert build_context(build, check, 230.0).hertz is None
    check.measure = "ac volts"
    assert build_context(build, check, 230.0).hertz == 10e3
