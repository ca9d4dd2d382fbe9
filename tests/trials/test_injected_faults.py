"""A sample of the trial of a thousand injected faults (injected_faults.py): each kind of fault a few times."""

import random
from itertools import islice

import pytest
from django.db import connection

from tests.clearing import clear_though_frozen
from tests.trials.injected import striking
from tests.trials.injected.bench import CHECKPOINT, KILLED, POWER, WORKER, Bench, photos_are_whole

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="the faults are those of SQLite's files"),
]
KINDS = {**dict.fromkeys(striking.HERE, 2), KILLED: 3, POWER: 5, CHECKPOINT: 1, WORKER: 1}


@pytest.fixture
def bench():
    made = Bench()
    yield made
    made.close()
    clear_though_frozen()


@pytest.mark.lengthy
def test_nothing_acknowledged_is_lost_or_doubled_whatever_fails(bench, monkeypatch):
    monkeypatch.setattr("builds.accounts.not_saved._send", lambda words: None)
    for name, times in KINDS.items():
        rng = random.Random(name)
        tried = (bench.one(name, rng) for _n in range(6 * times))
        struck = sum(islice(filter(None, tried), times))
        assert struck == times, f"{name} struck {struck} times"
    assert bench.made and bench.stored() == bench.made
    assert not bench.acknowledged_lost and not bench.doubled
    assert photos_are_whole()


@pytest.mark.lengthy
def test_the_trial_notices_an_entry_that_was_acknowledged_and_is_not_there(bench):
    rng = random.Random(1)
    bench.one(POWER, rng)
    bench.sent[-1].model.objects.filter(entry_key=bench.sent[-1].key).update(entry_key=bench.build.pk * "0" + "f" * 31)
    assert bench.stored() == bench.made - 1 and not bench.is_sound()


@pytest.mark.lengthy
def test_the_trial_notices_a_log_that_lost_what_was_acknowledged(bench):
    """As a log would that is not on disk when a commit is said to be done."""
    bench.one(POWER, random.Random(1))
    bench.acknowledged = [(0, key) for _size, key in bench.acknowledged]
    for n in range(6):
        bench.one(POWER, random.Random(n))
    assert bench.acknowledged_lost
