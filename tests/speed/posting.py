"""Posting a reading against a bare single-INSERT view on the same server: python -m tests.speed.posting

The site is served by gunicorn as README tells (one worker, one thread), with the same middleware for both, and posted
to over a kept connection, in turns, so that the ratio tells what the reading costs beyond an INSERT. The breakdown is
taken in this process: the queries counted, the parts timed by themselves.
"""

import http.client
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from urllib.parse import urlencode
from uuid import uuid4

os.environ["DATA_DIR"] = tempfile.mkdtemp()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
ROUNDS = 300
TOKEN = "t" * 32  # a CSRF cookie and the same token in the form, as a browser sends them


def main():
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client

    call_command("migrate", verbosity=0)
    from tests import factories

    revision = factories.make_revision(stages=9, checks=6, steps=8)  # as large as the demo guide
    builder = factories.make_builder()
    builds = [factories.make_build(revision=revision, builder=builder) for _ in range(2)]
    others = [factories.make_build(revision=revision, builder=builder) for _ in range(ROUNDS // 24 + 1)]
    checks = list(revision.stages.first().checks.select_related("stage"))
    client = Client()
    client.force_login(builder, backend="django.contrib.auth.backends.ModelBackend")
    post = _server(client.cookies["sessionid"].value)

    def reading(build, check, **headers):
        return post(f"/builds/{build.pk}/stages/stage-1/checks/{check.key}/readings/", _form("300"), headers)

    turns = []
    for number, check in enumerate((checks * ROUNDS)[:ROUNDS]):
        turns.append(
            (
                _timed(lambda: post("/bare/", {}, {}), 200),
                _timed(lambda c=check: reading(builds[0], c), 302),
                _timed(lambda: post("/who/", {}, {}), 200),
                _timed(lambda c=check, n=number: reading(others[n // 24], c, **{"HX-Request": "true"}), 200),
            )
        )
    bare, taken, who, fragment = (statistics.median(column[20:]) * 1000 for column in zip(*turns, strict=True))
    print(f"bare INSERT {bare:.2f} ms, reading {taken:.2f} ms: throughput ratio {bare / taken:.2f} (goal 0.5)")
    print(f"answered by htmx with what it changes: {fragment:.2f} ms, ratio {bare / fragment:.2f} (goal 0.4)")
    _breakdown(builds[1], checks, client, who)


def _form(typed):
    return {"typed": typed, "entry_key": str(uuid4()), "csrfmiddlewaretoken": TOKEN}


def _server(session):
    """Serve the site with the bare view beside it; gives back a function that posts to it."""
    port = socket.socket()
    port.bind(("127.0.0.1", 0))
    number = port.getsockname()[1]
    port.close()
    served = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "gunicorn",
            "tests.speed.posting_site:application",
            "-w",
            "1",
            "-k",
            "gthread",
            "--threads",
            "1",
            "--no-control-socket",
            "-b",
            f"127.0.0.1:{number}",
            "--log-level",
            "error",
        ]
    )
    import atexit

    atexit.register(served.terminate)
    kept = http.client.HTTPConnection("127.0.0.1", number)
    for _ in range(100):
        try:
            kept.connect()
            break
        except OSError:
            time.sleep(0.1)
    kept.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    always = {
        "Cookie": f"sessionid={session}; csrftoken={TOKEN}",
        "Content-Type": "application/x-www-form-urlencoded",
        "Host": "localhost",
    }

    def post(address, form, headers):
        kept.request("POST", address, urlencode({"csrfmiddlewaretoken": TOKEN} | form), always | headers)
        answer = kept.getresponse()
        answer.read()
        return answer.status

    return post


def _breakdown(build, checks, client, who):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext, override_settings

    from builds.bench.gates.facts import load_facts
    from builds.bench.gates.gating import stage_states
    from tests.shortcuts import judge_typed

    address = f"/builds/{build.pk}/stages/stage-1/checks/{checks[-1].key}/readings/"
    with override_settings(ALLOWED_HOSTS=["testserver"]):
        client.post(address, _form("300"))
        with CaptureQueriesContext(connection) as queries:
            client.post(address, _form("300"))
            count = len(queries)
    judged, facts, states = (
        statistics.median(_timed(call) for _ in range(200)) * 1000
        for call in (
            lambda: judge_typed(build, checks[0], "300", 230.0),
            lambda: load_facts(build),
            lambda: stage_states(build, load_facts(build)),
        )
    )
    print(
        f"who is signed in, with the server itself, {who:.2f} ms; of the reading's {count} queries, "
        f"where the build stands (one) "
        f"{facts:.2f} ms; gates {states - facts:.2f} ms, judging {judged:.2f} ms; the rest is Django's "
        f"forms, ORM and the commit"
    )


def _timed(call, status=None) -> float:
    start = time.perf_counter()
    answer = call()
    spent = time.perf_counter() - start
    assert status is None or answer == status, answer
    return spent


if __name__ == "__main__":
    main()
