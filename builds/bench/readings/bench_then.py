"""The meter and mains that an entry was made with: a phone may have kept it since before its builder chose others."""

import copy
from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from builds.bench.models import Build, PastBench
from builds.bench.offline.arrival import Arrival


def choose_bench(build: Build, chosen: dict) -> None:
    """Measure with another meter, or on other mains, from now on (`chosen`: fields of a build by name)."""
    before = {name: getattr(build, name) for name in ("meter", "mains_volts", "mains_hertz")}
    with transaction.atomic():
        if any(chosen[name] != value for name, value in before.items() if name in chosen):
            PastBench.objects.create(build=build, until=timezone.now(), **before)
        for name, value in chosen.items():
            setattr(build, name, value)
        build.save(update_fields=list(chosen))


def bench_at(build: Build, arrival: Arrival) -> Build:
    """The build with the meter and mains of the moment that an entry was made. For judging: not to be saved."""
    return bench_among(build, build.past_benches.select_related("meter"), arrival.at) if arrival.is_late else build


def bench_among(build: Build, past: Iterable[PastBench], moment: datetime) -> Build:
    """The same by the past benches of the build, in their order."""
    held = next((bench for bench in past if bench.until > moment), None)
    if held is None:
        return build
    then = copy.copy(build)
    then.meter, then.mains_volts, then.mains_hertz = held.meter, held.mains_volts, held.mains_hertz
    return then


def is_on_other_mains(build: Build, moment: datetime) -> bool:
    """Was the build put on other mains after a moment? One query where its settings were never changed since."""
    since = set(build.past_benches.filter(until__gt=moment).order_by().values_list("mains_volts", flat=True))
    return bool(since) and since != {Build.objects.values_list("mains_volts", flat=True).get(pk=build.pk)}
