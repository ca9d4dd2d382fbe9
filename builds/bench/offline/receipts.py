"""Entries that came before, by their keys, and what is recorded of those that were kept on a phone."""

from django.http import HttpResponse
from django.utils import timezone

from builds.bench.models import Receipt
from builds.bench.offline.arrival import Arrival, mark_entry_saved


def record(build, arrival: Arrival, kind: str, *, unticked: str = "") -> None:
    if arrival.key:
        fields = {"build": build, "kind": kind, "made_at": arrival.at, "unticked": unticked}
        Receipt.objects.get_or_create(entry_key=arrival.key, defaults=fields)


def record_late(build, arrival: Arrival, kind: str) -> None:
    """Of an entry whose own row carries its key, only that it was kept on a phone is worth a row."""
    if arrival.is_late:
        record(build, arrival, kind)


def was_unticked_since(build, step, arrival: Arrival) -> bool:
    """Did another phone take the tick of this step back, later than at this moment? What is dated ahead of now is of a
    clock that was set back since, and came before all but what was kept on a phone."""
    later = Receipt.objects.filter(build=build, unticked=_make_name(step), made_at__gt=arrival.at)
    return (later if arrival.is_late else later.filter(made_at__lte=timezone.now())).exists()


def record_tick(build, arrival: Arrival, step, done: bool) -> None:
    record(build, arrival, "tick", unticked="" if done else _make_name(step))


def _make_name(step) -> str:
    return f"{step.stage.key}/{step.key}"


def answer_again(request, build, arrival: Arrival) -> HttpResponse | None:
    """The answer to an entry that is here already, whatever stands against it by now: it is not added again."""
    came = Receipt.objects.filter(entry_key=arrival.key, build=build).first() if arrival.key else None
    if came is None:
        return None
    mark_entry_saved(request, came.made_at)
    return HttpResponse(status=204)
