"""Server time of every page of the review, at 250 and 1,000 builds of 120 checks, and after one more reading:
`python -m tests.speed.review`.

Goal: 1 s at 1,000 builds, and growth no worse than linear (4 times from 250 to 1,000). Makes and removes its own data
directory.
"""

from tests.speed.dashboard import CHECKS, STAGES, fill, main, timed

SIZES = (250, 1000)
PAGES = ("dashboard", "findings", "batches", "problems", "builds", "changes", "errata", "faults", "coverage", "release")


def addresses(revision, checks) -> dict[str, str]:
    from django.urls import reverse

    kit = [revision.kit.key, revision.letter]
    return {
        **{name: reverse(f"review:{name}", args=kit) for name in PAGES},
        "programme": reverse("review:programme", args=kit[:1]),
        "one check": reverse("review:check", args=[*kit, checks[0].pk]),
        "fault summary": reverse("reports:summary", args=kit),
    }


def one_more(builds, checks, number: int) -> float:
    """A reading arrives."""
    from tests import factories

    factories.add_reading(build=builds[number], check=checks[5], value=303.0)


def measure() -> None:
    from django.test import Client

    from tests import factories

    designer = factories.make_designer()
    revision = factories.make_revision(designer=designer, stages=STAGES, checks=CHECKS)
    checks, client, made, before = factories.checks_of(revision=revision), Client(), 0, {}
    client.force_login(designer, backend="django.contrib.auth.backends.ModelBackend")
    for size in SIZES:
        fill(revision, made, size)
        made = size
        builds = list(revision.builds.all())
        for number, (name, address) in enumerate(addresses(revision, checks).items()):
            took = timed(client, address, 3)
            one_more(builds, checks, number)
            after = timed_once(client, address)
            ratio = f", {took / before[name]:.1f} times that of {SIZES[0]}" if name in before else ""
            print(
                f"{size:5d} builds x {STAGES * CHECKS} checks, {name:14s}: {took:6.0f} ms, "
                f"after one more reading {after:6.0f} ms{ratio}"
            )
            before.setdefault(name, took)


def timed_once(client, address: str) -> float:
    import time

    start = time.perf_counter()
    client.get(address)
    return 1000 * (time.perf_counter() - start)


if __name__ == "__main__":
    main(measure)
