"""When an entry that a phone kept was made, and the answer by which the phone may let it go.

A phone says how long ago an entry was made, so that it does not matter what its clock is set to. An entry is never
dated in the future, nor more than MOST ago, nor before the last entry of the same phone, whose moment it repeats
(`Entry-Floor`, in whole milliseconds: the last entry may be dated up to STEP later): entries of one phone keep their
order, however slow the line was for one of them.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from django.http import HttpResponse
from django.utils import timezone

from checks.outcomes import Outcome

MOST = timedelta(days=30)
LATE = timedelta(minutes=1)  # from which on an entry was kept on the phone, rather than slow on its way
STEP = timedelta(milliseconds=1)


@dataclass(frozen=True)
class Arrival:
    """`at`: when it was made; `is_late`: kept on the phone meanwhile. `key` is the entry's, None without scripts."""

    at: datetime
    key: UUID | None = None
    is_late: bool = False


def find_arrival(request) -> Arrival:
    """One moment for the whole request, whoever asks."""
    if not hasattr(request, "arrival"):
        request.arrival = _arrival(request)
    return request.arrival


def _arrival(request) -> Arrival:
    now, headers = timezone.now(), request.headers
    age = timedelta(seconds=_number(headers["Entry-Age"], MOST.total_seconds()) if "Entry-Age" in headers else 0)
    floor = _moment(headers["Entry-Floor"]) if "Entry-Floor" in headers else None
    at = now - age
    if floor and floor <= now + LATE:  # one further ahead is of a clock that was set back since
        at = max(at, floor + STEP)
    return Arrival(min(at, now), _key(headers["Entry-Key"]) if "Entry-Key" in headers else None, age > LATE)


def _number(text: str, most: float) -> float:
    try:
        value = float(text or 0)
    except ValueError:
        return 0.0
    return min(value, most) if value > 0 else 0.0  # not a number compares as false


def _moment(text: str) -> datetime | None:
    value = _number(text, 4e12)
    return datetime.fromtimestamp(value / 1000, UTC) if value else None


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None


def mark_entry_saved(request, at: datetime, outcome: str = "") -> None:
    """The entry of this request is in the database, now or since an earlier post of it."""
    request.saved_entry = (at, outcome)


def is_from_outbox(request) -> bool:
    """Sent by a script, which reads no page."""
    return "Outbox" in request.headers


def is_judged_by_other(request, key: str) -> bool:
    """Was this entry kept on a phone, and judged there by another table than the one of this key: with another meter,
    on other mains, with another valve?"""
    then = request.headers.get("Entry-Judge")
    return bool(then) and then != key and (is_from_outbox(request) or find_arrival(request).is_late)


CODES: dict[str, str] = {
    Outcome.IN_BAND: "i",
    Outcome.TOO_CLOSE: "c",
    Outcome.OUT_OF_BAND: "o",
    Outcome.SWITCH_OFF: "x",
}


def confirm_saved_entry(get_response):
    """Middleware: name the entry that was stored, so that the phone lets go of just that one. An entry of another
    person than the one who is signed in by now goes nowhere: the phone keeps it for its owner."""

    def respond(request):
        if "HTTP_ENTRY_PERSON" in request.META and _is_of_another(request):
            return HttpResponse(status=401)
        answer = get_response(request)
        entry, key = getattr(request, "saved_entry", None), request.headers.get("Entry-Key")
        if not (entry and key) or answer.status_code >= 500:
            return answer
        at, outcome = entry
        if is_from_outbox(request):
            answer = HttpResponse(status=204)
        attach_outcome(answer, outcome)
        answer["Entry-At"] = str(int(at.timestamp() * 1000))
        answer["Entry-Kept"] = str(_key(key) or "")  # last: where a head is cut off, nothing is believed without it
        return answer

    return respond


def _is_of_another(request) -> bool:
    person = request.headers["Entry-Person"]
    return bool(person) and request.user.is_authenticated and person != str(request.user.pk)


def attach_outcome(answer, outcome: str) -> None:
    if outcome:
        answer["Entry-Outcome"] = CODES[outcome]
