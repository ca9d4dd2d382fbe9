"""A concession reaches its own check of its own build, from the moment it was given; and what else is asked of rows."""

from datetime import timedelta

import pytest

from builds.bench.gates.facts import load_facts
from builds.bench.gates.gating import concede, find_power, refresh_status
from builds.bench.gates.stops import stop_reading
from builds.bench.models import CheckStatus
from builds.bench.readings.passing import is_conceded
from builds.bench.readings.taking import take_reading
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def build():
    return factories.make_build(revision=factories.make_revision(stages=1, checks=2, steps=0))


@pytest.fixture
def checks(build):
    return factories.checks_of(revision=build.revision)


def read(build, check, typed):
    return take_reading(build, check, typed, by=build.builder)


def give(build, check):
    return concede(build, check, by=None, reason="Seen on the prototype too.")


def test_a_reading_that_nobody_conceded_is_not_conceded(build, checks):
    reading = read(build, checks[0], "350")
    assert not is_conceded(build, reading)
    give(build, checks[0])
    assert is_conceded(build, reading)


def test_a_concession_of_one_check_measures_no_other(build, checks):
    """Each is compared with what was read of its own check when it was given."""
    one, other = checks
    read(build, one, "350")
    give(build, one)
    read(build, other, "390")
    give(build, other)
    assert not is_conceded(build, read(build, one, "390"))
    assert is_conceded(build, read(build, other, "390"))


def test_a_concession_to_one_build_lets_no_other_pass(build, checks):
    other = factories.make_build(revision=build.revision)
    for each in (build, other):
        read(each, checks[0], "350")
    give(build, checks[0])
    refresh_status(other, checks[0])
    passed = dict(CheckStatus.objects.values_list("build_id", "passed"))
    assert passed == {build.pk: True, other.pk: False}


def test_a_stop_before_a_concession_was_known_to_whoever_gave_it_and_one_after_it_ends_it(build, checks):
    check = checks[0]
    read(build, check, "450")
    read(build, check, "350")
    given = give(build, check)
    again = read(build, check, "350")
    assert again.at > given.at and is_conceded(build, again)
    read(build, check, "450")
    assert not is_conceded(build, read(build, check, "350"))


def test_a_conceded_reading_confirms_nothing_and_one_in_band_does(build, checks):
    read(build, checks[0], "350")
    give(build, checks[0])
    read(build, checks[1], "300")
    states = load_facts(build).check_states
    assert states[checks[0].pk].passed and not states[checks[0].pk].confirms
    assert states[checks[1].pk].passed and states[checks[1].pk].confirms


def test_no_stop_comes_back_once_a_reading_after_it_was_in_band(build, checks):
    """Though that reading passes no longer, because a valve was changed since."""
    check = checks[0]
    read(build, check, "450")
    read(build, check, "300")
    CheckStatus.objects.update(passed=False)
    assert refresh_status(build, check).stop is None
    read(build, check, "450")
    assert refresh_status(build, check).stop.typed == "450"


def test_facts_are_of_this_build_and_their_moments_of_the_record(build, checks):
    first = read(build, checks[0], "450")
    facts = load_facts(build)
    assert facts.stops == {checks[0].pk: first.at} and facts.check_states[checks[0].pk].at == first.at
    assert facts.last_power is None and facts.last_safe is None and facts.last_change is None
    given = concede(build, checks[1], by=None, reason="Later.", at=first.at + timedelta(minutes=1))
    assert load_facts(build).last_change == given.at and load_facts(build).conceded == {checks[1].pk}
    assert stop_reading(build, find_power(build)) == first
    assert load_facts(factories.make_build(revision=build.revision)) == type(facts)()
