"""A job whose worker was killed is taken up again by itself, once; one that takes too long is ended."""

import time
from datetime import timedelta

import pytest
from django.utils import timezone

from builds.jobs import alive, queue, resuming
from builds.jobs.models import MOST_RESUMED, SILENT, Job
from builds.jobs.registry import FUNCTIONS, RULES, job
from builds.ui.messages.progress import progress_sentence

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def kinds():
    before = set(FUNCTIONS)
    yield
    for kind in set(FUNCTIONS) - before:
        FUNCTIONS.pop(kind), RULES.pop(kind)


@pytest.fixture
def lost(kinds):
    job("counting")(lambda report: "done")
    return Job.objects.create(kind="counting", key="x", state="running", seen_at=timezone.now() - 2 * SILENT)


def test_a_lost_job_is_taken_up_within_a_minute():
    assert timedelta(seconds=2 * alive.HEARTBEAT) < SILENT < timedelta(seconds=50)


def test_a_job_whose_worker_was_killed_is_done_by_another(lost):
    assert resuming.resume_lost() == 1
    lost.refresh_from_db()
    assert (lost.state, lost.result, lost.resumed) == ("done", "done", 1)
    assert resuming.resume_lost() == 0


def test_two_who_look_after_lost_jobs_take_one_up_once(lost, monkeypatch):
    sent = []
    monkeypatch.setattr(resuming, "send_off", sent.append)
    assert [resuming.resume_lost(), resuming.resume_lost()] == [1, 0]
    assert len(sent) == 1


def test_a_job_that_lost_its_worker_twice_is_left(lost, monkeypatch):
    Job.objects.update(resumed=MOST_RESUMED)
    assert resuming.resume_lost() == 0
    lost.refresh_from_db()
    assert lost.state == "failed"


def test_a_job_that_gives_signs_of_life_is_left_to_its_worker(lost):
    Job.objects.update(seen_at=timezone.now())
    assert resuming.resume_lost() == 0


def test_a_waiting_job_whose_message_was_lost_gets_another(lost):
    Job.objects.update(state="waiting", seen_at=timezone.now() - 2 * resuming.UNSENT)
    assert resuming.resume_lost() == 1
    lost.refresh_from_db()
    assert lost.state == "done"


def test_a_job_that_takes_too_long_is_ended_and_says_where_it_was(kinds):
    @job("endless", limit=1)
    def endless(report):
        report(1, 5, "stage", number=3, count=5)
        while True:
            try:
                time.sleep(0.05)
            except Exception:  # noqa: BLE001  a job that shields itself
                continue

    started = queue.start("endless", "x")
    assert started.state == "failed" and started.step["number"] == 3
    assert progress_sentence(started.step) in started.error_message


def test_a_long_job_gives_signs_of_life(kinds, settings, monkeypatch):
    monkeypatch.setattr(alive, "HEARTBEAT", 0.02)
    mine = Job.objects.create(kind="counting", key="y", state="running", seen_at=timezone.now() - 2 * SILENT)
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default", "mail"]}}
    with alive.alive(Job.objects.filter(pk=mine.pk)):
        deadline = time.monotonic() + 10
        while mine.is_lost and time.monotonic() < deadline:
            time.sleep(0.02)
            mine.refresh_from_db()
    assert not mine.is_lost
