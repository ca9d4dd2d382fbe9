"""The line cut at every moment, over and over: made = stored, once each, with the verdict that the site gives."""

import logging
import os
import random
from datetime import timedelta
from urllib.parse import urlparse

import pytest
from django.utils import timezone

from builds.bench.models import MadeSafe, Photo, PowerOn, Reading, Receipt, Snag, Tick
from tests.browser.test_story import cleared_though_frozen  # noqa: F401
from tests.offline.bench import Phone, live_bench_of
from tests.offline.line import CUTS, bad_line
from tests.offline.maker import Builder
from tests.shortcuts import judge_typed

log = logging.getLogger(__name__)  # `pytest -o log_cli=true` shows what was counted
pytestmark = [pytest.mark.browser, pytest.mark.concurrent, pytest.mark.django_db(transaction=True)]


def cut_often(rng, share):
    return lambda: rng.choice(CUTS) if rng.random() < share else None


def matches(builder):
    """What the site has is what was made, once each and in order, judged as the site judges."""
    readings = list(Reading.objects.order_by("pk").select_related("check_row__stage"))
    assert [(r.check_row.key, r.typed) for r in readings] == builder.made
    assert [r.at for r in readings] == sorted(r.at for r in readings)
    for reading in readings:
        mains = 230.0 if reading.check_row.stage.is_powered else None
        assert reading.outcome == judge_typed(builder.build, reading.check_row, reading.typed, mains).outcome.value
    assert sorted(Snag.objects.values_list("words", flat=True)) == sorted(builder.words)
    assert Photo.objects.count() == builder.photos
    assert MadeSafe.objects.count() == builder.safe + 1
    assert PowerOn.objects.filter(why="again").count() == builder.on
    assert set(Tick.objects.values_list("step__key", flat=True)) == {key for key, on in builder.ticks.items() if on}


def play(browser, live_server, picture, cuts, seed):
    """Work at the bench until the line was cut so many times; then let everything in."""
    rng, build = random.Random(seed), live_bench_of(timedelta(days=3), steps=3, fast_track=True)
    safe_at = timezone.now() - timedelta(days=2)  # before the sheet of yesterday
    MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True, at=safe_at)
    plans = iter(())
    with bad_line(*_where(live_server), lambda: next(plans, None)) as line:
        phone = Phone(browser, line.address, build.builder)
        phone.open(build)
        phone.ready(build)
        plans = iter(cut_often(rng, share=rng.choice((0.5, 0.65, 0.8))), "never")
        line.asking = cut_often(rng, share=0.1)
        builder = Builder(phone, build, rng, picture)
        builder.sheet()
        while sum(line.cuts.values()) < cuts:
            builder.act()
        plans, line.asking = iter(()), lambda: None
        phone.open(build)
        phone.sends_all()
        assert phone.said == []
        assert phone.page.evaluate("import('/static/offline/outbox.js').then((outbox) => outbox.unsent())") == []
        phone.context.close()
    log.warning("seed %s: cuts %s, unheard %s, made %s", seed, dict(line.cuts), line.unheard.total(), builder.count())
    matches(builder)
    assert set(line.cuts) == set(CUTS)
    return builder, line


def _where(live_server):
    address = urlparse(live_server.url)
    return "127.0.0.1", address.port


@pytest.mark.lengthy
def test_a_line_cut_at_every_moment_loses_and_doubles_nothing(browser, live_server, picture):
    builder, _line = play(browser, live_server, picture, int(os.environ.get("CUTS", "25")), seed=1)
    assert len(builder.made) > 5
    assert Receipt.objects.filter(kind="tick").count() >= sum(builder.ticks.values())


@pytest.mark.endurance
@pytest.mark.parametrize("seed", range(int(os.environ.get("CUT_SPELLS", "8"))))
def test_a_thousand_cuts_lose_and_double_nothing(browser, live_server, picture, seed):
    """Eight spells of 125 cuts each."""
    _builder, line = play(browser, live_server, picture, 125, seed=100 + seed)
    assert sum(line.cuts.values()) >= 125
