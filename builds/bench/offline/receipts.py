"""Entries that came before, by their keys, and what is recorded of those that were kept on a phone."""

from django.http import HttpResponse

from builds.bench.models import Receipt
from builds.bench.offline.arrival import Arrival, mark_entry_saved


def record(build, arrival: Arrival, kind: str) -> None:
    if arrival.key:
        fields = {"build": build, "kind": kind, "made_at": arrival.at}
        Receipt.objects.get_or_create(entry_key=arrival.key, defaults=fields)


def record_late(build, arrival: Arrival, kind: str) -> None:
    """Of an entry whose own row carries its key, only that it was kept on a phone is worth a row."""
    if arrival.is_late:
        record(build, arrival, kind)


def answer_again(request, build, arrival: Arrival) -> HttpResponse | None:
    """The answer to an entry that is here already, whatever stands against it by now: it is not added again."""
    came = Receipt.objects.filter(entry_key=arrival.key, build=build).first() if arrival.key else None
    if came is None:
        return None
    mark_entry_saved(request, came.made_at)
    return HttpResponse(status=204)
