"""Faults put into the site while builders save, and whether anything acknowledged is lost, or anything is there twice.

Each round saves one entry (a reading, a made-safe reading, a snag with a photo, a valve, a message, a tick) while one
thing fails: the disk is full, the files are read-only, another process holds the database, a statement raises after it
was carried out, the web process is killed, a file cannot be written; or the power fails, before or during the folding
back of the log, and what is left is opened. Then the phone sends the entry again, as it does until it is acknowledged.
Another kind of round kills the worker in the middle of an archive.

`python -m tests.trials.injected_faults [ROUNDS]` on an SQLite database of its own.
"""

import logging
import os
import random
import sys
import tempfile
import time
from collections import Counter

ROUNDS = 1000


def main(rounds: int) -> None:
    os.environ["DATA_DIR"] = tempfile.mkdtemp()
    os.environ |= {"TASKS": "immediate", "ALLOWED_HOSTS": "testserver"}
    os.environ.pop("DATABASE_URL", None)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "builds.settings")
    import django

    django.setup()
    logging.disable()  # every fault is reported there, as it should be
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from tests.trials.injected.bench import Bench

    began, bench, struck = time.monotonic(), Bench(), Counter()
    seed = random.randrange(2**32)
    rng = random.Random(seed)
    print(f"seed {seed}, load {os.getloadavg()[0]:.1f}")
    while struck.total() < rounds:
        if name := bench.round(rng):
            struck[name] += 1
    bench.close()
    for name, count in sorted(struck.items()):
        print(f"{name:35} {count}")
    print(f"{struck.total()} faults struck, {bench.made} entries made, {bench.stored()} stored once, "
          f"{bench.acknowledged_lost} acknowledged and lost, {bench.doubled} twice, "
          f"{bench.left_files} files left by killed processes (the doctor deletes them), "
          f"{time.monotonic() - began:.0f} s")  # fmt: skip
    sys.exit(0 if bench.is_sound() else 1)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROUNDS)
