"""Background work: asked for twice and done once, told how far it is, and honest when it fails."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import override

from builds.jobs import queue
from builds.jobs.models import Job
from builds.jobs.registry import FUNCTIONS, job
from builds.ui.messages.progress import progress_sentence
from checks.errors import ChecksError

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def calls():
    made = []

    @job("adding")
    def adding(report, a, b):
        made.append((a, b))
        report(1, 2, "faults")
        return {"sum": a + b}

    @job("failing")
    def failing(report, why):
        raise (
            ChecksError("shorted", argument="joins", code="shorted-supply", node="ht")
            if why == "sentence"
            else RuntimeError("secret detail")
        )

    yield made
    FUNCTIONS.pop("adding"), FUNCTIONS.pop("failing")


def test_work_is_done_and_its_result_kept(calls):
    job = queue.start("adding", "a", 2, 3)
    assert (job.state, job.result, job.total) == ("done", {"sum": 5}, 2)
    assert queue.find("adding", "a") == job


def test_the_same_key_is_done_once_unless_begun_again(calls):
    for _ in range(2):
        queue.start("adding", "a", 2, 3)
    assert len(calls) == 1
    assert queue.start("adding", "a", 2, 4, restart=True).result == {"sum": 6}


def test_a_refusal_is_told_in_its_sentence_and_a_break_without_its_details(calls):
    assert queue.start("failing", "a", "sentence").error_message.startswith("It feeds a shorted supply")
    broken = queue.start("failing", "b", "break")
    assert broken.state == "failed"
    assert "secret" not in broken.error


def test_work_of_an_unknown_kind_is_refused():
    with pytest.raises(LookupError):
        queue.start("dancing", "a")


def test_a_job_whose_worker_died_counts_as_lost_and_may_begin_again(calls):
    job = Job.objects.create(
        kind="adding", key="x", args=[1, 1], state="running", seen_at=timezone.now() - timedelta(minutes=9)
    )
    assert job.is_lost
    assert queue.start("adding", "x", 1, 1, restart=True).state == "done"


def test_a_worker_thought_dead_cannot_speak_for_the_job_begun_again(calls):
    @job("slow")
    def slow(report):
        Job.objects.update(seen_at=timezone.now() - timedelta(minutes=9))  # nothing is heard of it for so long
        FUNCTIONS["slow"] = lambda report: "of the second"
        assert queue.start("slow", "x", restart=True).result == "of the second"
        report(1, 1, "the first again")
        return "of the first"

    try:
        queue.start("slow", "x")
    finally:
        FUNCTIONS.pop("slow")
    assert queue.find("slow", "x").result == "of the second"


def test_work_under_way_is_not_begun_again_but_what_nobody_took_is(calls):
    job = Job.objects.create(kind="adding", key="x", args=[1, 1], state="running")
    assert queue.start("adding", "x", 1, 1, restart=True).state == "running"
    Job.objects.filter(pk=job.pk).update(state="waiting", seen_at=timezone.now() - timedelta(minutes=2))
    assert "No background worker is running" in render_to_string(
        "jobs/_progress.html", {"job": queue.find("adding", "x"), "url": "/x/"}
    )
    assert queue.start("adding", "x", 1, 1, restart=True).state == "done"


def test_a_message_told_twice_is_acted_on_once(calls):
    job = queue.start("adding", "a", 2, 3)
    queue.run.call(job.pk)
    assert len(calls) == 1


def test_a_worker_takes_what_the_queue_holds(calls, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    job = queue.start("adding", "later", 20, 3)
    assert job.state == "waiting"
    call_command("db_worker", batch=True, startup_delay=False, verbosity=0)
    job.refresh_from_db()
    assert (job.state, job.result) == ("done", {"sum": 23})


def test_the_page_asks_again_until_the_job_has_ended():
    running = Job(
        kind="adding", key="p", state="running", done=1, total=4, step={"code": "stage", "number": 1, "count": 4}
    )
    assert 'hx-get="/x/"' in render_to_string("jobs/_progress.html", {"job": running, "url": "/x/"})
    assert "25 %" in render_to_string("jobs/_progress.html", {"job": running, "url": "/x/"})
    assert "hx-get" not in render_to_string("jobs/_progress.html", {"job": Job(state="done"), "url": "/x/"})


def test_what_a_job_is_doing_is_a_code_until_a_person_reads_it(monkeypatch):
    seen = []

    def work(report):
        report(1, 1, "stage", number=1, count=2)
        seen.append(Job.objects.get(kind="staged").step)

    monkeypatch.setitem(FUNCTIONS, "staged", work)
    queue.start("staged", "one")
    assert seen == [{"code": "stage", "number": 1, "count": 2}]
    english = Job(state="running", step=seen[0]).activity
    with override("de"):
        assert Job(state="running", step=seen[0]).activity != english
    assert progress_sentence({"code": "no such code"}) == ""
