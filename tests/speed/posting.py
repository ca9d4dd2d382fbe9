"""Posting a reading against a bare single-INSERT view on the same server: python -m tests.speed.posting

Both are called through Django's handler in this process with the same middleware, one after the other, so that the ratio
tells what the reading costs beyond an INSERT. The breakdown counts queries and times the judging by itself.
"""
import os
import statistics
import tempfile
import time
from uuid import uuid4

os.environ["DATA_DIR"] = tempfile.mkdtemp()
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
ROUNDS = 300


def main():
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from django.db import connection
    from django.http import HttpResponse
    from django.test import Client
    from django.test.utils import CaptureQueriesContext, override_settings
    from django.urls import path, reverse

    import builds.urls
    from builds.accounts.access import anyone
    from builds.bench.facts import facts_of
    from builds.bench.gates import stage_states
    from builds.bench.models import MadeSafe
    from builds.bench.readings import judge_typed
    from tests import factories

    revision = factories.make_revision(stages=9, checks=6, steps=8)  # as large as the demo guide
    build = factories.make_build(revision=revision, builder=factories.make_builder())
    other = factories.make_build(revision=revision, builder=build.builder)
    checks = list(revision.stages.first().checks.select_related("stage"))

    def insert(request):
        MadeSafe.objects.create(build_id=build.pk, typed="2", volts=2.0, is_safe=True)
        return HttpResponse("ok")

    def who(request):
        return HttpResponse(str(request.user))

    builds.urls.urlpatterns += [path("bare/", anyone(insert)), path("who/", anyone(who))]
    client = Client()
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")

    def post(check, **more):
        address = reverse("bench:reading", args=[build.pk, "stage-1", check.key])
        return client.post(address, {"typed": "300", "entry_key": str(uuid4())}, **more)

    with override_settings(ALLOWED_HOSTS=["testserver"]):
        for check in checks[:6] * 3:
            assert post(check).status_code == 302, "a reading must be taken"
            client.post("/bare/")
        bare = [_timed(lambda: client.post("/bare/")) for _ in range(ROUNDS)]
        reading = [_timed(lambda c=c: post(c)) for c in (checks * ROUNDS)[:ROUNDS]]
        build = other  # its checks have few attempts to list
        fragment = [_timed(lambda c=c: post(c, headers={"HX-Request": "true"})) for c in checks * 4]
        with CaptureQueriesContext(connection) as queries:
            post(checks[-1])
            count = len(queries)
        signed_in = [_timed(lambda: client.post("/who/")) for _ in range(ROUNDS)]
    judging = [_timed(lambda: judge_typed(build, checks[0], "300", 230.0)) for _ in range(200)]
    one, other, part, whoami, judged = (statistics.median(x) * 1000 for x in (bare, reading, fragment, signed_in, judging))
    facts = statistics.median(_timed(lambda: facts_of(build)) for _ in range(200)) * 1000
    states = statistics.median(_timed(lambda: stage_states(build, facts_of(build))) for _ in range(200)) * 1000 - facts
    print(f"bare INSERT {one:.2f} ms, reading {other:.2f} ms: throughput ratio {one / other:.2f} (goal 0.3)")
    print(f"with the check's new fragment by htmx: {part:.2f} ms, ratio {one / part:.2f}")
    print(f"of the reading's {count} queries: who is signed in (two) {whoami - one / 2:.2f} ms, where the build stands (one) "
          f"{facts:.2f} ms; gates {states:.2f} ms, judging {judged:.2f} ms; the rest is Django's forms, ORM and the commit")


def _timed(call) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
