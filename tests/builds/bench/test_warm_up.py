"""The wait for cold valves: beside a live check, from switching on, and only where valves are in."""

from datetime import timedelta

import pytest
from django.utils import timezone

from builds.bench.gates.facts import Facts
from builds.bench.readings import warm_up
from builds.guides.models import Stage
from tests import factories


class Socket:
    ref = "V1"


@pytest.mark.parametrize(
    ("power", "not_fitted", "minutes_on", "made_safe", "waits"),
    [
        ("on", [], 1, False, True),
        ("on", ["V1"], 1, False, False),  # no valve is in: nothing to warm up
        ("off", [], 1, False, False),
        ("on", [], 11, False, False),  # warm by now
        ("on", [], None, False, False),  # no power on record
        ("on", [], 1, True, False),
    ],
)
def test_valves_are_waited_for_only_while_they_warm_up(power, not_fitted, minutes_on, made_safe, waits, monkeypatch):
    monkeypatch.setattr(warm_up, "sockets", lambda _build: [Socket])
    now = timezone.now()
    since = minutes_on and now - timedelta(minutes=minutes_on)
    facts = Facts(last_power=since, last_safe=now if made_safe else None)
    result = warm_up.find_warm_up(None, Stage(power=power, not_fitted=not_fitted), facts)
    assert bool(result) is waits and (not result or result.since == since)


@pytest.mark.django_db
def test_a_kit_without_valves_has_nothing_to_wait_for():
    build = factories.make_build(revision=factories.make_revision(stages=2))
    stage = build.revision.stages.get(key="stage-2")
    assert warm_up.find_warm_up(build, stage, Facts(last_power=timezone.now())) is None
