"""Spells at the bench: cautions and the mains voltage are asked once in each."""

from datetime import timedelta
from uuid import uuid4

from django.db.models import Q
from django.utils import timezone

from builds.bench.gates.facts import Facts, load_facts
from builds.bench.models import Acknowledgement, Build, PowerOn, Sitting
from builds.bench.readings.entry_keys import add_once

IDLE = timedelta(hours=4)  # after so long away the cautions are worth reading again
NOTED = timedelta(minutes=1)  # a sitting's last sign of life is written this often at most
RUNNING = "SELECT * FROM bench_sitting WHERE build_id = %s AND ended_at IS NULL ORDER BY begun_at DESC"


def current_sitting(build: Build) -> Sitting | None:
    """Every request at the bench asks this. In SQL, for the ORM takes longer over these words than over the answer. One
    that was seen later than now is of a clock that was set back since, and tells nothing."""
    for sitting in Sitting.objects.raw(RUNNING, [build.pk]):
        if -NOTED < timezone.now() - sitting.seen_at < IDLE:
            sitting.build = build
            return sitting
    return None


def at_moment(build: Build, at) -> Sitting | None:
    """The sitting that an entry kept on a phone was made in; the current one where there was none then."""
    ran = Q(ended_at=None) | Q(ended_at__gt=at)
    return build.sittings.filter(ran, begun_at__lte=at, seen_at__gt=at - IDLE).last() or current_sitting(build)


def open_sitting(build: Build) -> Sitting:
    return extend_sitting(build, current_sitting(build))


def extend_sitting(build: Build, sitting: Sitting | None, at=None) -> Sitting:
    """The sitting, seen just now or at the moment of an entry kept on a phone; a new one when there is none."""
    now = at or timezone.now()
    if sitting is None:
        build.sittings.filter(ended_at=None).update(ended_at=now)
        if build.started_at is None:
            Build.objects.filter(pk=build.pk, started_at=None).update(started_at=now)
        return build.sittings.create()
    if now - sitting.seen_at > NOTED:
        sitting.seen_at = now
        sitting.save(update_fields=["seen_at"])
    return sitting


def ready_for(sitting: Sitting | None, stage, facts: Facts) -> bool:
    """Have this stage's cautions been acknowledged in this sitting (and the mains asked, if it has power)?"""
    if sitting is None:
        return not stage.cautions and not stage.is_powered
    if stage.is_powered and sitting.mains_asked_at is None:
        return False
    return not (stage.cautions or stage.is_powered) or (stage.pk, sitting.pk) in facts.acknowledged


def acknowledge(sitting: Sitting, stage, mains_volts: float | None, *, by=None, entry_key=None, live=True):
    """Record that the cautions were read; for a powered stage also the line voltage (None: left blank), and that live
    work begins (`live`: no stop stands). Raises UsedKey."""
    now = timezone.now()
    if stage.is_powered and sitting.mains_asked_at and mains_volts not in (None, sitting.mains_volts):
        sitting = _at_other_mains(sitting, now)
    Acknowledgement.objects.get_or_create(sitting=sitting, stage=stage)
    if stage.is_powered:
        if live:
            switch_on(sitting.build, stage, PowerOn.Why.CAUTIONS, by=by, entry_key=entry_key or uuid4())
        sitting.mains_asked_at = now
        if mains_volts is not None or sitting.mains_volts is None:
            sitting.mains_volts = mains_volts
        sitting.save(update_fields=["mains_asked_at", "mains_volts"])


def _at_other_mains(sitting: Sitting, now) -> Sitting:
    """A sitting of its own from here on: what a phone kept before is judged by the mains it was read at."""
    Sitting.objects.filter(pk=sitting.pk).update(ended_at=now, seen_at=now)
    later = Sitting.objects.create(build=sitting.build, begun_at=now, seen_at=now)
    Acknowledgement.objects.bulk_create(
        [Acknowledgement(sitting=later, stage_id=row.stage_id, at=row.at) for row in sitting.acknowledgements.all()]
    )
    return later


def switch_on(build: Build, stage, why: str, *, by, entry_key, at=None) -> PowerOn:
    """Put power on record, at the moment of an entry kept on a phone. The same entry sent twice adds nothing. Raises
    UsedKey."""
    entered = {"build": build, "stage": stage, "why": why, "by": by}
    return add_once(PowerOn, entry_key, entered, at=load_facts(build).dated(at))[0]
