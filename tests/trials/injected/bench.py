"""A builder whose site fails, and the count of what came of it."""

import os
import sqlite3
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import connection, connections
from django.test import Client
from django.utils import timezone

from builds.accounts.models import CallCount
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Photo, Snag
from builds.jobs import queue
from builds.jobs.models import SILENT, Job
from builds.jobs.resuming import resume_lost
from builds.reports.archive.storing import KIND, key_for
from tests import factories
from tests.trials.injected import entries, power, striking

KILLED, POWER, CHECKPOINT, WORKER = "the web process is killed", "power fails", "power fails at a checkpoint", "worker"
FILE = "a file cannot be written"
WEIGHTS = {KILLED: 20, POWER: 20, CHECKPOINT: 3, WORKER: 4, **dict.fromkeys(striking.HERE, 12)}
PARTS = ({"ref": "V1", "kind": "twin triode", "detail": {"type": "ECC83"}},)


class Bench:
    def __init__(self):
        revision = factories.make_revision(stages=1, gate=False, parts=PARTS)
        self.build = factories.make_build(revision=revision)
        acknowledge(open_sitting(self.build), revision.stages.first(), None)
        self.snag = Snag.objects.create(build=self.build, stage=revision.stages.first(), kind="other", words="First.")
        self.client = Client(raise_request_exception=False)
        self.client.force_login(self.build.builder, backend="django.contrib.auth.backends.ModelBackend")
        self.made = self.acknowledged_lost = self.doubled = self.left_files = 0
        self.sent: list[entries.Entry] = []
        self.acknowledged: list[tuple[int, str]] = []  # (length of the log then, key)
        self.kinds = [name for name in WEIGHTS if connection.vendor == "sqlite" or name in (KILLED, WORKER)]
        self.folder = Path(tempfile.mkdtemp())
        if connection.vendor == "sqlite":
            self.copies = power.Copies(Path(connection.settings_dict["NAME"]), self.folder)
            self.folding = sqlite3.connect(connection.settings_dict["NAME"])  # keeps the log when others close
            self.folding.execute("PRAGMA wal_autocheckpoint = 0")
            self._fold()

    def close(self) -> None:
        if connection.vendor == "sqlite":
            self.folding.close()
        power.remove(self.folder)

    def round(self, rng) -> str:
        """One fault; its name, or nothing where it did not strike. A round stands for an hour or more: nobody comes to
        the limit of uploads, which would keep an entry on the phone without any fault."""
        CallCount.objects.all().delete()
        name = rng.choices(self.kinds, [WEIGHTS[kind] for kind in self.kinds])[0]
        return name if self.one(name, rng) else ""

    def one(self, name: str, rng) -> bool:
        if name == WORKER:
            return self._killed_worker(rng)
        kinds = entries.PHOTOS if name == FILE else tuple(entries.KINDS)
        entry = entries.draw(rng, self.build, self.snag, kinds)
        if name in (POWER, CHECKPOINT):
            self._settle(entry)
            return self._power(rng) if name == POWER else self._checkpoint(rng)
        if name == KILLED:
            has_struck = self._killed(entry, rng)
        else:
            with striking.HERE[name](rng) as watched:
                kept = entry.send(self.client)
            has_struck = watched.yes or not kept  # a commit that fails is no statement
            self._look(entry, kept)
        self._settle(entry)
        return has_struck

    def stored(self) -> int:
        return sum(entry.count() == 1 for entry in self.sent)

    def is_sound(self) -> bool:
        return self.stored() == self.made and not self.acknowledged_lost and not self.doubled

    def _look(self, entry, kept: bool) -> None:
        """What was acknowledged is there, and nothing is there twice."""
        count = entry.count()
        self.acknowledged_lost += bool(kept and count == 0)
        self.doubled += count > 1

    def _settle(self, entry) -> None:
        """The phone sends until it is told that the entry is kept."""
        for _try in range(3):
            if entry.send(self.client):
                break
        else:
            raise AssertionError(f"{entry.url} is not taken though nothing fails: {entry.form}")
        self._look(entry, True)
        self.made += 1
        self.sent.append(entry)
        if connection.vendor == "sqlite":
            self.acknowledged.append((self.copies.log_bytes(), entry.key.hex))

    def _killed(self, entry, rng) -> bool:
        reading, writing = os.pipe()
        before = self._files()

        def work():
            with striking.killed(rng):
                kept = entry.send(self.client)
            os.write(writing, b"1" if kept else b"0")

        was_killed = _in_a_process(work)
        os.close(writing)
        self._look(entry, os.read(reading, 1) == b"1")
        os.close(reading)
        if was_killed:
            self.left_files += len(self._files() - before) if entry.count() == 0 else 0
        return was_killed

    def _files(self) -> set[str]:
        return {str(p) for p in (Path(settings.MEDIA_ROOT) / "photos").rglob("*.jpg")}

    def _killed_worker(self, rng) -> bool:
        """The archive is made once, by whoever takes the job up again."""
        revision = self.build.revision
        Job.objects.filter(kind=KIND).delete()
        row = Job.objects.create(kind=KIND, key=key_for(revision), args=[revision.pk])

        def work():
            with striking.killed(rng):
                queue.run.func(row.pk)

        if not _in_a_process(work):
            return False
        Job.objects.filter(pk=row.pk, state=Job.State.RUNNING).update(seen_at=timezone.now() - 2 * SILENT)
        resume_lost()
        row.refresh_from_db()
        if row.state == Job.State.WAITING:  # killed before it was taken: its message is sent again
            queue.run.func(row.pk)
            row.refresh_from_db()
        archives = list((Path(settings.MEDIA_ROOT) / "archives" / str(revision.pk)).iterdir())
        assert row.state == Job.State.DONE and len(archives) == 1, f"{row.state} {row.error}, {archives}"
        return True

    def _power(self, rng) -> bool:
        length, counts = self.copies.cut(rng)
        self._compare(counts, [key for size, key in self.acknowledged if size <= length])
        return True

    def _checkpoint(self, rng) -> bool:
        counts = self.copies.torn_checkpoint(rng, self._fold)
        self._compare(counts, [key for _size, key in self.acknowledged])
        self.acknowledged.clear()
        return True

    def _compare(self, counts: dict[str, int], expected: list[str]) -> None:
        self.acknowledged_lost += sum(counts.get(key, 0) == 0 for key in expected)
        self.doubled += sum(count > 1 for count in counts.values())

    def _fold(self) -> None:
        self.folding.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()


def _in_a_process(work) -> bool:
    """Do it in a child with a connection of its own; whether it was killed."""
    connections.close_all()
    pid = os.fork()
    if pid == 0:
        try:
            work()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) < 0


def photos_are_whole() -> bool:
    """Every row has its files."""
    return all(p.full.storage.exists(p.full.name) and p.thumb.storage.exists(p.thumb.name) for p in Photo.objects.all())
