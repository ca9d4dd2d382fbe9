"""Prints how the site bears 50 builders who post readings without a pause, beside a bare INSERT under the same load.

On a server of its own on this machine, two processes as README starts it: `python -m tests.speed.fifty_builders`, or
with seconds and processes after it. With DATABASE_URL it fills and uses that PostgreSQL database.
"""

import http.client
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from threading import Thread
from urllib.parse import urlencode
from uuid import uuid4

BUILDERS = 50
SECONDS = int(sys.argv[1]) if len(sys.argv) > 1 else 12
PROCESSES = int(sys.argv[2]) if len(sys.argv) > 2 else 2
TOKEN = "t" * 32
SERVE = """
import builds.wsgi
from tests.speed.posting_site import application
builds.wsgi.application = application
from builds.operations.server import serve
serve("127.0.0.1", {port}, {processes}, 8)
"""


def main() -> None:
    os.environ["DATA_DIR"] = tempfile.mkdtemp()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    places, before = _places(), os.getloadavg()[0]
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen([sys.executable, "-c", SERVE.format(port=port, processes=PROCESSES)])
    try:
        _wait_for(port)
        bare, bare_cpu = _load(port, server, [(session, "/bare/") for session, _path in places])
        taken, taken_cpu = _load(port, server, places)
    finally:
        server.terminate()
        server.wait(20)
    print(f"{SECONDS} s, {PROCESSES} processes, load of the machine before {before:.1f}")
    for name, times, cpu in (("bare INSERT", bare, bare_cpu), ("reading", taken, taken_cpu)):
        rate, median, each = len(times) / SECONDS, statistics.median(times), cpu / len(times) * 1000
        print(
            f"{name}: {rate:.0f}/s, median {median:.2f} s, worst {max(times):.2f} s, {each:.1f} ms of the server's CPU"
        )
    print(f"throughput ratio {len(taken) / len(bare):.2f} (goal 0.5), worst {max(taken):.2f} s (goal 3 s)")


def _places() -> list[tuple[str, str]]:
    """(session, address to post readings to) of each builder."""
    from django.test import Client

    from tests import factories

    revision = factories.make_revision(stages=9, checks=6, steps=8)
    check = revision.stages.first().checks.first()
    results = []
    for _n in range(BUILDERS):
        build, client = factories.make_build(revision=revision), Client()
        client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
        path = f"/builds/{build.pk}/stages/stage-1/checks/{check.key}/readings/"
        results.append((client.cookies["sessionid"].value, path))
    return results


def _wait_for(port: int) -> None:
    for _n in range(1200):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the server did not start within two minutes")


def _load(port: int, server: subprocess.Popen, places) -> tuple[list[float], float]:
    """How long each post took, and the CPU time of the server. Any answer that is not a success ends the run."""
    times: list[float] = []
    before = _cpu(server)
    until = time.monotonic() + SECONDS
    threads = [Thread(target=_post, args=(port, *place, until, times)) for place in places]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times, _cpu(server) - before


def _cpu(server: subprocess.Popen) -> float:
    """Seconds that the server's processes have computed."""
    children = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()
    fields = [Path(f"/proc/{pid}/stat").read_text().rsplit(")")[-1].split() for pid in children]
    return sum(int(field[11]) + int(field[12]) for field in fields) / os.sysconf("SC_CLK_TCK")


def _post(port: int, session: str, path: str, until: float, times: list[float]) -> None:
    kept = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    always = {
        "Cookie": f"sessionid={session}; csrftoken={TOKEN}",
        "Content-Type": "application/x-www-form-urlencoded",
        "Host": "localhost",
    }
    while time.monotonic() < until:
        form = {"csrfmiddlewaretoken": TOKEN, "typed": "300", "unit": "V", "entry_key": str(uuid4())}
        began = time.perf_counter()
        kept.request("POST", path, urlencode(form), always)
        answer = kept.getresponse()
        answer.read()
        if answer.status not in (200, 302):
            print(f"{path}: {answer.status}")
            return
        times.append(time.perf_counter() - began)


if __name__ == "__main__":
    main()
