"""Keeping a recording and starting its analysis; the same entry sent twice is kept once."""

from django.db import transaction
from django.utils import timezone

from builds.bench.models import Recording
from builds.bench.readings.entry_keys import add_once
from builds.bench.recordings.analysing import KIND
from builds.bench.recordings.files import SoundFile
from builds.bench.recordings.plans import as_table
from builds.bench.valves import fitting
from builds.jobs import queue
from checks.tone.sources import SignalPlan


def keep_recording(
    build, stage, plan: SignalPlan, file, sound: SoundFile, *, key, meter_volts, by, at=None
) -> Recording:
    """The row of this entry, with its analysis begun. `stage` is None for a loop-back. Raises UsedKey.

    The file is written before the row, so that no row is without its file.
    """
    name = file.name.rsplit("/", 1)[-1][-120:]
    entered = {"build": build, "stage": stage, "plan": as_table(plan), "name": name}
    with transaction.atomic():
        row, is_new = add_once(
            Recording,
            key,
            entered,
            meter_volts=meter_volts,
            by=by,
            at=at or timezone.now(),
            rate=sound.rate,
            channels=sound.channels,
            seconds=sound.seconds,
            bits=sound.bits,
            valves=_list_valves(build),
        )
        if is_new:
            row.file.save(name, file)
    queue.start(KIND, str(row.pk), row.pk)
    row.refresh_from_db()
    return row


def _list_valves(build) -> list[dict]:
    """Which valve is in which socket now, by make and date code."""
    return [
        {"ref": ref, "make": rows[-1].make, "code": rows[-1].code} for ref, rows in fitting.by_socket(build).items()
    ]
