"""The server killed and started again at random, with the builder working on."""

import json
import logging
import os
import random
import threading
import time

import pytest

from tests.offline.bench import Phone
from tests.offline.maker import Builder
from tests.offline.server import Server

log = logging.getLogger(__name__)  # `pytest -o log_cli=true` shows what was counted
pytestmark = pytest.mark.browser
MAKE = """
from datetime import timedelta
from django.utils import timezone
from builds.bench.models import MadeSafe
from tests.offline.bench import live_bench_of
build = live_bench_of(timedelta(days=3), steps=3, fast_track=True)
MadeSafe.objects.create(build=build, typed="2", volts=2.0, is_safe=True, at=timezone.now() - timedelta(days=2))
print(build.pk, build.builder.display_name)
"""
COUNT = """
import json
from builds.bench.models import MadeSafe, Photo, PowerOn, Reading, Snag, Tick
from tests.shortcuts import judge_typed
def is_right(row):
    mains = 230.0 if row.check_row.stage.is_powered else None
    return row.outcome == judge_typed(row.build, row.check_row, row.typed, mains).outcome.value

rows = Reading.objects.order_by("pk")
print(json.dumps({
    "readings": [[row.check_row.key, row.typed, is_right(row)] for row in rows],
    "ticks": sorted(Tick.objects.values_list("step__key", flat=True)),
    "snags": sorted(Snag.objects.values_list("words", flat=True)), "photos": Photo.objects.count(),
    "safe": MadeSafe.objects.count() - 1, "on": PowerOn.objects.filter(why="again").count(),
}))
"""


class Row:
    """What `Phone` needs to know of a build and its builder in another process's database."""

    def __init__(self, pk: int, name: str):
        self.pk, self.display_name = pk, name


@pytest.fixture
def server(tmp_path):
    result = Server(tmp_path)
    result.manage("migrate", "-v0")
    yield result
    result.kill()


def restart_at_random(server, rng, is_enough, is_over):
    while not is_enough() and not is_over.is_set():
        time.sleep(rng.uniform(0.5, 6))
        server.restart()


def stored_for(builder) -> dict:
    """What the site has to have of what this builder made."""
    return {
        "readings": [[key, typed, True] for key, typed in builder.made],
        "ticks": sorted(key for key, is_on in builder.ticks.items() if is_on),
        "snags": sorted(builder.words),
        "photos": builder.photos,
        "safe": builder.safe,
        "on": builder.on,
    }


def counted(stored: dict) -> int:
    """How many entries: of each kind a list or a number."""
    return sum(each if isinstance(each, int) else len(each) for each in stored.values())


def play(browser, server, picture, times, seed, *, entries):
    """Kill the server until it was killed so many times and, however slow the machine, so many entries were made
    meanwhile: what is not made under fire proves nothing."""
    rng = random.Random(seed)
    pk, name = server.manage("shell", "-v0", given=MAKE).strip().splitlines()[-1].split(" ", 1)
    build = Row(int(pk), name)
    server.start()
    server.wait()
    phone = Phone(browser, server.address, build)
    phone.open(build)
    phone.ready(build)
    builder = Builder(phone, build, rng, picture)
    builder.sheet()
    before = builder.count()

    def is_enough():
        return server.restarts >= times and builder.count() - before >= entries

    is_over = threading.Event()
    killer = threading.Thread(target=restart_at_random, args=(server, rng, is_enough, is_over))
    killer.start()
    try:
        while killer.is_alive():
            builder.act()
    finally:
        is_over.set()
        killer.join()
    server.wait()
    phone.open(build)
    phone.sends_all()
    assert phone.said == []
    phone.context.close()
    stored = json.loads(server.manage("shell", "-v0", given=COUNT).strip().splitlines()[-1])
    log.warning("seed %s: %s kills, made %s, stored %s", seed, server.restarts, builder.count(), counted(stored))
    assert stored == stored_for(builder)
    assert is_enough()


@pytest.mark.slow
def test_a_server_killed_in_the_middle_loses_and_doubles_nothing(browser, server, picture):
    play(browser, server, picture, int(os.environ.get("KILLS", "6")), seed=5, entries=4)


@pytest.mark.endurance
@pytest.mark.parametrize("seed", range(int(os.environ.get("KILL_SPELLS", "4"))))
def test_two_hundred_kills_lose_and_double_nothing(browser, server, picture, seed):
    """Four spells of 50 kills each."""
    play(browser, server, picture, 50, seed=50 + seed, entries=20)
