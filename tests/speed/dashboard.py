"""Server time of the dashboard at 10, 100 and 1,000 builds of 120 checks: `python -m tests.speed.dashboard`.

Goal: 300 ms at 1,000 builds, and growth no worse than linear. Makes and removes its own data directory,
so that nobody's test database is touched.
"""

import os
import statistics
import tempfile
import time

import django

SIZES = (10, 100, 1000)
STAGES, CHECKS = 10, 12
OUTCOMES = ((300.0, "in band"),) * 8 + ((328.0, "too close to call"), (350.0, "out of band"))


def fill(revision, start: int, stop: int) -> None:
    """Builds `start` to `stop`, each with every check read; a retake wherever the first was out of band."""
    from builds.bench.models import Build
    from tests import factories

    builder = revision.kit.designers.get()
    builds = Build.objects.bulk_create(
        [Build(revision=revision, serial=f"{n:04d}", builder=builder) for n in range(start, stop)]
    )
    checks = factories.checks_of(revision=revision)
    for first in range(0, len(builds), 100):
        factories.add_readings(
            rows=[(b, c, _attempts(b.pk * 7 + c.pk * 13)) for b in builds[first : first + 100] for c in checks]
        )


def _attempts(number: int) -> list[tuple[float, str]]:
    attempt = OUTCOMES[number % len(OUTCOMES)]
    if number % 4001 == 0:
        return [(420.0, "switch off"), (300.0, "in band")]
    return [attempt, (300.0, "in band")] if attempt[1] == "out of band" and number % 3 else [attempt]


def timed(client, address: str, times: int = 7) -> float:
    """Median milliseconds of a GET, after one to warm up."""
    assert client.get(address).status_code == 200
    took = []
    for _ in range(times):
        start = time.perf_counter()
        client.get(address)
        took.append(1000 * (time.perf_counter() - start))
    return statistics.median(took)


def measure() -> None:
    from django.test import Client
    from django.urls import reverse

    from tests import factories

    designer = factories.make_designer()
    revision = factories.make_revision(designer=designer, stages=STAGES, checks=CHECKS)
    address = reverse("review:dashboard", args=[revision.kit.key, revision.letter])
    client = Client()
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    made, before = 0, {}
    for size in SIZES:
        fill(revision, made, size)
        made = size
        for sort in ("serial", "progress", "troubles"):
            took = timed(client, f"{address}?sort={sort}")
            ratio = f", {took / before[sort]:.1f} times the size before" if sort in before else ""
            print(f"{size:5d} builds x {STAGES * CHECKS} checks, by {sort:8s}: {took:6.0f} ms{ratio}")
            before[sort] = took


def main(measured=None) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
    with tempfile.TemporaryDirectory() as directory:
        os.environ["DATA_DIR"] = directory
        run(measured or measure)


def run(measured) -> None:
    django.setup()
    from django.db import connection
    from django.test.utils import setup_test_environment, teardown_test_environment

    setup_test_environment()
    before = connection.settings_dict["NAME"]
    connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        measured()
    finally:
        connection.creation.destroy_test_db(before, verbosity=0)
        teardown_test_environment()


if __name__ == "__main__":
    main()
