"""The server killed and started again at random, with the builder working on."""

import json
import os
import random
import threading
import time

import pytest

from tests.offline.bench import Phone
from tests.offline.server import Server

pytestmark = pytest.mark.browser
TYPED = ["311", "305.2", "284", "298.8", "331", "301.4"]
MAKE = """
from tests.offline.bench import make_bench
from tests import factories
build = make_bench(checks=3, steps=2)
print(build.pk, build.builder.display_name)
"""
COUNT = """
import json
from builds.bench.models import Reading, Tick
rows = Reading.objects.order_by("pk").values_list("check_row__key", "typed", "outcome")
print(json.dumps([list(row) for row in rows]))
"""
OUTCOMES = {"311": "in band", "305.2": "in band", "284": "in band", "298.8": "in band", "331": "out of band",
            "301.4": "in band"}  # fmt: skip


class Row:
    """What `Phone` needs to know of a build and its builder in another process's database."""

    def __init__(self, pk: int, name: str):
        self.pk, self.display_name = pk, name


@pytest.fixture
def server(tmp_path):
    found = Server(tmp_path)
    found.manage("migrate", "-v0")
    yield found
    found.kill()


def restart_at_random(server, rng, times, is_over):
    while server.restarts < times and not is_over.is_set():
        time.sleep(rng.uniform(0.5, 6))
        server.restart()


def play(browser, server, times, seed):
    rng = random.Random(seed)
    pk, name = server.manage("shell", "-v0", given=MAKE).strip().splitlines()[-1].split(" ", 1)
    build = Row(int(pk), name)
    server.start()
    server.wait()
    phone = Phone(browser, server.address, build)
    phone.open(build)
    phone.ready(build)
    is_over, made = threading.Event(), []
    killer = threading.Thread(target=restart_at_random, args=(server, rng, times, is_over))
    killer.start()
    try:
        while killer.is_alive():
            key, typed = rng.choice(("check-1-1", "check-1-2", "check-1-3")), rng.choice(TYPED)
            phone.read(build, key, typed)
            phone.until("document.querySelector('form[data-outbox] [aria-busy=true]') === null")
            made.append([key, typed, OUTCOMES[typed]])
    finally:
        is_over.set()
        killer.join()
    server.wait()
    phone.open(build)
    phone.sends_all()
    assert phone.said == []
    phone.context.close()
    assert json.loads(server.manage("shell", "-v0", given=COUNT).strip().splitlines()[-1]) == made
    assert server.restarts == times
    return made


@pytest.mark.slow
def test_a_server_killed_in_the_middle_loses_and_doubles_nothing(browser, server):
    assert len(play(browser, server, 10, seed=5)) > 3


@pytest.mark.endurance
@pytest.mark.parametrize("seed", range(int(os.environ.get("KILL_SPELLS", "4"))))
def test_two_hundred_kills_lose_and_double_nothing(browser, server, seed):
    """Four spells of 50 kills each."""
    assert len(play(browser, server, 50, seed=50 + seed)) > 20
