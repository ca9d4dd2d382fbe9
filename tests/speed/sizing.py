"""CPU time of every list of the site, and what it takes on disk, with many kits: `python -m tests.speed.sizing [KITS]`.

A thousand kits of ten builds each, all of one designer, and a hundred of the builds of one builder: 10,000 builds. One
check in ten of theirs is off. Times are the process's own, so that a busy machine changes them little.
"""

import os
import sys
import time

from tests.speed.dashboard import fill, main

KITS = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
EACH, STAGES, CHECKS = 10, 2, 6
BUILDERS_OWN = 100


def measure() -> None:
    from django.db import connection

    from builds.bench.models import Build, Reading
    from tests import factories

    designer, builder = factories.make_designer(), factories.make_builder()
    revisions = []
    for _kit in range(KITS):
        revision = factories.make_revision(designer=designer, stages=STAGES, checks=CHECKS, steps=2)
        fill(revision, 0, EACH)
        revisions.append(revision)
    own = Build.objects.order_by("-pk").values_list("pk", flat=True)[:BUILDERS_OWN]
    Build.objects.filter(pk__in=list(own)).update(builder=builder)
    readings = Reading.objects.count()
    used = _bytes(connection)
    print(f"{KITS} kits, {Build.objects.count()} builds, {readings} readings: {used / 2**20:.0f} MB, "
          f"{used / readings:.0f} bytes a reading with all that belongs to it")  # fmt: skip
    _pages(designer, builder, revisions[KITS // 2])


def _bytes(connection) -> int:
    if connection.vendor == "sqlite":
        name = str(connection.settings_dict["NAME"])
        return sum(os.path.getsize(path) for path in (name, f"{name}-wal") if os.path.exists(path))
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return cursor.fetchone()[0]


def _pages(designer, builder, revision) -> None:
    from django.test import Client
    from django.urls import reverse

    from builds.operations.api.tokens import make
    from builds.operations.models import AccessToken

    kit = [revision.kit.key, revision.letter]
    people = {}
    for name, person in (("designer", designer), ("builder", builder)):
        people[name] = Client()
        people[name].force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    bearer = {"Authorization": f"Bearer {make(designer, 'sizing', [AccessToken.READ])}"}
    lists = {
        "kits": ("designer", reverse("guides:kits"), {}),
        "programmes": ("designer", reverse("review:programmes"), {}),
        "one kit's programme": ("designer", reverse("review:programme", args=kit[:1]), {}),
        "one kit's dashboard": ("designer", reverse("review:dashboard", args=kit), {}),
        "one kit's builds": ("designer", reverse("review:builds", args=kit), {}),
        "one kit's revision": ("designer", reverse("guides:revision", args=kit), {}),
        "the builder's builds": ("builder", reverse("bench:builds"), {}),
        "the builder's mail": ("builder", reverse("notifications:mail"), {}),
        "account": ("designer", reverse("accounts:account"), {}),
        "a program's kits": ("designer", reverse("operations:api-kits"), bearer),
        "a program's builds": ("designer", reverse("operations:api-builds"), bearer),
        "a program's last page of builds": ("designer", reverse("operations:api-builds") + "?page=50", bearer),
        "metrics": ("designer", reverse("operations:metrics"), {}),
    }
    for name, (who, address, headers) in lists.items():
        took, size = _cpu(people[who], address, headers)
        print(f"{name:32s}: {took:6.0f} ms, {size / 1024:6.0f} KB")


def _cpu(client, address: str, headers: dict) -> tuple[float, int]:
    """The least of three, after one to warm up."""
    took = []
    for _time in range(4):
        began = time.process_time()
        answer = client.get(address, headers=headers)
        took.append(1000 * (time.process_time() - began))
        assert answer.status_code == 200, (address, answer.status_code)
    return min(took[1:]), len(answer.content)


if __name__ == "__main__":
    main(measure)
